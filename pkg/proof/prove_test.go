package proof

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"math"
	"math/rand"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// needOf is clearance and error budget of the spar of square: 1 mm, half the
// runout, reversal, half a digit; closed form.
const needOf = 1 + 0.01 + 0.02 + 0.0005

func TestAProgramWithTwoMicrometresToSpareIsAccepted(t *testing.T) {
	for _, tc := range []struct {
		fact  string
		spare float64
		ok    bool
	}{
		{"2 µm above the need", 0.002, true},
		{"0.1 µm above the need", 0.0001, true},
		{"1 µm below the need", -0.001, false},
		{"10 µm below the need", -0.01, false},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			w := square(needOf + tc.spare)
			c, l := prove(t, w, squareProgram())
			assert.Equal(t, tc.ok, c.OK, codes(l))
			assert.Equal(t, !tc.ok, l.Has("keepout-near"))
			for _, m := range c.Margins {
				if m.Member == "main spar" {
					assert.InDelta(t, tc.spare, m.MarginMM-m.NeededMM, 0.001)
				}
			}
		})
	}
}

func TestDepthIsJudgedWithItsErrors(t *testing.T) {
	// 2 mm deep, 0.02 mm reversal of Z, half a digit; closed form
	const deepest = 2 + 0.02 + 0.0005
	for _, tc := range []struct {
		fact  string
		limit float64
		floor float64
		code  string
	}{
		{"limit 2 µm below the deepest place", deepest + 0.002, 6, ""},
		{"limit 1 µm above the deepest place", deepest - 0.001, 6, "depth-limit"},
		{"floor 2 µm below the deepest place", 6, deepest + 0.002, ""},
		{"floor 1 µm above the deepest place", 6, deepest - 0.001, "floor-passed"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			w := square(3)
			w.Cuts[0].Limit, w.Floor = tc.limit, tc.floor
			c, l := prove(t, w, squareProgram())
			assert.Equal(t, tc.code == "", c.OK, codes(l))
			if tc.code != "" {
				assert.True(t, l.Has(tc.code), codes(l))
			}
		})
	}
}

func TestEdgeIsJudgedWithItsTolerance(t *testing.T) {
	for _, tc := range []struct {
		fact string
		y    string
		ok   bool
	}{
		{"at the tolerance", "19.049", true},
		{"1 µm past it", "19.051", false},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			c, l := prove(t, square(3), strings.ReplaceAll(squareProgram(), "19.000", tc.y))
			assert.Equal(t, tc.ok, c.OK, codes(l))
			assert.Equal(t, !tc.ok, l.Has("gouge"))
		})
	}
}

func TestEveryFaultHasItsFinding(t *testing.T) {
	for _, tc := range []struct {
		code     string
		old, new string
		job      func(w *work.Work)
	}{
		{code: "keepout-near", job: func(w *work.Work) { w.Members[0] = square(0.5).Members[0] }},
		{code: "rib-entered", job: func(w *work.Work) { w.Members[1].Footprint = []geom.Region{{Outer: geom.Rect(20, -5, 22, 30)}} }},
		{code: "clamp-near", job: func(w *work.Work) {
			w.Clamps = []keepout.Volume{{Name: "strap", Kind: keepout.Clamp, Footprint: []geom.Region{{Outer: geom.Rect(32, 0, 40, 20)}}, From: -12, To: 0, Clearance: 2}}
		}},
		{code: "holder-near", job: func(w *work.Work) {
			w.Cutters[0].StickOut = 9
			w.Members[0].From = -20
			w.Members[0].Footprint = []geom.Region{{Outer: geom.Rect(-40, -9, 80, -3)}}
		}},
		{code: "depth-limit", old: "Z-2.000", new: "Z-3.000"},
		{code: "floor-passed", old: "Z-2.000", new: "Z-6.000"},
		{code: "gouge", old: "Y19.000", new: "Y19.100"},
		{code: "not-through", old: "G1 X24.000 Z-2.000", new: "G1 X24.000 Z-1.700"},
		{code: "not-cut", old: "G1 X24.000 Z-1.000 F600\nG1 X29.000\nG1 Y19.000\nG1 X1.000\nG1 Y1.000\nG1 X6.000\nG1 X24.000 Z-2.000\nG1 X29.000\nG1 Y19.000\nG1 X1.000\nG1 Y1.000\n", new: "G1 Z-2.000\n"},
		{code: "travel", job: func(w *work.Work) { w.Origin = &[3]float64{-0.5, 100, 40} }},
		{code: "travel", job: func(w *work.Work) { w.Machine.TravelMax[0] = 20 }},
		{code: "rapid-in-material", old: "G1 X24.000 Z-1.000 F600", new: "G0 X24.000 Z-1.000"},
		{code: "rapid-down-diagonal", old: "G0 X6.000 Y1.000\nG0 Z0.500", new: "G0 X6.000 Y1.000 Z0.500"},
		{code: "spindle-off", old: "M3 S18000\n", new: ""},
		{code: "spindle-reverse", old: "M3", new: "M4"},
		{code: "rpm-off", old: "S18000", new: "S12000"},
		{code: "rpm-range", old: "S18000", new: "S24100"},
		{code: "wrong-cutter", old: "T1 M6", new: "T7 M6"},
		{code: "wrong-cutter", old: "T1 M6\n", new: ""},
		{code: "feed-high", old: "F600", new: "F700"},
		{code: "plunge-fast", old: "G1 Z0.000 F200", new: "G1 Z-0.500 F600"},
		{code: "plunge-not-centre-cutting", old: "G1 Z0.000 F200", new: "G1 Z-0.500 F200", job: func(w *work.Work) { w.Cutters[0].CentreCutting = false }},
		{code: "units-unstated", old: "G21 ", new: ""},
		{code: "distance-unstated", old: "G90 ", new: ""},
		{code: "offsets-changed", old: "(cut: servo)", new: "G92 X0"},
		{code: "end-not-retracted", old: "G0 Z5.000\nM5", new: "G0 Z4.000\nM5"},
		{code: "block-delete", old: "G1 X6.000\n", new: "/G1 X6.000\n"},
		{code: "pause-in-material", old: "G1 X6.000\n", new: "G1 X6.000\nM0\n"},
		{code: "dwell-in-material", old: "G1 X6.000\n", new: "G1 X6.000\nG4 P1\n"},
		{code: "spin-up", old: "G4 P3\n", new: ""},
		{code: "ramp-steep", old: "G1 X24.000 Z-1.000", new: "G1 X12.000 Z-1.000"},
		{code: "start-height", old: "G0 Z5.000\nT1", new: "T1"},
		{code: "path-mode", old: " G61", new: ""},
		{code: "length-offset", old: "T1 M6", new: "T1 M6\nG43 H2"},
		{code: "coolant-wet", old: "M3 S18000", new: "M3 S18000 M8"},
		{code: "tab-missing", job: func(w *work.Work) { w.Cuts[0].Tabs = work.Tabs{Count: 2, Width: 4, Height: 0.5} }},
		{code: "slug-loose", job: func(w *work.Work) { w.Cuts[0].Open = false }},
		{code: "through-unsure", job: func(w *work.Work) { w.ThickTol = 0.19 }},
		{code: "flute-short", job: func(w *work.Work) { w.Cutters[0].FluteLength = 1.5 }},
		{code: "work-unsound", job: func(w *work.Work) { w.Members[0].Clearance = math.NaN() }},
		{code: "step-deep", job: func(w *work.Work) { w.Cuts[0].Step = 0.6 }},
		{code: "corner-left"},
		{code: "holder-in-work", job: func(w *work.Work) { w.Cutters[0].StickOut, w.Cutters[0].FluteLength = 2.01, 2 }},
		{code: "origin-unknown", old: "M5", new: "G53 G0 Z60\nM5"},
		{code: "change-low", old: "T1 M6", new: "G0 Z4\nT1 M6"},
		{code: "edge-unsure", job: func(w *work.Work) { w.Cutters[0].DiameterTol = 0.1 }},
	} {
		t.Run(tc.code+" "+strings.TrimSpace(tc.new), func(t *testing.T) {
			w, text := square(3), squareProgram()
			if tc.job != nil {
				tc.job(w)
			}
			if tc.old != "" {
				require.Contains(t, text, tc.old)
				text = strings.Replace(text, tc.old, tc.new, 1)
			}
			c, l := prove(t, w, text)
			require.True(t, l.Has(tc.code), "%s", codes(l))
			for _, f := range l {
				if f.Code == tc.code {
					assert.NotEmpty(t, f.Message)
					assert.Equal(t, strings.ToLower(f.Message[:1]), f.Message[:1])
					if f.Blocks() {
						assert.False(t, c.OK)
						assert.NotEmpty(t, f.Help, f.Code)
					}
				}
			}
		})
	}
}

func TestTabsAreFoundWithTheirSize(t *testing.T) {
	w := square(3)
	w.Cuts[0].Tabs = work.Tabs{Count: 1, Width: 4, Height: 0.5}
	// the path is high for 6 mm: a tab of 4 mm at its waist; closed form
	text := strings.Replace(squareProgram(), "Z-2.000\nG1 X29.000\nG1 Y19.000\n", "Z-2.000\nG1 X29.000\nG1 Y19.000\nG1 X20.000\nG1 Z-1.300\nG1 X14.000\nG1 Z-2.000 F200\nF600\n", 1)
	c, l := prove(t, w, text)
	assert.True(t, c.OK, codes(l))
	n := 0
	for _, v := range c.Leftovers {
		if v.Kind == "tab" {
			n++
			assert.InDelta(t, 4, v.SizeMM, 0.1)
		}
	}
	assert.Equal(t, 1, n)
	w.Cuts[0].Tabs.Width = 5
	_, l = prove(t, w, text)
	assert.True(t, l.Has("tab-small"), codes(l))
}

func TestAcceptingARibCoversOnlyTheCutThatSaysSo(t *testing.T) {
	rib := func(w *work.Work) {
		w.Members[1].Footprint = []geom.Region{{Outer: geom.Rect(20, -5, 22, 30)}}
	}
	w := square(3)
	rib(w)
	w.Cuts[0].Accept = []string{"rib-entered: rib 3"}
	c, l := prove(t, w, squareProgram())
	assert.True(t, c.OK, codes(l))
	assert.NotEmpty(t, c.Accepted)

	w.Cuts[0].Accept = nil
	w.Accepted = []work.Acceptance{{Cut: "servo", Code: "rib-entered: rib 3"}}
	c, l = prove(t, w, squareProgram())
	assert.True(t, c.OK, codes(l))

	w.Accepted[0].Cut = "another"
	c, _ = prove(t, w, squareProgram())
	assert.False(t, c.OK)

	// a spar can never be accepted
	w = square(0.5)
	w.Cuts[0].Accept = []string{"keepout-near", "rib-entered"}
	w.Members[0].Accept = true
	c, _ = prove(t, w, squareProgram())
	assert.False(t, c.OK)
}

func TestCertificateIsTheSameOnAnyNumberOfProcessors(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	w, text := sample(r)
	var want []byte
	for _, n := range []int{1, 2, 4} {
		old := runtime.GOMAXPROCS(n)
		c, _ := prove(t, w, text)
		runtime.GOMAXPROCS(old)
		b, err := c.Encode()
		require.NoError(t, err)
		if want == nil {
			want = b
		}
		assert.Equal(t, string(want), string(b))
	}
}

func TestOneChangedByteIsNoticed(t *testing.T) {
	w := square(3)
	w.Inputs = []work.Input{{Role: "drawing", File: "panel.dxf", SHA256: "00ff"}}
	src := []Source{{"square.nc", []byte(squareProgram())}}
	const tool = "sparclear test"
	c, _ := Prove(context.Background(), w, src)
	c.Tool = tool
	cert, err := c.Encode()
	require.NoError(t, err)
	_, l := Recheck(context.Background(), "certificate.json", tool, cert, w, src)
	require.False(t, l.Blocks(), codes(l))

	noticed := func(bad []byte, at int) {
		require.True(t, c.against("certificate.json", bad).Blocks(), "byte %d", at)
	}
	for i := range cert { // each byte in one of the ways, in the long run in all
		for k := range 7 {
			if k != i%7 && !long() {
				continue
			}
			bad := bytes.Clone(cert)
			switch k {
			case 4:
				bad = slices.Delete(bad, i, i+1)
			case 5:
				bad = slices.Insert(bad, i, cert[i])
			case 6:
				bad = bad[:i]
			default:
				bad[i] ^= []byte{1, 2, 32, 128}[k]
			}
			noticed(bad, i)
		}
	}
	noticed(append(bytes.Clone(cert), '\n'), len(cert))
	for i := range src[0].Text {
		bad := bytes.Clone(src[0].Text)
		bad[i] ^= []byte{1, 2, 32, 128}[i%4]
		now := *c
		now.Programs = slices.Clone(c.Programs)
		sum := sha256.Sum256(bad)
		now.Programs[0].SHA256 = hex.EncodeToString(sum[:])
		require.True(t, now.against("certificate.json", cert).Has("program-changed"), "byte %d", i)
	}
	for i := 0; i < len(src[0].Text); i += 37 { // and the whole way
		bad := bytes.Clone(src[0].Text)
		bad[i] ^= 1
		_, l := Recheck(context.Background(), "certificate.json", tool, cert, w, []Source{{"square.nc", bad}})
		require.True(t, l.Has("program-changed"), "byte %d", i)
	}
	other := *w
	other.Inputs = []work.Input{{Role: "drawing", File: "panel.dxf", SHA256: "00fe"}}
	_, l = Recheck(context.Background(), "certificate.json", tool, cert, &other, src)
	assert.True(t, l.Has("input-changed"))
	_, l = Recheck(context.Background(), "certificate.json", "another", cert, w, src)
	assert.True(t, l.Has("certificate-version"))
}

// drape writes the square again on a curved skin: the same path in short lines,
// each end at its depth below the skin.
func drape(s dome) string {
	lines := strings.Split(squareProgram(), "\n")
	var out []string
	at := [3]float64{6, 1, 0}
	put := func(p [3]float64, f string) {
		out = append(out, strings.TrimSpace("G1 "+num('X', p[0])+" "+num('Y', p[1])+" "+num('Z', p[2]+s.Height(geom.Pt(p[0], p[1])))+" "+f))
	}
	for _, l := range lines {
		if !strings.HasPrefix(l, "G1 ") {
			out = append(out, l)
			continue
		}
		to, f := at, ""
		for _, w := range wordPattern.FindAllString(l, -1)[1:] {
			v := parse(w[1:])
			switch w[0] {
			case 'X':
				to[0] = v
			case 'Y':
				to[1] = v
			case 'Z':
				to[2] = v
			default:
				f = w
			}
		}
		n := 1 + int(math.Hypot(to[0]-at[0], to[1]-at[1])/0.5)
		for i := 1; i <= n; i++ {
			var p [3]float64
			for k := range p {
				p[k] = at[k] + (to[k]-at[k])*float64(i)/float64(n)
			}
			put(p, f)
			f = ""
		}
		at = to
	}
	return strings.Join(out, "\n")
}

func TestADrapedProgramIsProvenOnItsSkin(t *testing.T) {
	s := dome{at: geom.Pt(15, 10), z: 0, k: 1.0 / 625, g: geom.Pt(0.05, 0.02), u: 0.01, e: 0.02}
	w := square(3)
	w.Skin, w.SafeZ, w.Cuts[0].Depth = s, 6, 2.15
	text := strings.ReplaceAll(drape(s), "Z5.000", "Z6.000")
	text = strings.ReplaceAll(text, "G0 Z0.500", "G0 Z1.500")
	c, l := prove(t, w, text)
	assert.True(t, c.OK, codes(l))
	// on a skin that stands 0.3 mm lower the same program does not go through,
	// on one that stands higher it goes too deep
	low := s
	low.z = -0.3
	w.Skin = low
	_, l = prove(t, w, text)
	assert.True(t, l.Has("not-through"), codes(l))
	high := s
	high.z = 1
	w.Skin = high
	_, l = prove(t, w, text)
	assert.True(t, l.Has("depth-limit"), codes(l))
}

func TestDepthBoundHoldsUnderTheWholeFootprint(t *testing.T) {
	n := 400
	if long() {
		n = 100_000
	}
	r := rand.New(rand.NewSource(5))
	for i := 0; i < n; i++ {
		tl, m, s := someTool(r), someMove(r), someSkin(r)
		w := square(3)
		w.Skin = s
		p := &prover{w: w, flat: s.Flat(), level: s.Height(geom.Point{})}
		b := budget{}
		c := &crawl{p: p, t: &tl, b: &b}
		cv := newCurve(&m)
		parts := cv.parts()
		deep, least, most := math.Inf(-1), math.Inf(1), math.Inf(-1)
		for k := 0; k < parts; k++ {
			t0, t1 := float64(k)/float64(parts), float64(k+1)/float64(parts)
			pc := cv.piece(t0, t1)
			d, _ := c.deepest(&cv, &pc, t0, t1)
			deep = math.Max(deep, d)
			if !pc.rect {
				lo, hi := p.tipDepth(&cv, &pc, t0, t1)
				least, most = math.Min(least, lo), math.Max(most, hi)
			}
		}
		rad := tl.cutter.Diameter / 2
		for _, q := range places(m, 12) {
			at := s.Height(geom.Pt(q[0], q[1])) - q[2]
			if m.Motion != 0 {
				require.GreaterOrEqual(t, at, least-1e-9)
				require.LessOrEqual(t, at, most+1e-9)
			}
			for k := 0; k < 12; k++ {
				for _, f := range []float64{0, 0.4, 0.8, 1} {
					v := geom.Polar(geom.Pt(q[0], q[1]), f*rad, float64(k)*math.Pi/6)
					require.LessOrEqual(t, s.Height(v)-q[2]-tl.profile(f*rad), deep+1e-9, "%d: %+v", i, m)
				}
			}
		}
	}
}

// cliff is a skin that promises nothing about its bend, and is not known beyond x = 20.
type cliff struct{ level }

func (cliff) Flat() bool            { return false }
func (cliff) Bend(geom.Box) float64 { return math.Inf(1) }
func (c cliff) Range(b geom.Box) (float64, float64) {
	if b.Max.X > 20 {
		return math.Inf(-1), math.Inf(1)
	}
	return c.z, c.z
}

func TestASkinThatIsNotKnownIsNotTakenForGranted(t *testing.T) {
	w := square(3)
	w.Skin = cliff{}
	c, l := prove(t, w, squareProgram())
	assert.False(t, c.OK)
	assert.True(t, l.Has("height-unknown"), codes(l))
	_, err := c.Encode()
	assert.NoError(t, err)
	// straight down, where a bend without bound meets a way of no length
	w = square(3)
	w.Skin = cliff{}
	_, l = prove(t, w, "G21 G90 G17 G61\nT1 M6\nM3 S18000\nG0 Z5\nG0 X5 Y5\nG1 Z-7 F200\nG0 Z5\nM2\n")
	assert.True(t, l.Has("floor-passed"), codes(l))
}

func TestCutterForms(t *testing.T) {
	for _, tc := range []struct {
		fact             string
		c                shop.Cutter
		r, profile, h, w float64 // profile at radius r, radius at height h; closed form
	}{
		{"square end", shop.Cutter{Kind: shop.Flat, Diameter: 4, FluteLength: 10}, 2, 0, 0, 2},
		{"ball nose", shop.Cutter{Kind: shop.Ball, Diameter: 4, FluteLength: 10}, 2, 2, 2 - math.Sqrt(3), 1},
		{"corner radius", shop.Cutter{Kind: shop.BullNose, Diameter: 4, CornerRadius: 0.5, FluteLength: 10}, 2, 0.5, 0, 1.5},
		{"vee of 90°", shop.Cutter{Kind: shop.Vee, Diameter: 4, PointAngle: math.Pi / 2, FluteLength: 10}, 1, 1, 1.5, 1.5},
		{"drill of 120°", shop.Cutter{Kind: shop.Drill, Diameter: 2 * math.Sqrt(3), PointAngle: 2 * math.Pi / 3, FluteLength: 10}, math.Sqrt(3), 1, 0.5, math.Sqrt(3) / 2},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			tl := newTool(tc.c, nil)
			assert.InDelta(t, tc.profile, tl.profile(tc.r), 1e-12)
			assert.InDelta(t, tc.w, tl.radiusAt(tc.h), 1e-12)
			assert.Zero(t, tl.lift(0))
		})
	}
}

func TestCancelledProofIsNotAProof(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	c, l := Prove(ctx, square(3), []Source{{"square.nc", []byte(squareProgram())}})
	assert.False(t, c.OK)
	assert.True(t, l.Has("proof-stopped"))
}

func TestNothingIsProvenWithoutAProgram(t *testing.T) {
	c, l := Prove(context.Background(), square(3), nil)
	assert.False(t, c.OK)
	assert.True(t, l.Has("program-missing"))
	for _, k := range c.Checks {
		assert.False(t, k.OK, k.Name)
	}
	_, l = Prove(context.Background(), &work.Work{}, nil)
	assert.True(t, l.Has("work-unsound"))
}

func FuzzProve(f *testing.F) {
	f.Add([]byte(squareProgram()))
	f.Add([]byte("G21 G90 G17\nT1 M6\nG2 X1e5 Y0 I50000 J0 F1\nM2\n"))
	f.Add([]byte("%\nG20 G91 G18\nT1 M6 M3 S1\nG83 X1 Y1 Z-9 R1 Q.001 F1\nM30\n%\n"))
	w := square(3)
	f.Fuzz(func(t *testing.T, text []byte) {
		if len(text) > 4000 {
			return
		}
		begin := time.Now()
		c, l := Prove(context.Background(), w, []Source{{"x.nc", text}})
		if d := time.Since(begin); d > 20*time.Second {
			t.Fatal("took", d)
		}
		if c.OK && l.Blocks() {
			t.Fatal("proven with a blocking finding")
		}
		if _, err := c.Encode(); err != nil {
			t.Fatal(err)
		}
	})
}
