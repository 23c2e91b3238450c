package proof

import (
	"fmt"
	"math"
	"math/rand"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// sample makes a job and a program for it that were written by hand for this
// test: a rounded opening, a bored hole, drilled holes and a part, with a spar
// close by. Nothing of the planner is in it.
func sample(r *rand.Rand) (*work.Work, string) {
	w := square(3)
	drill := shop.Cutter{Name: "drill", Number: 2, Kind: shop.Drill, Diameter: 1.5, PointAngle: 2 * math.Pi / 3, FluteLength: 10, Shank: 1.5, StickOut: 22, CentreCutting: true, MaxRPM: 30000}
	w.Cutters = append(w.Cutters, drill)
	base := w.Cuts[0]
	base.Limit = 2.5 + r.Float64()
	base.Ramp = 12 * math.Pi / 180
	w.Cuts = nil
	var b strings.Builder
	put := func(f string, a ...any) { fmt.Fprintf(&b, f+"\n", a...) }
	put("(sample)")
	put("G17 G21 G90 G94 G54 G61 G98")
	put("G0 Z5.000")
	put("T1 M6")
	put("M3 S18000")
	put("G4 P3")
	x, y := math.Round(r.Float64()*20), math.Round(r.Float64()*20)
	lx, ly, rc := math.Round(15+15*r.Float64()), math.Round(10+10*r.Float64()), 1.5+math.Round(2*r.Float64())
	c := base
	c.Name, c.Regions = "opening", []geom.Region{{Outer: geom.RoundRect(x, y, x+lx, y+ly, rc)}}
	w.Cuts = append(w.Cuts, c)
	x0, y0, x1, y1, q := x+1, y+1, x+lx-1, y+ly-1, rc-1
	round := func(z float64) {
		put("G1 X%.3f Y%.3f Z%.3f F600", x1-q, y0, z)
		put("G3 X%.3f Y%.3f I0 J%.3f", x1, y0+q, q)
		put("G1 Y%.3f", y1-q)
		put("G3 X%.3f Y%.3f I%.3f J0", x1-q, y1, -q)
		put("G1 X%.3f", x0+q)
		put("G3 X%.3f Y%.3f I0 J%.3f", x0, y1-q, -q)
		put("G1 Y%.3f", y0+q)
		put("G3 X%.3f Y%.3f I%.3f J0", x0+q, y0, q)
	}
	put("G0 X%.3f Y%.3f", x0+q, y0)
	put("G0 Z0.500")
	put("G1 Z0.000 F200")
	round(-1)
	round(-2)
	put("G1 X%.3f", x1-q)
	put("G0 Z5.000")
	if r.Intn(2) == 0 { // a bored hole
		bx, by, br := x+lx+12, y+5, 2.5+math.Round(r.Float64()*10)/10
		c := base
		c.Name, c.Kind, c.Diameter = "bore", work.Bore, 2*br
		c.Regions, c.Points = []geom.Region{{Outer: geom.Circle(geom.Pt(bx, by), br)}}, []geom.Point{{X: bx, Y: by}}
		c.Kind = work.Opening
		w.Cuts = append(w.Cuts, c)
		k := br - 1
		put("G0 X%.3f Y%.3f", bx+k, by)
		put("G0 Z0.500")
		put("G1 Z0.000 F200")
		for z := 0.5; z <= 2.01; z += 0.5 {
			put("G3 X%.3f Y%.3f Z%.3f I%.3f J0 F400", bx+k, by, -z, -k)
		}
		put("G3 X%.3f Y%.3f I%.3f J0", bx+k, by, -k)
		put("G0 Z5.000")
	}
	if r.Intn(2) == 0 {
		c := base
		c.Name, c.Kind, c.Diameter, c.Cutter, c.Limit = "screws", work.Drill, 1.5, 1, 4
		c.Regions = nil
		c.Points = []geom.Point{{X: x - 6, Y: y + 3}, {X: x - 6, Y: y + ly - 3}}
		w.Cuts = append(w.Cuts, c)
		put("M5")
		put("T2 M6")
		put("M3 S18000")
		put("G4 P3")
		for i, p := range c.Points {
			if i == 0 && r.Intn(2) == 0 {
				put("G0 X%.3f Y%.3f", p.X, p.Y)
				put("G83 X%.3f Y%.3f Z-2.500 R0.500 Q1.000 F200", p.X, p.Y)
				put("G80")
				put("G0 Z5.000")
				continue
			}
			put("G0 X%.3f Y%.3f", p.X, p.Y)
			put("G0 Z0.500")
			put("G1 Z-2.500 F200")
			put("G0 Z5.000")
		}
	}
	put("M5")
	put("M2")
	gap := 1.04 + r.Float64()
	w.Members = []keepout.Volume{
		{Name: "main spar", Kind: keepout.Primary, Footprint: []geom.Region{{Outer: geom.Rect(x-40, y-gap-8, x+80, y-gap)}}, From: 1.8, To: math.Inf(1), Clearance: 1},
		{Name: "rib 3", Kind: keepout.Rib, Footprint: []geom.Region{{Outer: geom.Rect(x+lx+1.5, y-40, x+lx+3.5, y+60)}}, From: 1.8, To: math.Inf(1), Clearance: 0.5},
	}
	return w, b.String()
}

var wordPattern = regexp.MustCompile(`[A-Z]-?[0-9]+\.?[0-9]*`)

// mutants are the ways in which a program is broken.
var mutants = []struct {
	kind string
	f    func(r *rand.Rand, l []string) []string
}{
	{"shift a coordinate", func(r *rand.Rand, l []string) []string {
		by := []float64{0.02, 0.06, 0.2, 1, 10}[r.Intn(5)]
		return word(r, l, "XYIJ", func(c byte, v float64) string { return num(c, v+by*sign(r)) })
	}},
	{"Z by 0.02 mm or more", func(r *rand.Rand, l []string) []string {
		by := []float64{0.02, 0.1, 0.5, 1}[r.Intn(4)]
		return word(r, l, "ZR", func(c byte, v float64) string { return num(c, v+by*sign(r)) })
	}},
	{"drop a word", func(r *rand.Rand, l []string) []string {
		return word(r, l, "", func(byte, float64) string { return "" })
	}},
	{"flip a sign", func(r *rand.Rand, l []string) []string {
		return word(r, l, "XYZIJR", func(c byte, v float64) string { return num(c, -v) })
	}},
	{"lose a decimal point", func(r *rand.Rand, l []string) []string {
		return word(r, l, "XYZIJRQ", func(c byte, v float64) string { return strings.Replace(num(c, v), ".", "", 1) })
	}},
	{"another feed or speed", func(r *rand.Rand, l []string) []string {
		by := []float64{0, 0.1, 2, 10}[r.Intn(4)]
		return word(r, l, "FS", func(c byte, v float64) string { return fmt.Sprintf("%c%.0f", c, v*by) })
	}},
	{"swap numbers", func(r *rand.Rand, l []string) []string {
		i := r.Intn(len(l))
		w := wordPattern.FindAllString(l[i], -1)
		if len(w) < 2 {
			return nil
		}
		a := r.Intn(len(w) - 1)
		w[a], w[a+1] = w[a][:1]+w[a+1][1:], w[a+1][:1]+w[a][1:]
		l[i] = strings.Join(w, " ")
		return l
	}},
	{"G2 for G3", func(r *rand.Rand, l []string) []string { return replace(r, l, "G3 ", "G2 ") }},
	{"G0 for G1", func(r *rand.Rand, l []string) []string { return replace(r, l, "G1 ", "G0 ") }},
	{"G1 for G0", func(r *rand.Rand, l []string) []string { return replace(r, l, "G0 ", "G1 ") }},
	{"wrong cutter", func(r *rand.Rand, l []string) []string {
		return word(r, l, "T", func(c byte, v float64) string { return fmt.Sprintf("T%.0f", 3-v) })
	}},
	{"wrong offset", func(r *rand.Rand, l []string) []string {
		return replace(r, l, []string{"G54", "G21", "G90", "G61"}[r.Intn(4)], []string{"G55", "G20", "G91", "G92 X1"}[r.Intn(4)])
	}},
	{"other word", func(r *rand.Rand, l []string) []string {
		p := [][2]string{{"M3", "M4"}, {"M3", "M5"}, {"M5", "M3"}, {"G17", "G18"}, {"G61", "G64 P0.5"}, {"G83", "G81"}, {"M6", "M0"}, {"G21", "G20"}, {"G94", "G93"}}[r.Intn(9)]
		return replace(r, l, p[0], p[1])
	}},
	{"drop a line", func(r *rand.Rand, l []string) []string { i := r.Intn(len(l)); return append(l[:i:i], l[i+1:]...) }},
	{"double a line", func(r *rand.Rand, l []string) []string {
		i := r.Intn(len(l))
		return append(append(append([]string(nil), l[:i+1]...), l[i]), l[i+1:]...)
	}},
	{"swap lines", func(r *rand.Rand, l []string) []string {
		i := r.Intn(len(l) - 1)
		k := i + 1 + r.Intn(min(5, len(l)-1-i))
		l[i], l[k] = l[k], l[i]
		return l
	}},
	{"insert a command", func(r *rand.Rand, l []string) []string {
		c := []string{"G91", "G20", "G18", "G19", "G92 X0", "G92 Z1", "G92.1", "G10 L2 P1 Z-1", "G55", "G53 G0 Z0", "G28", "G30", "G41 D1", "G43 H2", "G49", "G93", "G80", "G99",
			"G64 P0.3", "M0", "M3", "M4", "M5", "M30", "S0", "S60000", "F9000", "T2", "T2 M6", "G4 P5", "G40", "G0", "G2", "G81 Z-3 R0.5", "X0", "Y0", "Z0", "Z-3", "G0 Z-1", "G1 Z-2.4",
			"G0 X0 Y0", "G2 I1", "G3 J0.5", "G3 I-0.01", "G2 I0.5 J0.5 Z-4", "G3 X0 Y0 R30", "G91 G1 Z-0.5\nG90", "G91 G1 X0.2\nG90", "#5=3", "X#5", "X[1+2]"}[r.Intn(51)]
		i := r.Intn(len(l) + 1)
		return slices.Insert(l, i, strings.Split(c, "\n")...)
	}},
	{"add a word", func(r *rand.Rand, l []string) []string {
		i := r.Intn(len(l))
		if !strings.HasPrefix(l[i], "G") {
			return nil
		}
		l[i] += []string{" X1", " Y-1", " Z-2", " Z-1.5", " Z5", " I1", " J-1", " R2", " F5000", " S100", " G91", " G20", " G18", " G53", " M5", " T2", " K1", " L2", " P1", " Q1"}[r.Intn(20)]
		return l
	}},
	{"a block elsewhere", func(r *rand.Rand, l []string) []string {
		i, n, k := r.Intn(len(l)), 1+r.Intn(6), r.Intn(len(l))
		block := slices.Clone(l[i:min(len(l), i+n)])
		return slices.Insert(l, k, block...)
	}},
	{"truncate", func(r *rand.Rand, l []string) []string {
		s := strings.Join(l, "\n")
		return strings.Split(s[:r.Intn(len(s))], "\n")
	}},
}

func parse(s string) float64 {
	v, _ := strconv.ParseFloat(s, 64)
	return v
}

func sign(r *rand.Rand) float64 { return float64(2*r.Intn(2) - 1) }

func num(c byte, v float64) string { return fmt.Sprintf("%c%.3f", c, v) }

func replace(r *rand.Rand, l []string, old, new string) []string {
	var at []int
	for i, s := range l {
		if strings.Contains(s, old) {
			at = append(at, i)
		}
	}
	if len(at) == 0 {
		return nil
	}
	i := at[r.Intn(len(at))]
	l[i] = strings.Replace(l[i], old, new, 1)
	return l
}

// word changes one word whose letter is among letters, any for "".
func word(r *rand.Rand, l []string, letters string, f func(byte, float64) string) []string {
	for range 20 {
		i := r.Intn(len(l))
		if strings.HasPrefix(l[i], "(") {
			continue
		}
		w := wordPattern.FindAllString(l[i], -1)
		var at []int
		for k := range w {
			if letters == "" || strings.ContainsRune(letters, rune(w[k][0])) {
				at = append(at, k)
			}
		}
		if len(at) == 0 {
			continue
		}
		k := at[r.Intn(len(at))]
		v, _ := strconv.ParseFloat(w[k][1:], 64)
		w[k] = f(w[k][0], v)
		l[i] = strings.TrimSpace(strings.Join(w, " "))
		return l
	}
	return nil
}

func TestNoHarmfulMutantIsAccepted(t *testing.T) {
	programs, each := 10, 60
	if long() {
		programs, each = 60, 400
	}
	r := rand.New(rand.NewSource(7))
	type count struct{ caught, harmless, missed, careful int }
	tally := map[string]*count{}
	total := 0
	for range programs {
		w, text := sample(r)
		c, l := prove(t, w, text)
		require.True(t, c.OK, "%s\n%s", text, codes(l))
		rp, _ := rs274.Read("p", []byte(text), rs274.Options{Start: [3]float64{0, 0, w.SafeZ}, ArcTol: 0.01})
		require.Empty(t, judge(w, rp), text)
		for range each {
			m := mutants[r.Intn(len(mutants))]
			lines := m.f(r, strings.Split(strings.TrimSuffix(text, "\n"), "\n"))
			if lines == nil {
				continue
			}
			broken := strings.Join(lines, "\n") + "\n"
			if broken == text {
				continue
			}
			total++
			if tally[m.kind] == nil {
				tally[m.kind] = &count{}
			}
			n := tally[m.kind]
			c, _ := prove(t, w, broken)
			if !c.OK && !long() {
				n.caught++
				continue
			}
			rp, faults := rs274.Read("p", []byte(broken), rs274.Options{Start: [3]float64{0, 0, w.SafeZ}, ArcTol: 0.01})
			harm := "not read"
			if !faults.Blocks() {
				harm = judge(w, rp)
			}
			switch {
			case !c.OK && harm != "":
				n.caught++
			case !c.OK:
				n.careful++
			case harm == "":
				n.harmless++
			default:
				n.missed++
				t.Errorf("%s: accepted although %s\n%s", m.kind, harm, difference(text, broken))
			}
		}
	}
	var kinds []string
	for k := range tally {
		kinds = append(kinds, k)
	}
	sort.Strings(kinds)
	t.Logf("%d mutants of %d programs", total, programs)
	for _, k := range kinds {
		n := tally[k]
		t.Logf("%-24s caught %5d  refused though the oracle sees no harm %5d  accepted, harmless %5d  missed %d", k, n.caught, n.careful, n.harmless, n.missed)
	}
}

// difference shows the lines that differ first.
func difference(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range x {
		if i >= len(y) || x[i] != y[i] {
			return fmt.Sprintf("line %d: %q became %q", i+1, x[i], y[min(i, len(y)-1)])
		}
	}
	return "longer"
}
