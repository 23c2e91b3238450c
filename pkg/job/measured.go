package job

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/skin"
)

// datumRow tells the touch of a datum or an edge by its name, as touchName and
// sideName write it.
var datumRow = regexp.MustCompile(`(?i)^(datum|edge) (\d+)\b(.*?)(?: toward ([+-])([XY]))?(?: again)?$`)

func isDatumRow(name string) bool { return datumRow.MatchString(name) }

// sizeLimit is how far a round datum may measure from its stated diameter, mm;
// common practice, no source.
const sizeLimit = 0.2

// touchedDatum is what was touched of one datum or edge.
type touchedDatum struct {
	eye   []geom.Point // the tip over a mark, or against an edge
	sides []sideTouch
}

type sideTouch struct {
	side sideSense
	at   geom.Point
}

// sorted splits what was read into heights, datums and edges, by their index in
// the job. Rows that name none of the job are a finding.
func (s *state) sorted(rows []skin.Touch, file string) (heights []skin.Touch, datums, edges []touchedDatum) {
	datums, edges = make([]touchedDatum, len(s.file.Datums)), make([]touchedDatum, len(s.file.Edges))
	for _, t := range rows {
		m := datumRow.FindStringSubmatch(t.Name)
		if m == nil {
			heights = append(heights, t)
			continue
		}
		of := datums
		if m[1][0]|0x20 == 'e' {
			of = edges
		}
		n, err := strconv.Atoi(m[2])
		if err != nil || n < 1 || n > len(of) {
			s.add(diag.Finding{Code: "datum-unknown", Severity: diag.Stop, Input: true, Subject: file,
				Message: fmt.Sprintf("%q is none of the %d that the job has", t.Name, len(of)), Help: "keep the names of the list as they are"}.AtLine(file, t.Line, 1))
			continue
		}
		d := &of[n-1]
		// The offset of an edge takes the radius of the probe: its centre counts.
		if m[4] == "" || m[1][0]|0x20 == 'e' {
			d.eye = append(d.eye, t.At())
			continue
		}
		side := sideSense{m[5][0] &^ 0x20, 1}
		if m[4] == "-" {
			side.sign = -1
		}
		d.sides = append(d.sides, sideTouch{side, t.At()})
	}
	return heights, datums, edges
}

// agreement pools how well repeated readings agree.
type agreement struct {
	sq  float64
	dof int
}

func (a *agreement) take(v []float64) (mean float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		a.sq += float64((x - mean) * (x - mean))
	}
	a.dof += len(v) - 1
	return mean
}

// deviation is the standard deviation of one reading, mm.
func (a agreement) deviation() float64 {
	if a.dof == 0 {
		return 0
	}
	return math.Sqrt(a.sq / float64(a.dof))
}

// repeats says how well repeated touches agree, and asks when it is worse than was
// stated: by more than what chance explains once in a hundred times (chi-squared,
// by the approximation of Wilson and Hilferty, PNAS 17, 1931, 684-688).
func (s *state) repeats(what string, a agreement, stated float64, key string) {
	if a.dof == 0 {
		return
	}
	got := a.deviation()
	d := 2.0 / (9 * float64(a.dof))
	most := stated * math.Sqrt(math.Pow(1-d+2.326*math.Sqrt(d), 3))
	f := diag.Finding{Code: "touch-repeat", Severity: diag.Note, Subject: s.req.Name,
		Message: fmt.Sprintf("%s: repeated touches agree within %.3f mm (standard deviation, %d more than once)", what, got, a.dof)}
	if got > most {
		f = diag.Finding{Code: "touch-repeat-poor", Severity: diag.Confirm, Subject: s.req.Name,
			Message: fmt.Sprintf("%s: repeated touches scatter by %.3f mm, %.3f mm were stated", what, got, stated),
			Help:    fmt.Sprintf("clean tip and work, check that nothing moves, touch again; or state %s = %.3f in the job", key, math.Ceil(got*1000)/1000)}
	}
	s.add(f.With(got, most, "mm"))
}

// centreOf finds the centre of a round datum from touches of its sides; stops say
// what is missing.
func (s *state) centreOf(i int, d Datum, t touchedDatum, a *agreement) (geom.Point, bool) {
	key := fmt.Sprintf("datum.%d", i)
	var at [4]float64 // readings by fourSides
	var across [4]float64
	var seen [4]bool
	for k, side := range fourSides() {
		var v, w []float64
		for _, st := range t.sides {
			if st.side == side {
				v = append(v, side.of(st.at))
				w = append(w, sideSense{'X' + 'Y' - side.axis, 1}.of(st.at))
			}
		}
		if len(v) == 0 {
			continue
		}
		seen[k] = true
		at[k] = a.take(v)
		for _, x := range w {
			across[k] += x / float64(len(w))
		}
	}
	sized := d.probed() && d.Diameter != nil && s.ball() > 0
	for k := 0; k < 4; k += 2 {
		if !seen[k] && !seen[k+1] || !sized && (!seen[k] || !seen[k+1]) {
			s.stop(key, "datum-partial", fmt.Sprintf("datum %q was touched from too few sides along %c", d.Name, fourSides()[k].axis), "touch both sides along each axis")
			return geom.Point{}, false
		}
	}
	// A probe that moves toward +X touches a pin on its left, a hole on its right.
	inside := -1.0
	if d.Feature == "hole" {
		inside = 1
	}
	contact := s.contact(d)
	chord := func(off float64) float64 { return math.Sqrt(math.Max(0, float64(contact*contact)-float64(off*off))) }
	c := [2]float64{(across[2] + across[3]) / float64(count(seen[2], seen[3])), (across[0] + across[1]) / float64(count(seen[0], seen[1]))}
	for range 20 { // each axis needs the other where one side only was touched
		for ax := range 2 {
			k := 2 * ax
			switch {
			case seen[k] && seen[k+1]:
				c[ax] = (at[k] + at[k+1]) / 2
			case seen[k]:
				c[ax] = at[k] - inside*chord(across[k]-c[1-ax])
			default:
				c[ax] = at[k+1] + inside*chord(across[k+1]-c[1-ax])
			}
		}
	}
	if sized {
		s.sizes(key, d, at, across, seen, c, inside)
	}
	return geom.Pt(c[0], c[1]), true
}

func count(b ...bool) int {
	n := 0
	for _, x := range b {
		if x {
			n++
		}
	}
	return max(n, 1)
}

// sizes holds the diameter that two opposite touches give against the stated one.
func (s *state) sizes(key string, d Datum, at, across [4]float64, seen [4]bool, c [2]float64, inside float64) {
	for ax := range 2 {
		k := 2 * ax
		if !seen[k] || !seen[k+1] {
			continue
		}
		half := inside * (at[k] - at[k+1]) / 2
		off := (across[k]+across[k+1])/2 - c[1-ax]
		got := 2 * (math.Copysign(math.Hypot(half, off), half) + inside*s.ball())
		if want := lengthOr(d.Diameter, 0); math.Abs(got-want) > sizeLimit {
			line, col := s.pos.Of(key)
			s.add(diag.Finding{Code: "datum-size", Severity: diag.Confirm, Subject: s.req.Name,
				Message: fmt.Sprintf("datum %q measures %.3f mm across along %c, %.3f mm were said", d.Name, got, fourSides()[k].axis, want),
				Help:    "check that it was this one, its diameter, that of the probe, and for dirt; touch it again"}.
				With(math.Abs(got-want), sizeLimit, "mm").AtLine(s.req.Name, line, col))
		}
	}
}

// datumEdits turns what was touched of datums and edges into edits of the job.
func (s *state) datumEdits(datums, edges []touchedDatum) []edit {
	var out []edit
	var byEye, bySide agreement
	put := func(table string, p geom.Point) {
		out = append(out, edit{table, "touched", []string{fmt.Sprintf("%.3f", p.X), fmt.Sprintf("%.3f", p.Y)}})
	}
	mean := func(pts []geom.Point, a *agreement) geom.Point {
		var x, y []float64
		for _, p := range pts {
			x, y = append(x, p.X), append(y, p.Y)
		}
		return geom.Pt(a.take(x), a.take(y))
	}
	for i, t := range datums {
		table := fmt.Sprintf("datum.%d", i)
		switch {
		case len(t.sides) > 0:
			if c, ok := s.centreOf(i, s.file.Datums[i], t, &bySide); ok {
				put(table, c)
			}
		case len(t.eye) > 0:
			put(table, mean(t.eye, &byEye))
		}
	}
	for i, t := range edges {
		if len(t.eye) > 0 {
			// Along the edge the reading says nothing; across it repeats must agree.
			put(fmt.Sprintf("edge.%d", i), mean(t.eye, &bySide))
		}
	}
	s.repeats("datums by eye", byEye, s.datumU(), "touch_uncertainty")
	s.repeats("datums by probe", bySide, s.datumU(), "touch_uncertainty")
	return out
}

// merged puts new heights over old ones: an old one at a place that was touched
// again goes. Order: old, then new.
func merged(old, fresh []skin.Touch) []skin.Touch {
	out := slices.DeleteFunc(slices.Clone(old), func(t skin.Touch) bool {
		return slices.ContainsFunc(fresh, func(f skin.Touch) bool { return f.At().Dist(t.At()) <= samePlace })
	})
	return append(out, fresh...)
}

// samePlace is how near touches of one place lie, mm.
const samePlace = 0.1

// farthest returns the largest distance between datums as they were touched before
// and after, mm.
func farthest(before, after *File) float64 {
	var most float64
	for i := range min(len(before.Datums), len(after.Datums)) {
		a, b := before.Datums[i].Touched, after.Datums[i].Touched
		if len(a) == 2 && len(b) == 2 {
			most = math.Max(most, math.Hypot(float64(a[0]-b[0]), float64(a[1]-b[1])))
		}
	}
	return most
}
