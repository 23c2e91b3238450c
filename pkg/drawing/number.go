package drawing

import (
	"math"
	"strconv"
	"unsafe"
)

// tenTo holds the powers of ten that a double holds exactly.
var tenTo = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// parseNumber reads a decimal number as drawings spell it: 1.5E+01, .5, 5., +3
// and -0 are numbers; NaN, Inf, hexadecimal and 1,5 are not. The value is the
// nearest double: a mantissa under 2^53 times or over an exact power of ten is
// rounded once (Clinger's fast path), everything else goes to strconv.
func parseNumber(b []byte) (float64, bool) {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t') {
		b = b[:len(b)-1]
	}
	i, neg := 0, false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		neg = b[i] == '-'
		i++
	}
	var mant uint64
	digits, exp := 0, 0
	exact := true
	for ; i < len(b) && b[i]-'0' <= 9; i++ {
		digits++
		if mant > 1<<59 {
			exact = false
			continue
		}
		mant = mant*10 + uint64(b[i]-'0')
	}
	if i < len(b) && b[i] == '.' {
		i++
		for ; i < len(b) && b[i]-'0' <= 9; i++ {
			digits++
			if mant > 1<<59 {
				exact = exact && b[i] == '0'
				continue
			}
			mant = mant*10 + uint64(b[i]-'0')
			exp--
		}
	}
	if digits == 0 {
		return 0, false
	}
	if i < len(b) && (b[i] == 'e' || b[i] == 'E') {
		i++
		eneg := false
		if i < len(b) && (b[i] == '-' || b[i] == '+') {
			eneg = b[i] == '-'
			i++
		}
		e, n := 0, 0
		for ; i < len(b) && b[i]-'0' <= 9; i++ {
			n++
			if e < 10000 {
				e = e*10 + int(b[i]-'0')
			}
		}
		if n == 0 {
			return 0, false
		}
		if eneg {
			e = -e
		}
		exp += e
	}
	if i != len(b) {
		return 0, false
	}
	// Trailing zeros written out ("12.5000000000000000") cost digits, not value.
	for mant >= 1<<53 && mant%10 == 0 {
		mant /= 10
		exp++
	}
	var f float64
	switch {
	case exact && mant < 1<<53 && exp >= -22 && exp <= 22:
		f = float64(mant)
		if exp < 0 {
			f /= tenTo[-exp]
		} else {
			f *= tenTo[exp]
		}
		if neg {
			f = -f
		}
	default:
		var err error
		if f, err = strconv.ParseFloat(unsafe.String(&b[0], len(b)), 64); err != nil {
			return 0, false
		}
	}
	if math.IsInf(f, 0) {
		return 0, false
	}
	return f, true
}

// parseInteger reads an integer; some writers spell integers as 1.0.
func parseInteger(b []byte) (int, bool) {
	f, ok := parseNumber(b)
	if !ok || f != math.Trunc(f) || math.Abs(f) > 1<<52 {
		return 0, false
	}
	return int(f), true
}
