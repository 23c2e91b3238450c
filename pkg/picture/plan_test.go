package picture

import (
	"encoding/xml"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
	"sparclear/pkg/skin"
)

func TestThePlanViewIsTheSameEveryTime(t *testing.T) {
	for _, tc := range []struct {
		name  string
		scene Scene
	}{{"wing", wingScene(t)}, {"sheet", sheetScene(t)}} {
		t.Run(tc.name, func(t *testing.T) {
			a, err := Plan(tc.scene)
			require.NoError(t, err)
			b, err := Plan(tc.scene)
			require.NoError(t, err)
			assert.True(t, string(a) == string(b))
			golden(t, tc.name+".plan.svg", a)
			for form, draw := range map[string]func(Scene) ([]byte, error){"%PDF": PlanPDF, "\x89PNG": PlanPNG} {
				a, err := draw(tc.scene)
				require.NoError(t, err)
				b, err := draw(tc.scene)
				require.NoError(t, err)
				assert.True(t, strings.HasPrefix(string(a), form))
				assert.True(t, string(a) == string(b), "%s differs from itself", form)
			}
		})
	}
}

// stroke is a stroked path of an SVG.
type stroke struct {
	width  float64
	colour string
	segs   []geom.Seg // paper mm, Y down
}

var number = regexp.MustCompile(`[MLHVAZz]|-?(?:\d+\.?\d*|\.\d+)(?:e-?\d+)?`)

// strokes reads the stroked paths of an SVG: moves, lines and circular arcs.
func strokes(t *testing.T, b []byte) (out []stroke) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(string(b)))
	for {
		tok, err := d.Token()
		if err != nil {
			return out
		}
		e, ok := tok.(xml.StartElement)
		if !ok || e.Name.Local != "path" {
			continue
		}
		at := map[string]string{}
		for _, a := range e.Attr {
			at[a.Name.Local] = a.Value
			if a.Name.Local == "style" {
				for _, p := range strings.Split(a.Value, ";") {
					if k, v, ok := strings.Cut(p, ":"); ok {
						at[k] = v
					}
				}
			}
		}
		if at["stroke"] == "" {
			continue
		}
		s := stroke{width: 1, colour: at["stroke"]}
		if w := at["stroke-width"]; w != "" {
			s.width, err = strconv.ParseFloat(w, 64)
			require.NoError(t, err)
		}
		s.segs = pathSegs(t, at["d"])
		out = append(out, s)
	}
}

func pathSegs(t *testing.T, d string) (out []geom.Seg) {
	t.Helper()
	tokens := number.FindAllString(arcFlags(d), -1)
	next := func() float64 {
		v, err := strconv.ParseFloat(tokens[0], 64)
		require.NoError(t, err, d)
		tokens = tokens[1:]
		return v
	}
	var at, start geom.Point
	letter := ""
	for len(tokens) > 0 {
		if strings.ContainsAny(tokens[0], "MLHVAZz") {
			letter, tokens = tokens[0], tokens[1:]
			if letter == "z" || letter == "Z" {
				out = append(out, geom.Line(at, start))
				at = start
				continue
			}
		}
		to := at
		switch letter {
		case "M":
			at = geom.Pt(next(), next())
			start, letter = at, "L"
			continue
		case "L":
			to = geom.Pt(next(), next())
		case "H":
			to.X = next()
		case "V":
			to.Y = next()
		case "A":
			r := next()
			next()
			next()
			large, sweep := next() > 0, next() > 0
			to = geom.Pt(next(), next())
			half := math.Asin(math.Min(1, at.Dist(to)/2/r))
			if large {
				half = math.Pi - half
			}
			bulge := math.Tan(half / 2)
			if !sweep {
				bulge = -bulge
			}
			out = append(out, geom.Seg{A: at, B: to, Bulge: bulge})
			at = to
			continue
		default:
			require.Fail(t, "unknown path letter "+letter)
		}
		out = append(out, geom.Line(at, to))
		at = to
	}
	return out
}

// arcFlags parts the two flags of an arc from what follows; SVG lets them touch.
func arcFlags(d string) string {
	re := regexp.MustCompile(`A\s*(\S+)\s+(\S+)\s+(\S+)\s+([01])\s*([01])\s*`)
	return re.ReplaceAllString(d, "A$1 $2 $3 $4 $5 ")
}

// area measures the union of round-ended strokes by even scan lines.
func area(ss []stroke) float64 {
	type capsule struct {
		s geom.Seg
		r float64
	}
	var cs []capsule
	box := geom.EmptyBox()
	for _, s := range ss {
		for _, e := range s.segs {
			cs = append(cs, capsule{e, s.width / 2})
			box = box.Union(e.Bounds().Grow(s.width / 2))
		}
	}
	const rows = 4000
	step := box.Size().Y / rows
	total := 0.0
	for i := range rows {
		y := box.Min.Y + (float64(i)+0.5)*step
		var spans [][2]float64
		for _, c := range cs {
			spans = append(spans, spansAt(c.s, c.r, y)...)
		}
		slices.SortFunc(spans, func(a, b [2]float64) int {
			if a[0] < b[0] {
				return -1
			}
			return 1
		})
		end := math.Inf(-1)
		for _, s := range spans {
			if s[1] > end {
				total += (s[1] - math.Max(s[0], end)) * step
				end = s[1]
			}
		}
	}
	return total
}

// spansAt returns where the line at y runs within r of a segment, by short chords.
func spansAt(s geom.Seg, r, y float64) (out [][2]float64) {
	if b := s.Bounds(); y < b.Min.Y-r || y > b.Max.Y+r {
		return nil
	}
	n := 1
	if !s.IsLine() {
		n = 2 + int(math.Abs(s.Sweep())/0.02)
	}
	for i := range n {
		a, b := s.At(float64(i)/float64(n)), s.At(float64(i+1)/float64(n))
		lo, hi := math.Inf(1), math.Inf(-1)
		add := func(x0, x1 float64) { lo, hi = math.Min(lo, x0), math.Max(hi, x1) }
		for _, c := range []geom.Point{a, b} {
			if h := r*r - (y-c.Y)*(y-c.Y); h >= 0 {
				add(c.X-math.Sqrt(h), c.X+math.Sqrt(h))
			}
		}
		if d := b.Sub(a); d.Len() > 0 {
			side := d.Unit().Left().Mul(r)
			quad := []geom.Point{a.Add(side), b.Add(side), b.Sub(side), a.Sub(side)}
			for k := range quad {
				p, q := quad[k], quad[(k+1)%4]
				if (p.Y <= y) != (q.Y <= y) {
					x := p.X + (y-p.Y)/(q.Y-p.Y)*(q.X-p.X)
					add(x, x)
				}
			}
		}
		if lo <= hi {
			out = append(out, [2]float64{lo, hi})
		}
	}
	return out
}

// The kerf in the picture is held against the sweep of the program's own moves,
// made by geom; within 0.1 %.
func TestTheKerfIsAsLargeAsWhatTheCutterSweeps(t *testing.T) {
	depths := map[string]bool{}
	for i := range depthSteps {
		c := depthColour((float64(i) + 0.5) / depthSteps)
		depths[shortHex(fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B))] = true
	}
	for _, tc := range []struct {
		name  string
		scene Scene
	}{{"wing", wingScene(t)}, {"sheet", sheetScene(t)}} {
		t.Run(tc.name, func(t *testing.T) {
			p, err := tc.scene.planPage()
			require.NoError(t, err)
			b, err := Plan(tc.scene)
			require.NoError(t, err)
			var kerf []stroke
			for _, s := range strokes(t, b) {
				if depths[shortHex(s.colour)] {
					kerf = append(kerf, s)
				}
			}
			require.NotEmpty(t, kerf)
			got := area(kerf) / (p.scale * p.scale)

			want := sweptArea(t, tc.scene)
			assert.InEpsilon(t, want, got, 0.001, "mm²")
		})
	}
}

func shortHex(c string) string {
	c = strings.ToLower(c)
	if len(c) == 7 && c[1] == c[2] && c[3] == c[4] && c[5] == c[6] {
		return "#" + string([]byte{c[1], c[3], c[5]})
	}
	return c
}

// sweptArea unites the discs and capsules of every move below the skin.
func sweptArea(t *testing.T, s Scene) float64 {
	t.Helper()
	replay, l := rs274.Read("p", s.Programs[0].Text, proof.ReadOptions(s.Work))
	require.False(t, l.Blocks())
	var all []geom.Region
	for _, m := range replay.Moves {
		st := s.step(m, replay.States[m.State])
		if st.rapid || st.deepest() <= 0 {
			continue
		}
		r := radiusOf(s.Work.Cutters, st.cutter)
		require.Positive(t, r)
		for _, e := range st.segs() {
			gs := []geom.Region{{Outer: geom.Circle(e.A, r)}}
			if e.A != e.B {
				var err error
				gs, err = geom.Chain{{Point: e.A, Bulge: e.Bulge}, {Point: e.B}}.Sweep(r)
				require.NoError(t, err)
			}
			var err error
			all, err = geom.Union(all, gs)
			require.NoError(t, err)
		}
	}
	sum := 0.0
	for _, g := range all {
		sum += g.Area()
	}
	return sum
}

// Steiner's formula: the sweep of a disc of radius r along a line of length l is
// 2rl + πr²; closed form. It holds the measuring of this test itself.
func TestMeasuringOfStrokes(t *testing.T) {
	for _, tc := range []struct {
		fact string
		s    geom.Seg
		want float64
	}{
		{"a line of 10 mm, 2 mm wide", geom.Line(geom.Pt(0, 0), geom.Pt(8, 6)), 20 + math.Pi},
		{"half a turn of radius 5 mm, 2 mm wide", geom.Seg{A: geom.Pt(0, 0), B: geom.Pt(10, 0), Bulge: 1}, 10*math.Pi + math.Pi},
		{"a dot", geom.Line(geom.Pt(1, 1), geom.Pt(1, 1)), math.Pi},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			assert.InEpsilon(t, tc.want, area([]stroke{{width: 2, segs: []geom.Seg{tc.s}}}), 3e-4, "mm²")
		})
	}
}

func TestNoTextOverlapsAnother(t *testing.T) {
	curved := wingScene(t)
	heights, l := skin.Plane([]skin.Touch{skin.Tch(0, 0, -1), skin.Tch(100, 0, 0.4), skin.Tch(0, 100, 1)}, 0.01)
	require.NotNil(t, heights, "%v", l)
	w := *curved.Work
	w.Skin = heights
	curved.Work = &w
	for name, s := range map[string]Scene{"wing": wingScene(t), "sheet": sheetScene(t), "tilted": curved} {
		p, err := s.planPage()
		require.NoError(t, err)
		noOverlaps(t, name, p)
	}
}

// noOverlaps holds for every pair of texts on a page, and for the paper's edge.
func noOverlaps(t *testing.T, name string, p *page) {
	t.Helper()
	require.NotEmpty(t, p.written)
	paper := geom.Box{Max: geom.Pt(p.c.W, p.c.H)}
	for i, a := range p.written {
		assert.True(t, paper.Contains(a.box.Min) && paper.Contains(a.box.Max), "%s: %q leaves the paper: %v", name, a.text, a.box)
		for _, b := range p.written[:i] {
			assert.False(t, a.box.Grow(-0.05).Overlaps(b.box.Grow(-0.05)), "%s: %q lies over %q", name, a.text, b.text)
		}
	}
}

func TestLabelsNeverOverlap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := newLabels(geom.Box{Max: geom.Pt(120, 90)})
		n := rapid.IntRange(1, 60).Draw(t, "n")
		var placed []geom.Box
		for range n {
			at := geom.Pt(rapid.Float64Range(-10, 130).Draw(t, "x"), rapid.Float64Range(-10, 100).Draw(t, "y"))
			size := geom.Pt(rapid.Float64Range(2, 40).Draw(t, "w"), rapid.Float64Range(2, 6).Draw(t, "h"))
			if b, ok := l.place(at, size, 1); ok {
				placed = append(placed, b)
			}
		}
		for i, a := range placed {
			if !l.frame.Contains(a.Min) || !l.frame.Contains(a.Max) {
				t.Fatalf("%v leaves the frame", a)
			}
			for _, b := range placed[:i] {
				if a.Overlaps(b) {
					t.Fatalf("%v lies over %v", a, b)
				}
			}
		}
	})
}

func TestThePlanViewSaysWhatAnOperatorAsks(t *testing.T) {
	s := wingScene(t)
	b, err := Plan(s)
	require.NoError(t, err)
	m, ok := s.tightest(s.Work.Members)
	require.True(t, ok)
	for _, want := range []string{
		"Made-up panel: one opening", "spar", "rib", "strap", "servo", "screw", "T51", "T2", "machine frame", "+X", "+Y",
		fmt.Sprintf("%.2f mm to %s (needs %.2f)", m.MarginMM, m.Member, m.NeededMM), "2.50 mm", "clearance", "errors", "× 200"} {
		assert.True(t, strings.Contains(string(b), want), "%q is not said", want)
	}
}

func TestAProgramThatCannotBeReadIsNoPicture(t *testing.T) {
	s := wingScene(t)
	s.Programs[0].Text = []byte("G1 X(\n")
	for _, draw := range []func(Scene) ([]byte, error){Plan, PlanPDF, PlanPNG, Film, RunSheet} {
		_, err := draw(s)
		assert.ErrorContains(t, err, "panel.nc")
	}
}
