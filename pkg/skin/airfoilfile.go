package skin

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"sort"
	"strconv"
	"strings"

	"sparclear/pkg/diag"
)

// Limits of a coordinate file: far beyond any published section.
const (
	maxFoilLines  = 5000
	maxFoilPoints = 2000
)

type foilRow struct {
	line int
	v    [2]float64
	gap  bool // a blank line stands before it
}

// ReadAirfoil reads a coordinate file of unit chord in either usual layout: the
// name, then one block of points that runs from the trailing edge over the nose
// and back (upper or lower surface first); or the name, the number of points of
// upper and lower surface, and two blocks from nose to tail. Numbers in round
// brackets are read as numbers. The section is turned into its own nose and
// tail only so far as x runs from 0 to 1; a chord that is not 1 is refused
// rather than guessed.
//
// Findings, all stops with the line: "foil-read" (no text, a line that is no
// pair of numbers), "foil-points" (too few or too many), "foil-scale" (the chord
// is not 1), "foil-order" (the points do not run as either layout has them, or
// the surfaces cross).
func ReadAirfoil(r io.Reader, name string) (Airfoil, diag.List) {
	var found diag.List
	stop := func(code string, line int, message, help string) {
		f := diag.Finding{Code: code, Severity: diag.Stop, Input: true, Subject: name, Message: message, Help: help}
		if line > 0 {
			f = f.AtLine(name, line, 1)
		}
		found.Add(f)
	}
	title, rows := foilRows(r, stop)
	if len(found) > 0 {
		return Airfoil{}, found
	}
	var upper, lower [][2]float64
	if len(rows) > 2 && rows[0].v[0] > 1.5 && rows[0].v[1] > 1.5 {
		upper, lower = twoBlocks(rows, stop)
	} else {
		upper, lower = oneBlock(rows)
	}
	if len(found) > 0 {
		return Airfoil{}, found
	}
	if len(upper) < 5 || len(lower) < 5 {
		stop("foil-points", 0, fmt.Sprintf("%d points above and %d below, at least 5 each needed", len(upper), len(lower)), "use a file with more points")
		return Airfoil{}, found
	}
	for _, side := range [][][2]float64{upper, lower} {
		first, last := side[0][0], side[len(side)-1][0]
		if math.Abs(first) > 0.02 || math.Abs(last-1) > 0.02 {
			stop("foil-scale", rows[0].line, fmt.Sprintf("a surface runs from x = %g to %g, 0 to 1 needed", first, last), "scale the section to unit chord, nose at x = 0")
			return Airfoil{}, found
		}
		if !sort.SliceIsSorted(side, func(i, j int) bool { return side[i][0] < side[j][0] }) {
			stop("foil-order", rows[0].line, "the points of a surface do not run from nose to tail", "put the points in one of the two usual orders")
			return Airfoil{}, found
		}
	}
	a, ok := foilThrough(title, upper, lower)
	if !ok {
		stop("foil-points", 0, "too few different points", "use a file with more points")
		return Airfoil{}, found
	}
	if a.Upper(0.5) < a.Lower(0.5) {
		a.upper, a.lower = a.lower, a.upper
	}
	for x := 0.02; x < 0.99; x += 0.01 {
		if !(a.Upper(x) > a.Lower(x)) || math.Abs(a.Upper(x)) > 0.6 || math.Abs(a.Lower(x)) > 0.6 {
			stop("foil-order", rows[0].line, fmt.Sprintf("the surfaces cross or lie too far out at x = %.2f", x), "put the points in one of the two usual orders")
			return Airfoil{}, found
		}
	}
	return a, nil
}

// foilRows reads title and number pairs.
func foilRows(r io.Reader, stop func(code string, line int, message, help string)) (title string, rows []foilRow) {
	s := bufio.NewScanner(r)
	s.Buffer(make([]byte, 0, maxLineSize), maxLineSize)
	line, gap := 0, false
	for s.Scan() {
		line++
		text := strings.TrimSpace(strings.TrimPrefix(s.Text(), "\ufeff"))
		if text == "" {
			gap = true
			continue
		}
		if line > maxFoilLines || len(rows) > maxFoilPoints {
			stop("foil-points", line, "too many lines for a section", "use a file with fewer points")
			return title, rows
		}
		v, ok := pairOf(text)
		switch {
		case ok:
			rows = append(rows, foilRow{line, v, gap})
		case len(rows) == 0 && title == "":
			title = clip(text)
		default:
			stop("foil-read", line, fmt.Sprintf("%q is no pair of coordinates", clip(text)), "leave one pair x y on each line")
			return title, rows
		}
		gap = false
	}
	if err := s.Err(); err != nil {
		stop("foil-read", line+1, fmt.Sprintf("the file cannot be read: %v", err), "save it as plain text")
	} else if len(rows) < 10 {
		stop("foil-points", 0, fmt.Sprintf("%d points, at least 10 needed", len(rows)), "use a file with more points")
	}
	if title == "" {
		title = "section"
	}
	return title, rows
}

func pairOf(text string) (v [2]float64, ok bool) {
	f := strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\t' || r == ',' || r == ';' })
	if len(f) != 2 {
		return v, false
	}
	for i, s := range f {
		s = strings.TrimSuffix(strings.TrimPrefix(s, "("), ")")
		x, err := strconv.ParseFloat(s, 64)
		if err != nil || !(math.Abs(x) < 1e4) {
			return v, false
		}
		v[i] = x
	}
	return v, true
}

// twoBlocks takes a file with counts apart.
func twoBlocks(rows []foilRow, stop func(code string, line int, message, help string)) (upper, lower [][2]float64) {
	nu, nl := rows[0].v[0], rows[0].v[1]
	if nu != math.Trunc(nu) || nl != math.Trunc(nl) || nu+nl != float64(len(rows)-1) {
		stop("foil-scale", rows[0].line, fmt.Sprintf("the first pair %g, %g is neither a point of unit chord nor the count of the %d points that follow", nu, nl, len(rows)-1),
			"scale the section to unit chord, or correct the counts")
		return nil, nil
	}
	for i, r := range rows[1:] {
		if i < int(nu) {
			upper = append(upper, r.v)
		} else {
			lower = append(lower, r.v)
		}
	}
	return upper, lower
}

// oneBlock parts a closed run at its nose, the foremost point, which belongs to
// both surfaces; both come out from nose to tail.
func oneBlock(rows []foilRow) (first, second [][2]float64) {
	nose := 0
	for i, r := range rows {
		if r.v[0] < rows[nose].v[0] {
			nose = i
		}
	}
	for i := nose; i >= 0; i-- {
		first = append(first, rows[i].v)
	}
	for i := nose; i < len(rows); i++ {
		second = append(second, rows[i].v)
	}
	return first, second
}
