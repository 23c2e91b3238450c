package rs274

import (
	"math"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"sparclear/pkg/shop"
)

// grid is the set of coordinates that a controller can be told: whole multiples
// of the last decimal in the units of the program. A coordinate is rounded once
// and is a whole number from then on.
type grid struct {
	unit     float64 // mm per unit
	decimals int
	step     float64 // mm per last decimal
}

// gridOf returns the grid of a controller: 3 decimals of a millimetre or 4 of an
// inch where the profile is silent.
func gridOf(c shop.Controller) grid {
	g := grid{unit: 1, decimals: c.Decimals}
	if c.Units == "inch" {
		g.unit = inch
	}
	if g.decimals <= 0 {
		g.decimals = 3
		if c.Units == "inch" {
			g.decimals = 4
		}
	}
	g.decimals = min(g.decimals, 6)
	g.step = g.unit / powers[g.decimals]
	return g
}

// round returns the number of the nearest grid line to v mm.
func (g grid) round(v float64) int64 { return int64(math.Round(v / g.unit * powers[g.decimals])) }

// mm returns the place of a grid line.
func (g grid) mm(n int64) float64 { return float64(float64(n) / powers[g.decimals] * g.unit) }

// append writes a letter and a coordinate, with all its decimals and never as
// minus nought. Every coordinate of a program passes here.
func (g grid) append(b []byte, letter byte, n int64) []byte {
	b = append(b, ' ', letter)
	if n < 0 {
		b = append(b, '-')
		n = -n
	}
	scale := int64(powers[g.decimals])
	b = strconv.AppendInt(b, n/scale, 10)
	b = append(b, '.')
	for rest := n % scale; scale > 1; rest %= scale {
		scale /= 10
		b = append(b, byte('0'+rest/scale))
	}
	return b
}

// feedTenths returns a feed in tenths of a mm/min, or hundredths of an inch/min,
// rounded down.
func (g grid) feedTenths(mmMin float64) (n int64, scale int64) {
	scale = 10
	if g.unit != 1 {
		scale = 100
	}
	// The nudge keeps what is exact in the user's unit from being cut by one.
	return int64(math.Floor(float64(mmMin/g.unit*float64(scale)) + 1e-6)), scale
}

// appendFeed writes an F word without trailing noughts.
func appendFeed(b []byte, n, scale int64) []byte {
	b = append(b, ' ', 'F')
	b = strconv.AppendInt(b, n/scale, 10)
	if rest := n % scale; rest != 0 {
		b = append(b, '.')
		for rest != 0 {
			scale /= 10
			b = append(b, byte('0'+rest/scale))
			rest %= scale
		}
	}
	return b
}

// plain turns text into what every controller takes within a comment: printable
// ASCII without brackets.
func plain(text string) string {
	var b strings.Builder
	for _, c := range norm.NFD.String(text) {
		switch {
		case c == '(' || c == '{':
			b.WriteByte('[')
		case c == ')' || c == '}':
			b.WriteByte(']')
		case c == '%' || c == ';':
			b.WriteByte(' ') // some controllers end the program or the line here
		case c >= ' ' && c < 0x7f:
			b.WriteRune(c)
		case unicode.Is(unicode.Mn, c): // an accent
		case unicode.IsSpace(c):
			b.WriteByte(' ')
		default:
			if s, ok := spelled(c); ok {
				b.WriteString(s)
			} else {
				b.WriteByte('?')
			}
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// spelled writes out signs that are common on drawings.
func spelled(c rune) (string, bool) {
	switch c {
	case '°':
		return "deg", true
	case 'µ', 'μ':
		return "u", true
	case '×':
		return "x", true
	case '–', '—', '−':
		return "-", true
	case 'ø', 'Ø', '⌀':
		return "dia ", true
	case '±':
		return "+/-", true
	case 'ß':
		return "ss", true
	case '²':
		return "2", true
	case '…':
		return "...", true
	}
	return "", false
}

// wrap breaks text at blanks into lines of at most width characters.
func wrap(text string, width int) []string {
	if width < 1 {
		return nil
	}
	var lines []string
	for _, w := range strings.Fields(text) {
		for len(w) > width {
			lines = append(lines, w[:width])
			w = w[width:]
		}
		if n := len(lines); n > 0 && len(lines[n-1])+1+len(w) <= width {
			lines[n-1] += " " + w
			continue
		}
		lines = append(lines, w)
	}
	return lines
}
