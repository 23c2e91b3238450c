package drawing

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// dxfOf wraps entities, each a list "code value code value …", into a file in mm.
func dxfOf(entities ...string) string { return dxfIn(4, entities...) }

func dxfIn(units int, entities ...string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n%d\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n", units)
	for _, e := range entities {
		for _, f := range strings.Fields(e) {
			b.WriteString(f + "\n")
		}
	}
	b.WriteString("0\nENDSEC\n0\nEOF\n")
	return b.String()
}

func line(layer string, a, b geom.Point) string {
	return fmt.Sprintf("0 LINE 8 %s 10 %v 20 %v 11 %v 21 %v", layer, a.X, a.Y, b.X, b.Y)
}

func readText(src string, o Options) (*Drawing, diag.List) {
	return Read(strings.NewReader(src), "test.dxf", o)
}

func ExampleRead() {
	src := dxfOf(
		"0 LWPOLYLINE 8 SERVO 90 4 70 1 10 0 20 0 10 41 20 0 10 41 20 21 10 0 20 21",
		"0 CIRCLE 8 SERVO 10 20 20 10 40 3")
	d, found := Read(strings.NewReader(src), "panel.dxf", Options{})
	servo, fault := d.Layer("servo")
	fmt.Println(d.Units, len(servo.Outlines), len(servo.Outlines[0].Region.Holes), len(found), fault == nil)
	// Output: mm 1 1 0 true
}

func TestAFileCutOffAnywhereIsNeverReadAsWhole(t *testing.T) {
	whole := dxfOf("0 LINE 8 A 10 0 20 0 11 10 21 0", "0 LWPOLYLINE 8 A 90 3 70 1 10 0 20 0 10 5 20 0 10 5 20 5",
		"0 CIRCLE 8 A 10 50 20 0 40 3.25", "0 POLYLINE 8 A 66 1 0 VERTEX 8 A 10 0 20 9 0 VERTEX 8 A 10 9 20 9 0 SEQEND")
	full, found := readText(whole, Options{})
	require.False(t, found.Blocks(), "%v", found)
	require.Len(t, full.Outlines, 2)
	end := strings.LastIndex(whole, "0\nENDSEC")
	for n := range end {
		_, found := readText(whole[:n], Options{})
		assert.True(t, found.Blocks(), "cut after %d bytes: %q", n, whole[max(0, n-30):n])
		assert.Equal(t, 2, found.ExitCode(), "cut after %d bytes", n)
	}
}

func TestLineEndsMakeNoDifference(t *testing.T) {
	src := dxfOf("0 CIRCLE 8 A 10 1 20 2 40 3")
	want, _ := readText(src, Options{})
	for _, eol := range []string{"\r\n", "\r"} {
		got, found := readText(strings.ReplaceAll(src, "\n", eol), Options{})
		assert.Empty(t, found)
		assert.Equal(t, want.Outlines[0].Region, got.Outlines[0].Region, "%q", eol)
	}
	got, found := Read(iotest.OneByteReader(strings.NewReader(strings.ReplaceAll(src, "\n", "\r\n"))), "x", Options{})
	assert.Empty(t, found)
	assert.Equal(t, want.Outlines[0].Region, got.Outlines[0].Region, "byte by byte")
}

func TestAReaderThatFailsIsReported(t *testing.T) {
	src := dxfOf("0 CIRCLE 8 A 10 1 20 2 40 3")
	r := io.MultiReader(strings.NewReader(src[:40]), iotest.ErrReader(errors.New("cable pulled")))
	_, found := Read(r, "x", Options{})
	assert.True(t, found.Has("drawing-unreadable"), "%v", found)
}

func TestUnitsAreSaidAskedOrOverridden(t *testing.T) {
	plate := "0 LWPOLYLINE 8 A 90 4 70 1 10 0 20 0 10 100 20 0 10 100 20 50 10 0 20 50"
	for _, tc := range []struct {
		fact  string
		code  int
		o     Options
		scale float64
		finds string
		stops bool
	}{
		{"mm are mm", 4, Options{}, 1, "", false},
		{"inches are 25.4 mm", 1, Options{}, 25.4, "", false},
		{"no unit stops and gives both readings", 0, Options{}, 1, "units-unknown", true},
		{"no unit is settled by the job", 0, Options{Units: "in"}, 25.4, "", false},
		{"the job overrides the file, and asks", 1, Options{Units: "mm"}, 1, "units-overridden", true},
		{"the job agrees with the file", 1, Options{Units: "inch"}, 25.4, "", false},
		{"metres are doubted", 6, Options{}, 1000, "units-doubtful", true},
		{"a unit that does not exist", 4, Options{Units: "cubit"}, 1, "units-unheard-of", true},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			d, found := readText(dxfIn(tc.code, plate), tc.o)
			assert.InDelta(t, tc.scale*tc.scale*5000, loopAreas(d)[0], 1e-6*tc.scale*tc.scale, "mm²")
			assert.Equal(t, tc.stops, found.Blocks(), "%v", found)
			if tc.finds != "" {
				assert.True(t, found.Has(tc.finds), "%v", found)
			} else {
				assert.Empty(t, found)
			}
		})
	}
}

func TestAMissingLayerIsAnsweredWithTheNearest(t *testing.T) {
	d, _ := readText(dxfOf("0 CIRCLE 8 SERVO 10 1 20 2 40 3"), Options{})
	_, f := d.Layer("SERVOS")
	require.NotNil(t, f)
	assert.Equal(t, "layer-missing", f.Code)
	assert.Contains(t, f.Help, "SERVO")
	_, f = d.Layer("servo")
	assert.Nil(t, f)
}

func TestALayerWithWhatCannotBeReadIsNotTrusted(t *testing.T) {
	d, found := readText(dxfOf("0 CIRCLE 8 A 10 1 20 2 40 3", "0 MLINE 8 A 10 0 20 0", "0 CIRCLE 8 B 10 1 20 2 40 3"), Options{})
	assert.False(t, found.Blocks(), "an unused layer stops nothing")
	_, f := d.Layer("A")
	require.NotNil(t, f)
	assert.Equal(t, "entity-unread", f.Code)
	assert.Equal(t, diag.Stop, f.Severity)
	_, f = d.Layer("B")
	assert.Nil(t, f)
}

func TestGapsCloseUpToTheToleranceAndNotPastIt(t *testing.T) {
	square := func(gap float64) string {
		return dxfOf(line("A", geom.Pt(0, 0), geom.Pt(30, 0)), line("A", geom.Pt(30, 0), geom.Pt(30, 20)),
			line("A", geom.Pt(30, 20), geom.Pt(0, 20)), line("A", geom.Pt(0, 20), geom.Pt(0, gap)))
	}
	d, found := readText(square(0.0099), Options{})
	assert.Len(t, d.Outlines, 1)
	assert.True(t, found.Has("gaps-closed"))
	assert.InDelta(t, 0.0099, d.Join.WidestGap, 1e-9, "mm")
	d, found = readText(square(0.0101), Options{})
	assert.Empty(t, d.Outlines)
	assert.True(t, found.Has("outline-open"))
	c, _ := d.Layer("A")
	assert.True(t, c.NeedClosed().Blocks())
}

func TestThreeEndsAtAPlaceAreRefusedWithThePlace(t *testing.T) {
	d, found := readText(dxfOf(line("A", geom.Pt(0, 0), geom.Pt(10, 0)), line("A", geom.Pt(10, 0), geom.Pt(10, 10)),
		line("A", geom.Pt(10, 10), geom.Pt(0, 0)), line("A", geom.Pt(0, 0), geom.Pt(-5, -8)),
		line("A", geom.Pt(10, 0), geom.Pt(20, -8))), Options{})
	require.True(t, found.Has("outline-branches"), "%v", found)
	_, f := d.Layer("A")
	require.NotNil(t, f)
	assert.Equal(t, "outline-branches", f.Code)
	require.NotNil(t, f.At[0].Drawing)
}

func TestACrossingIsGivenWithItsPlace(t *testing.T) {
	d, found := readText(dxfOf("0 LWPOLYLINE 8 A 90 5 70 1 10 0 20 0 10 20 20 20 10 20 20 0 10 0 20 30 10 -5 20 10"), Options{})
	require.True(t, found.Has("contour-crosses"), "%v", found)
	_, f := d.Layer("A")
	require.NotNil(t, f)
	assert.Equal(t, diag.Stop, f.Severity)
	assert.InDelta(t, 12, f.At[0].Drawing[0], 1e-6, "mm")
	assert.InDelta(t, 12, f.At[0].Drawing[1], 1e-6, "mm")
}

func TestHolesNestToAnyDepth(t *testing.T) {
	var e []string
	for i, r := range []float64{50, 40, 30, 20, 10, 5} {
		e = append(e, fmt.Sprintf("0 CIRCLE 8 A 10 %v 20 0 40 %v", float64(i)*0.5, r))
	}
	d, found := readText(dxfOf(e...), Options{})
	assert.Empty(t, found)
	require.Len(t, d.Outlines, 3)
	for _, o := range d.Outlines {
		assert.Len(t, o.Region.Holes, 1)
		assert.Positive(t, o.Region.Outer.Area())
		assert.Negative(t, o.Region.Holes[0].Area())
	}
}

func TestPartsThatTouchStayApart(t *testing.T) {
	sq := func(x, y, s float64) string {
		return fmt.Sprintf("0 LWPOLYLINE 8 A 90 4 70 1 10 %v 20 %v 10 %v 20 %v 10 %v 20 %v 10 %v 20 %v", x, y, x+s, y, x+s, y+s, x, y+s)
	}
	// one beside the other, one inside with a shared edge, one at a corner
	d, _ := readText(dxfOf(sq(0, 0, 20), sq(20, 5, 10), sq(0, 5, 8), sq(-10, -10, 10)), Options{})
	areas := []float64{}
	for _, o := range d.Outlines {
		areas = append(areas, o.Region.Area())
	}
	assert.Equal(t, []float64{400 - 64, 100, 100}, areas, "mm²")
}

// The order of entities does not matter, and turning or shifting the drawing
// turns and shifts what is read.
func TestOrderAndPlaceChangeNothingElse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var segs []geom.Seg
		for i := range rapid.IntRange(1, 6).Draw(t, "parts") {
			o := geom.Pt(float64(i)*60, 0)
			w, h := rapid.Float64Range(5, 40).Draw(t, "w"), rapid.Float64Range(5, 40).Draw(t, "h")
			c := geom.RoundRect(o.X, o.Y, o.X+w, o.Y+h, rapid.SampledFrom([]float64{0, 0.1, 0.5, 2}).Draw(t, "r"))
			segs = append(segs, c.Segs()...)
		}
		gap := rapid.Float64Range(0, 0.004).Draw(t, "gap")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		for i := range segs {
			a := rng.Float64() * 2 * math.Pi
			segs[i].A = segs[i].A.Add(geom.Polar(geom.Point{}, gap, a))
			if rng.IntN(2) == 0 {
				segs[i] = segs[i].Reverse()
			}
		}
		text := func(move geom.Rigid, order []int) string {
			var e []string
			for _, i := range order {
				s := segs[i]
				b := s.Bulge
				if move.Mirror {
					b = -b
				}
				p, q := move.Apply(s.A), move.Apply(s.B)
				e = append(e, fmt.Sprintf("0 LWPOLYLINE 8 A 90 2 70 0 10 %v 20 %v 42 %v 10 %v 20 %v", p.X, p.Y, b, q.X, q.Y))
			}
			return dxfOf(e...)
		}
		order := rng.Perm(len(segs))
		straight := make([]int, len(segs))
		for i := range straight {
			straight[i] = i
		}
		a, _ := readText(text(geom.Rigid{}, straight), Options{})
		b, _ := readText(text(geom.Rigid{}, order), Options{})
		require.Equal(t, len(a.Outlines), len(b.Outlines))
		for i := range a.Outlines {
			require.Equal(t, a.Outlines[i].Region, b.Outlines[i].Region, "outline %d", i)
		}
		require.Equal(t, a.Open, b.Open)
		move := geom.Rigid{Turn: rng.Float64() * 6, Shift: geom.Pt(rng.Float64()*1000, rng.Float64()*1000), Mirror: rng.IntN(2) == 0}
		c, _ := readText(text(move, order), Options{})
		require.Equal(t, len(a.Outlines), len(c.Outlines))
		for i := range a.Outlines {
			want, got := a.Outlines[i].Region.Transform(move), c.Outlines[i].Region
			require.InDelta(t, want.Area(), got.Area(), 1e-6)
			for _, v := range got.Outer {
				require.LessOrEqual(t, want.Dist(v.Point), 1e-6)
			}
		}
	})
}

// What is written is read back the same, and written again gives the same bytes.
func TestWhatIsWrittenIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var l Layout
		var want []geom.Region
		for i := range rapid.IntRange(1, 5).Draw(t, "regions") {
			x := float64(i)*100 + rapid.Float64Range(-1e4, 1e4).Draw(t, "x")*1e-3
			w, h := rapid.Float64Range(20, 80).Draw(t, "w"), rapid.Float64Range(20, 80).Draw(t, "h")
			g := geom.NewRegion(geom.RoundRect(x, 0, x+w, h, rapid.Float64Range(0.1, 9).Draw(t, "r")), geom.Circle(geom.Pt(x+w/2, h/2), 3))
			l.Add("Größe 5", g)
			want = append(want, g)
		}
		l.AddChain("LINES", geom.Chain{{Point: geom.Pt(0, -10), Bulge: 0.5}, {Point: geom.Pt(9, -10)}, {Point: geom.Pt(9, -20)}})
		l.AddPoint("DRILL", geom.Pt(1.0/3, -1))
		var one, two bytes.Buffer
		require.NoError(t, Write(&one, l))
		require.NoError(t, Write(&two, l))
		require.Equal(t, one.Bytes(), two.Bytes())
		d, found := Read(&one, "layout.dxf", Options{})
		require.False(t, found.Blocks(), "%v", found)
		require.Equal(t, "mm", d.Units)
		c, f := d.Layer("größe 5")
		require.Nil(t, f)
		require.Len(t, c.Outlines, len(want))
		for _, o := range c.Outlines {
			ok := false
			for _, g := range want {
				ok = ok || math.Abs(g.Area()-o.Region.Area()) < 1e-9 && g.Bounds().Min.Dist(o.Region.Bounds().Min) < 1e-9
			}
			require.True(t, ok, "no region like %v", o.Region.Bounds())
		}
		require.Equal(t, geom.Pt(1.0/3, -1), d.Points[0].Point)
		require.Len(t, d.Open, 1)
		require.Len(t, c.Regions(), len(want))
		lines, f := d.Layer("LINES")
		require.Nil(t, f)
		require.InDelta(t, d.Length-regionsLength(c.Regions()), lines.Chains()[0].Length(), 1e-9)
	})
}

func regionsLength(gs []geom.Region) float64 {
	l := 0.0
	for _, g := range gs {
		l += g.Length()
	}
	return l
}

func TestWhatCannotBeWrittenIsRefused(t *testing.T) {
	var l Layout
	l.Add("A", geom.Region{Outer: geom.Circle(geom.Pt(math.NaN(), 0), 1)})
	assert.ErrorContains(t, Write(io.Discard, l), "not finite")
	l = Layout{}
	l.Add(" ", geom.Region{Outer: geom.Circle(geom.Point{}, 1)})
	assert.ErrorContains(t, Write(io.Discard, l), "no name")
	l = Layout{}
	l.Add("A\nB", geom.Region{Outer: geom.Circle(geom.Point{}, 1)})
	var b bytes.Buffer
	require.NoError(t, Write(&b, l))
	d, _ := Read(&b, "x", Options{})
	_, f := d.Layer("A_B")
	assert.Nil(t, f)
	l = Layout{}
	for i, name := range []string{"Türe", "TÜRE", "türe "} {
		l.Add(name, geom.NewRegion(geom.Circle(geom.Pt(9*float64(i), 0), 1)))
	}
	b.Reset()
	require.NoError(t, Write(&b, l))
	assert.Equal(t, 1, strings.Count(b.String(), "AcDbLayerTableRecord\n2\nT"), "letter case does not make two layers")
	d, _ = Read(&b, "x", Options{})
	c, f := d.Layer("Türe")
	assert.Nil(t, f)
	assert.Len(t, c.Outlines, 3)
	assert.Error(t, Write(failing{}, l))
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, errors.New("disk full") }

// Bulge values: the tangent of a quarter of the included angle (DXF reference,
// VERTEX); radius c(1+b²)/(4|b|), closed form.
func TestNumbersAreReadToTheLastBit(t *testing.T) {
	for _, s := range []string{"0", "1", "-1.5", "1.5E+01", ".5", "5.", "+3", "-0", "123456789.123456789", "0.1", "1e-300",
		"2.2250738585072014e-308", "12.5000000000000000", "635.0020559468333", "1234567890123456789012", "0.30000000000000004"} {
		got, ok := parseNumber([]byte(" " + s + "\t"))
		require.True(t, ok, s)
		var want float64
		_, err := fmt.Sscan(s, &want)
		require.NoError(t, err)
		assert.Equal(t, math.Float64bits(want), math.Float64bits(got), s)
	}
	for _, s := range []string{"", "NaN", "Inf", "-inf", "0x10", "1,5", "1e", "--1", "1e999", "1_000"} {
		_, ok := parseNumber([]byte(s))
		assert.False(t, ok, s)
	}
}

func TestBinaryIsReadLikeText(t *testing.T) {
	var b bytes.Buffer
	b.Write(sentinel)
	text := func(code int, s string) {
		_ = binary.Write(&b, binary.LittleEndian, int16(code))
		b.WriteString(s + "\x00")
	}
	num := func(code int, v float64) {
		_ = binary.Write(&b, binary.LittleEndian, int16(code))
		_ = binary.Write(&b, binary.LittleEndian, v)
	}
	text(0, "SECTION")
	text(2, "HEADER")
	text(9, "$INSUNITS")
	_ = binary.Write(&b, binary.LittleEndian, int16(70))
	_ = binary.Write(&b, binary.LittleEndian, int16(4))
	text(0, "ENDSEC")
	text(0, "SECTION")
	text(2, "ENTITIES")
	text(0, "CIRCLE")
	text(8, "A")
	num(10, 1)
	num(20, 2)
	num(40, 3)
	text(0, "ENDSEC")
	whole := b.Len()
	text(0, "EOF")
	want, _ := readText(dxfOf("0 CIRCLE 8 A 10 1 20 2 40 3"), Options{})
	got, found := Read(bytes.NewReader(b.Bytes()), "b.dxf", Options{})
	assert.Empty(t, found)
	assert.Equal(t, want.Outlines[0].Region, got.Outlines[0].Region)
	for n := len(sentinel); n < whole-8; n++ {
		_, found := Read(bytes.NewReader(b.Bytes()[:n]), "b.dxf", Options{})
		assert.True(t, found.Blocks(), "cut after %d bytes", n)
	}
}

func TestHatchBoundariesAreReadOnRequest(t *testing.T) {
	// half a disc of radius 5: a line and a clockwise arc, whose angles are
	// stored as 360° less the angle; and a square with one round side
	src := dxfOf("0 HATCH 8 H 91 2 92 1 93 2 72 1 10 5 20 0 11 -5 21 0 72 2 10 0 20 0 40 5 50 180 51 360 73 0 97 0"+
		" 92 2 72 1 73 1 93 4 10 20 20 0 42 0 10 30 20 0 42 1 10 30 20 10 42 0 10 20 20 10 42 0 97 0 75 0",
		"0 CIRCLE 8 A 10 100 20 0 40 2")
	d, found := readText(src, Options{})
	assert.True(t, found.Has("hatch-ignored"))
	assert.Len(t, d.Outlines, 1)
	d, found = readText(src, Options{Hatches: true})
	assert.Empty(t, found)
	c, f := d.Layer("H")
	require.Nil(t, f)
	require.Len(t, c.Outlines, 2)
	assert.InDelta(t, 100+12.5*math.Pi, c.Outlines[0].Region.Area(), 1e-9, "mm², closed form")
	assert.InDelta(t, 12.5*math.Pi, c.Outlines[1].Region.Area(), 1e-9, "mm², closed form")
}

// A sector of an ellipse of 20 by 10: the edge stores directions from the centre, not
// parameters (as two independent readers take it), and so meets its neighbours. The
// sector between two parameters has half their difference times both axes (closed form).
func TestTheEllipseOfAHatchRunsBetweenDirections(t *testing.T) {
	const a, b = 20.0, 10.0
	for _, tc := range []struct {
		fact     string
		from, to float64 // parameters, deg
		ccw      int
	}{
		{"in one quarter", 20, 70, 1}, {"over three quarters", 20, 250, 1}, {"clockwise", 20, 250, 0}, {"across the start", -60, 60, 1},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			at := func(deg float64) (x, y, dir float64) {
				s, c := math.Sincos(deg * math.Pi / 180)
				return a * c, b * s, math.Atan2(b*s, a*c) * 180 / math.Pi
			}
			x0, y0, d0 := at(tc.from)
			x1, y1, d1 := at(tc.to)
			if d1 < d0 {
				d1 += 360
			}
			if tc.ccw == 0 {
				d0, d1 = 360-d1, 360-d0
			}
			d, found := readText(dxfOf(fmt.Sprintf("0 HATCH 8 H 91 1 92 1 93 3 72 3 10 0 20 0 11 %v 21 0 40 %v 50 %v 51 %v 73 %d 72 1 10 %v 20 %v 11 0 21 0 72 1 10 0 20 0 11 %v 21 %v 97 0",
				a, b/a, d0, d1, tc.ccw, x1, y1, x0, y0)), Options{Hatches: true})
			require.False(t, found.Blocks(), "%v", found)
			require.Len(t, d.Outlines, 1, "%v", found)
			assert.InDelta(t, a*b*(tc.to-tc.from)*math.Pi/360, d.Outlines[0].Region.Area(), 0.05, "mm²")
		})
	}
}

func TestWidePolylinesBecomeBandsOnRequest(t *testing.T) {
	src := dxfOf("0 LWPOLYLINE 8 A 90 3 70 0 43 2 10 0 20 0 10 20 20 0 10 20 20 10",
		"0 LWPOLYLINE 8 B 90 4 70 1 43 2 10 0 20 0 10 20 20 0 10 20 20 10 10 0 20 10")
	d, found := readText(src, Options{})
	assert.True(t, found.Has("polyline-wide"))
	assert.Len(t, d.Open, 1)
	d, found = readText(src, Options{WideOutlines: true})
	assert.Empty(t, found)
	a, _ := d.Layer("A")
	require.Len(t, a.Outlines, 1)
	assert.InDelta(t, 60, a.Outlines[0].Region.Area(), 1e-9, "mm²: 30 long, 2 wide, closed form")
	b, _ := d.Layer("B")
	require.Len(t, b.Outlines, 1)
	assert.InDelta(t, 22*12-18*8, b.Outlines[0].Region.Area(), 1e-9, "mm², closed form")
}

func TestSVGShapesHaveTheirAreas(t *testing.T) {
	// a 100 mm wide picture of 200 units: half a millimetre a unit; areas in closed form
	for _, tc := range []struct {
		fact, shape string
		want        float64 // mm²
	}{
		{"a rectangle", `<rect x="10" y="10" width="40" height="20"/>`, 200},
		{"a rectangle with round corners", `<rect x="10" y="10" width="40" height="20" rx="4"/>`, 200 - 4*(4-math.Pi)},
		{"a circle", `<circle cx="50" cy="50" r="10"/>`, 25 * math.Pi},
		{"an ellipse", `<ellipse cx="50" cy="50" rx="20" ry="10"/>`, 50 * math.Pi},
		{"a polygon", `<polygon points="0,0 40,0 40,20"/>`, 100},
		{"relative lines", `<path d="m10 10h40v20h-40z"/>`, 200},
		{"half a disc by an arc", `<path d="M0 50A10 10 0 0 1 20 50z"/>`, 12.5 * math.Pi},
		{"an arc whose ends are one radius apart", `<path d="M0 0A20 20 0 0 1 20 0z"/>`, 100 * (math.Pi/3 - math.Sin(math.Pi/3)) / 2},
		{"numbers without blanks", `<path d="M.5.5l10-0 0 10-10 0z"/>`, 25},
		{"a turned group", `<g transform="translate(30,30) rotate(45)"><rect width="20" height="20"/></g>`, 100},
		{"a skewed square keeps its area", `<rect width="20" height="20" transform="skewX(30)"/>`, 100},
		{"a shape used elsewhere", `<defs><circle id="c" r="10"/></defs><use href="#c" x="40" y="40"/>`, 25 * math.Pi},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			d, found := ReadSVG(strings.NewReader(`<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 200 100">`+tc.shape+`</svg>`), "x.svg", Options{})
			assert.Empty(t, found)
			require.Len(t, d.Outlines, 1)
			assert.InDelta(t, tc.want, d.Outlines[0].Region.Area(), 0.05, "mm²")
			assert.InDelta(t, 0.5, d.Scale, 1e-12, "mm per unit")
		})
	}
}

// What a style sheet or a frame would put elsewhere, or not show, is not read as if
// it were drawn plainly.
func TestSVGIsNotReadElsewhereThanItIsShown(t *testing.T) {
	const style = `<style>.st0{display:none;} .st1 , #gone { fill:#fff; visibility : hidden }</style>`
	for _, tc := range []struct {
		fact, shape string
		outlines    int
		code        string
	}{
		{"a class that is not shown", style + `<g id="A" class="big st0"><circle r="5"/></g><circle cx="50" r="5"/>`, 1, "hidden-not-read"},
		{"one of several in a rule", style + `<circle class="st1" r="5"/>`, 0, "drawing-empty"},
		{"an element that is not shown", style + `<circle id="gone" r="5"/>`, 0, "drawing-empty"},
		{"a class that is shown", style + `<circle class="st2" r="5"/>`, 1, ""},
		{"a style that moves", `<circle style="fill:red;transform:translate(9px,0)" r="5"/>`, 0, "entity-broken"},
		{"a rule that moves", `<style>.t{transform:rotate(5deg)}</style><circle class="t" r="5"/>`, 1, "entity-unread"},
		{"a picture within", `<svg x="30" y="3"><circle r="5"/></svg>`, 0, "entity-unread"},
		{"a picture within that changes nothing", `<svg><circle r="5"/></svg>`, 1, ""},
		{"a symbol with a frame", `<symbol id="s" viewBox="0 0 9 9"><circle r="5"/></symbol><use href="#s"/>`, 0, "entity-unread"},
		{"a symbol without", `<symbol id="s"><circle r="5"/></symbol><use href="#s"/>`, 1, ""},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			d, found := ReadSVG(strings.NewReader(`<svg width="100mm" height="50mm" viewBox="0 0 200 100">`+tc.shape+`</svg>`), "x.svg", Options{})
			assert.Len(t, d.Outlines, tc.outlines, "%v", found)
			if tc.code == "" {
				assert.Empty(t, found)
			} else {
				assert.True(t, found.Has(tc.code), "%v", found)
			}
		})
	}
	for aspect, scale := range map[string]float64{"": 0.5, "xMidYMid meet": 0.5, "xMidYMid slice": 1, "none": 0.5} {
		d, _ := ReadSVG(strings.NewReader(`<svg width="100mm" height="100mm" viewBox="0 0 200 100" preserveAspectRatio="`+aspect+`"><line x1="0" x2="10"/></svg>`), "x.svg", Options{})
		assert.InDelta(t, 10*scale, d.Bounds.Size().X, 1e-9, "%q, mm", aspect)
	}
}

func TestSVGFaultsAreNamed(t *testing.T) {
	for _, tc := range []struct{ fact, src, code string }{
		{"no svg element", `<html><p>no</p></html>`, "drawing-not-svg"},
		{"nothing at all", ``, "drawing-not-svg"},
		{"cut off", `<svg width="9mm" height="9mm"><g><rect width="3"`, "drawing-cut-off"},
		{"pixels are no unit", `<svg width="100" height="100"><rect width="30" height="30"/></svg>`, "units-unknown"},
		{"a path that ends in nonsense", `<svg width="9mm" height="9mm" viewBox="0 0 9 9"><path d="M0 0h5v5hx"/></svg>`, "entity-broken"},
		{"an element inside itself", `<svg width="9mm" height="9mm" viewBox="0 0 9 9"><g id="a"><use href="#a"/></g></svg>`, "block-cycle"},
		{"nothing to cut", `<svg width="9mm" height="9mm" viewBox="0 0 9 9"><text>9</text></svg>`, "drawing-empty"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			_, found := ReadSVG(strings.NewReader(tc.src), "x.svg", Options{})
			assert.True(t, found.Has(tc.code), "%v", found)
		})
	}
}
