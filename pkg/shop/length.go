package shop

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// MMPerInch is the length of an inch in mm: exact, international yard and pound
// agreement of 1959 (NIST SP 811, appendix B).
const MMPerInch = 25.4

// maxLength is the longest length that is believed, mm: a kilometre. Anything
// beyond is a slip of the pen, and would only overflow later.
const maxLength = 1e6

// Length is a length in mm. In TOML and JSON it may be written as a number (mm)
// or as a text with a unit: "3 mm", "1/8 in", "1 1/4 in", "0.25 in".
type Length float64

// MM returns the length in mm.
func (l Length) MM() float64 { return float64(l) }

// UnmarshalText reads what ParseLength reads.
func (l *Length) UnmarshalText(b []byte) error {
	v, err := ParseLength(string(b))
	if err != nil {
		return err
	}
	*l = Length(v)
	return nil
}

// MarshalText writes the length in mm with its unit, in the fewest digits that
// read back to the same value.
func (l Length) MarshalText() ([]byte, error) {
	v := float64(l)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil, fmt.Errorf("length %v is not finite", v)
	}
	return []byte(strconv.FormatFloat(v, 'f', -1, 64) + " mm"), nil
}

// unitMM returns the length of a unit in mm, 0 for a unit that is not known.
func unitMM(unit string) float64 {
	switch strings.ToLower(unit) {
	case "", "mm":
		return 1
	case "cm":
		return 10
	case "m":
		return 1000
	case "um", "µm", "μm":
		return 0.001
	case "in", "inch", "inches", "\"":
		return MMPerInch
	case "mil", "thou":
		return MMPerInch / 1000
	case "ft":
		return 12 * MMPerInch
	}
	return 0
}

// ParseLength reads a length and returns mm. A number without a unit is mm. The
// number may be a decimal, a fraction "1/8" or both "1 1/4"; units are mm, cm,
// m, um, in, mil and ft. Words for infinity and not-a-number, exponents beyond a
// kilometre, unknown units and fractions over 0 are errors.
func ParseLength(s string) (float64, error) {
	text := strings.TrimSpace(s)
	cut := strings.LastIndexAny(text, "0123456789.") + 1
	if cut == 0 {
		return 0, fmt.Errorf("%q is no length: write a number and a unit, as in \"3 mm\" or \"1/8 in\"", clip(s))
	}
	number, unit := strings.TrimSpace(text[:cut]), strings.TrimSpace(text[cut:])
	scale := unitMM(unit)
	if scale == 0 {
		return 0, fmt.Errorf("%q: unknown unit %q, there is mm, cm, m, um, in, mil, ft", clip(s), clip(unit))
	}
	v, err := parseNumber(number)
	if err != nil {
		return 0, fmt.Errorf("%q is no length: %w", clip(s), err)
	}
	v *= scale
	if !(math.Abs(v) <= maxLength) {
		return 0, fmt.Errorf("%q is longer than a kilometre", clip(s))
	}
	return v, nil
}

// parseNumber reads "3", "-0.25", "1e-2", "1/8", "1 1/4", "-1 1/4".
func parseNumber(s string) (float64, error) {
	neg := false
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		neg, s = true, strings.TrimSpace(rest)
	} else if rest, ok := strings.CutPrefix(s, "+"); ok {
		s = strings.TrimSpace(rest)
	}
	parts := strings.Fields(s)
	v := 0.0
	for i, p := range parts {
		var x float64
		var err error
		num, den, isFraction := strings.Cut(p, "/")
		switch {
		case i > 1 || i == 1 && !isFraction || i == 0 && len(parts) == 2 && !whole(p):
			return 0, fmt.Errorf("write a mixed number as in 1 1/4")
		case isFraction:
			x, err = fraction(num, den)
		default:
			x, err = decimal(p)
		}
		if err != nil {
			return 0, err
		}
		v += x
	}
	if len(parts) == 0 {
		return 0, fmt.Errorf("no number in it")
	}
	if neg {
		v = -v
	}
	return v, nil
}

func whole(s string) bool {
	_, err := strconv.ParseUint(s, 10, 32)
	return err == nil
}

func fraction(num, den string) (float64, error) {
	n, err := strconv.ParseUint(num, 10, 32)
	if err != nil {
		return 0, fmt.Errorf("%q is no whole number", clip(num))
	}
	d, err := strconv.ParseUint(den, 10, 32)
	if err != nil || d == 0 {
		return 0, fmt.Errorf("%q is no whole number above 0", clip(den))
	}
	return float64(n) / float64(d), nil
}

// decimal reads an unsigned decimal number; the letters that strconv accepts for
// infinity, hexadecimal and underscores are not part of a length.
func decimal(s string) (float64, error) {
	if strings.Trim(s, "0123456789.eE+-") != "" || s == "" || strings.ContainsAny(s[:1], "+-eE") {
		return 0, fmt.Errorf("%q is no number", clip(s))
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, fmt.Errorf("%q is no number", clip(s))
	}
	return v, nil
}

// clip keeps quoted user text short enough for a one-line message.
func clip(s string) string {
	r := []rune(strings.ToValidUTF8(s, "?"))
	if len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return string(r)
}
