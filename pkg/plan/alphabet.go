package plan

import (
	"sort"
	"strings"

	"sparclear/pkg/geom"
)

// alphabet holds our own single-line letters on a grid of 4 × 6: each stroke is
// a row of places "xy", strokes are parted by a semicolon. Corners are cut so
// that the cutter never reverses on the spot.
var alphabet = map[rune]string{
	'A': "00 26 40;13 33", 'B': "00 06 36 45 44 33 03;33 42 41 30 00", 'C': "45 36 16 05 01 10 30 41",
	'D': "00 06 26 44 42 20 00", 'E': "46 06 00 40;03 33", 'F': "46 06 00;03 33",
	'G': "45 36 16 05 01 10 30 41 43 23", 'H': "00 06;40 46;03 43", 'I': "10 30;20 26;16 36",
	'J': "46 41 30 10 01", 'K': "00 06;46 03 40", 'L': "06 00 40", 'M': "00 06 23 46 40",
	'N': "00 06 40 46", 'O': "10 01 05 16 36 45 41 30 10", 'P': "00 06 36 45 44 33 03",
	'Q': "10 01 05 16 36 45 41 30 10;22 40", 'R': "00 06 36 45 44 33 03;23 40",
	'S': "45 36 16 05 04 13 33 42 41 30 10 01", 'T': "06 46;26 20", 'U': "06 01 10 30 41 46",
	'V': "06 20 46", 'W': "06 10 23 30 46", 'X': "00 46;06 40", 'Y': "06 23 46;23 20", 'Z': "06 46 00 40",
	'0': "10 01 05 16 36 45 41 30 10;01 45", '1': "15 26 20;10 30", '2': "05 16 36 45 44 00 40",
	'3': "05 16 36 45 44 33 13;33 42 41 30 10 01", '4': "30 36 02 42", '5': "46 06 04 34 43 41 30 10 01",
	'6': "45 36 16 05 01 10 30 41 42 33 03", '7': "06 46 10", '8': "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
	'9': "01 10 30 41 45 36 16 05 04 13 43", '-': "13 33", '.': "20 21", '/': "00 46", '+': "13 33;22 24",
	':': "21 22;24 25", '(': "36 25 21 30", ')': "16 25 21 10", '#': "10 16;30 36;02 42;04 44", '_': "00 40",
	'=': "12 32;14 34", ',': "21 10", ' ': "",
}

// letterAdvance is the distance from letter to letter in grid units.
const letterAdvance = 6

// lettering lays out a text from at in direction dir, h mm high. Small letters
// become capitals. A letter that the alphabet lacks is returned.
func lettering(text string, at, dir geom.Point, h float64) ([]geom.Chain, rune) {
	unit := h / 6
	x, y := dir.Unit().Mul(unit), dir.Unit().Left().Mul(unit)
	var out []geom.Chain
	for _, r := range strings.ToUpper(text) {
		g, ok := alphabet[r]
		if !ok {
			return nil, r
		}
		for _, stroke := range strings.Split(g, ";") {
			var c geom.Chain
			for _, p := range strings.Fields(stroke) {
				q := at.Add(x.Mul(float64(p[0] - '0'))).Add(y.Mul(float64(p[1] - '0')))
				c = append(c, geom.Vertex{Point: q})
			}
			if len(c) > 1 {
				out = append(out, c)
			}
		}
		at = at.Add(x.Mul(letterAdvance))
	}
	return out, 0
}

// letters lists the letters there are.
func letters() string {
	var all []string
	for r := range alphabet {
		if r != ' ' {
			all = append(all, string(r))
		}
	}
	sort.Strings(all)
	return strings.Join(all, "") + " and the space"
}
