package nest

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

func ell() geom.Region {
	return geom.Region{Outer: geom.Polygon(geom.Pt(0, 0), geom.Pt(60, 0), geom.Pt(60, 20), geom.Pt(20, 20), geom.Pt(20, 80), geom.Pt(0, 80))}
}

func disc(r float64) geom.Region { return geom.Region{Outer: geom.Circle(geom.Pt(0, 0), r)} }

func board(w, h float64) Sheet {
	return Sheet{Name: "board", Region: geom.Region{Outer: geom.Rect(0, 0, w, h)}, Margin: 10, Quantity: 1}
}

var halfTurns = []float64{0, math.Pi}

func TestPartsLieApartAndInside(t *testing.T) {
	parts := []Part{
		{Name: "ell", Region: ell(), Quantity: 6, Turns: halfTurns},
		{Name: "disc", Region: disc(15), Quantity: 8},
		{Name: "ring", Region: geom.NewRegion(geom.Circle(geom.Pt(0, 0), 50), geom.Circle(geom.Pt(0, 0), 40)), Quantity: 1},
	}
	o := Options{Spacing: 5, Seed: 1, Budget: 300_000}
	l, fs := Nest(context.Background(), parts, []Sheet{board(400, 250)}, o)
	require.Empty(t, fs)
	require.Len(t, l.Placements, 15)
	assert.Empty(t, Verify(parts, []Sheet{board(400, 250)}, l, o))
	require.Len(t, l.Used, 1)
	assert.InDelta(t, (6*2400+8*math.Pi*225+math.Pi*(2500-1600))/100000, l.Used[0].Share, 1e-9)
}

func TestSameSeedSameLayout(t *testing.T) {
	parts := []Part{{Name: "ell", Region: ell(), Quantity: 10, Turns: halfTurns, Mirror: true}}
	sheets := []Sheet{board(200, 200)}
	sheets[0].Quantity = 3
	o := Options{Spacing: 4, Seed: 7, Budget: 200_000}
	a, fs := Nest(context.Background(), parts, sheets, o)
	require.Empty(t, fs)
	b, fs := Nest(context.Background(), parts, sheets, o)
	require.Empty(t, fs)
	assert.Equal(t, a, b)
}

func TestOffcutWithHoleFlawAndClamp(t *testing.T) {
	offcut := geom.NewRegion(
		geom.Polygon(geom.Pt(0, 0), geom.Pt(400, 0), geom.Pt(400, 150), geom.Pt(250, 300), geom.Pt(0, 300)),
		geom.Circle(geom.Pt(200, 150), 40))
	s := Sheet{Name: "offcut", Region: offcut, Margin: 8, Quantity: 1, Zones: []geom.Region{
		{Outer: geom.Rect(-10, 120, 30, 160)}, {Outer: geom.Circle(geom.Pt(320, 60), 15)}, {Outer: geom.Circle(geom.Pt(325, 60), 15)},
	}}
	parts := []Part{{Name: "ell", Region: ell(), Quantity: 7, Turns: halfTurns, Mirror: true}, {Name: "disc", Region: disc(18), Quantity: 9}}
	o := Options{Spacing: 5, Seed: 3, Budget: 500_000}
	l, fs := Nest(context.Background(), parts, []Sheet{s}, o)
	require.Empty(t, fs)
	require.Len(t, l.Placements, 16)
	assert.Empty(t, Verify(parts, []Sheet{s}, l, o))
	for _, r := range l.Used[0].Remnant {
		for _, p := range l.Placements {
			assert.GreaterOrEqual(t, r.DistRegion(parts[p.Part].Region.Transform(p.Frame)), o.Spacing-1e-9, "remnant keeps away from parts, mm")
		}
	}
}

func TestSmallPartsLieInHolesOfLargeOnes(t *testing.T) {
	// The sheet has room for the ring and nothing beside it but its corners,
	// where no disc fits: 0.207 · 116 mm − 5 mm < 2 · 12 mm, closed form.
	ring := geom.NewRegion(geom.Circle(geom.Pt(0, 0), 58), geom.Circle(geom.Pt(0, 0), 50))
	parts := []Part{{Name: "ring", Region: ring, Quantity: 1}, {Name: "disc", Region: disc(12), Quantity: 6}}
	s := Sheet{Name: "s", Region: geom.Region{Outer: geom.Rect(0, 0, 120, 120)}, Margin: 1, Quantity: 1}
	l, fs := Nest(context.Background(), parts, []Sheet{s}, Options{Spacing: 5, Budget: 300_000})
	require.Empty(t, fs)
	require.Len(t, l.Placements, 7)
	mid := l.Placements[0].Frame.Apply(geom.Pt(0, 0))
	for _, p := range l.Placements[1:] {
		assert.LessOrEqual(t, p.Frame.Apply(geom.Pt(0, 0)).Dist(mid), 50-12-5.0, "disc from the middle of the ring, mm")
	}
}

func TestLockedCopiesStay(t *testing.T) {
	at := geom.Rigid{Shift: geom.Pt(200, 125), Turn: math.Pi / 2}
	parts := []Part{
		{Name: "ell", Region: ell(), Quantity: 5, Turns: []float64{0, math.Pi / 2}, Locked: []Lock{{Frame: at}}},
		{Name: "disc", Region: disc(15), Quantity: 5},
	}
	l, fs := Nest(context.Background(), parts, []Sheet{board(400, 250)}, Options{Spacing: 5, Budget: 200_000})
	require.Empty(t, fs)
	require.Len(t, l.Placements, 10)
	assert.Equal(t, Placement{Part: 0, Copy: 0, Frame: at, Locked: true}, l.Placements[0])
	assert.False(t, l.Placements[1].Locked)
}

func TestFillersTakeWhatIsLeft(t *testing.T) {
	parts := []Part{
		{Name: "ell", Region: ell(), Quantity: 2},
		{Name: "disc", Region: disc(10), Quantity: Fill},
	}
	l, fs := Nest(context.Background(), parts, []Sheet{board(200, 150)}, Options{Spacing: 4, Budget: 100_000})
	require.Empty(t, fs)
	assert.Greater(t, len(l.Placements), 2+20)
	assert.Len(t, l.Used, 1)
}

func TestCheapPiecesComeFirst(t *testing.T) {
	dear, cheap := board(300, 300), board(140, 140)
	dear.Cost, dear.Quantity = 40, Unlimited
	cheap.Name, cheap.Quantity = "offcut", 2
	parts := []Part{{Name: "square", Region: geom.Region{Outer: geom.Rect(0, 0, 100, 100)}, Quantity: 4}}
	sheets := []Sheet{dear, cheap}
	l, fs := Nest(context.Background(), parts, sheets, Options{Spacing: 5, Budget: 100_000})
	require.Empty(t, fs)
	require.Len(t, l.Used, 3)
	assert.Equal(t, []int{1, 1, 0}, []int{l.Used[0].Sheet, l.Used[1].Sheet, l.Used[2].Sheet})
	// Two squares, one above the other, leave 300 − 10 − 100 − 5 mm; closed form.
	require.Len(t, l.Used[2].Remnant, 1)
	assert.InDelta(t, 185, l.Used[2].Remnant[0].Bounds().Size().X, 0.1, "mm")
}

func TestFibreTurnsThePartsWithTheSheet(t *testing.T) {
	s := board(300, 300)
	s.Fibre = math.Pi / 2
	bar := Part{Name: "bar", Region: geom.Region{Outer: geom.Rect(0, 0, 200, 20)}, Quantity: 3}
	l, fs := Nest(context.Background(), []Part{bar}, []Sheet{s}, Options{Spacing: 5, Budget: 100_000})
	require.Empty(t, fs)
	for _, p := range l.Placements {
		assert.InDelta(t, 200, bar.Region.Transform(p.Frame).Bounds().Size().Y, 1e-6, "length along the fibre, mm")
	}
}

func TestVerifySeesWhatIsWrong(t *testing.T) {
	parts := []Part{{Name: "disc", Region: disc(10), Quantity: 2, Turns: halfTurns}}
	sheets := []Sheet{board(200, 150)}
	sheets[0].Zones = []geom.Region{disc(5).Transform(geom.Rigid{Shift: geom.Pt(150, 75)})}
	o := Options{Spacing: 4}
	lay := func(f ...geom.Rigid) *Layout {
		l := &Layout{Used: []Used{{}}}
		for i, f := range f {
			l.Placements = append(l.Placements, Placement{Copy: i, Frame: f})
		}
		return l
	}
	at := func(x, y float64) geom.Rigid { return geom.Rigid{Shift: geom.Pt(x, y)} }
	for _, tc := range []struct {
		fact string
		l    *Layout
		want string // code, "" for none
	}{
		{"apart by the spacing", lay(at(50, 50), at(74, 50)), ""},
		{"apart by less than the spacing", lay(at(50, 50), at(73.999, 50)), "parts-near"},
		{"one upon the other", lay(at(50, 50), at(50, 50)), "parts-near"},
		{"at the margin", lay(at(20, 50)), ""},
		{"inside the margin", lay(at(19.999, 50)), "margin-broken"},
		{"over the edge", lay(at(-1, 50)), "margin-broken"},
		{"off the sheet", lay(at(-50, 50)), "part-off-sheet"},
		{"beside a zone", lay(at(131, 75)), ""},
		{"too near a zone", lay(at(131.001, 75)), "zone-near"},
		{"over a zone", lay(at(150, 75)), "zone-near"},
		{"turned as allowed", lay(geom.Rigid{Turn: -math.Pi, Shift: geom.Pt(50, 50)}), ""},
		{"turned otherwise", lay(geom.Rigid{Turn: 0.1, Shift: geom.Pt(50, 50)}), "turn-not-allowed"},
		{"turned over", lay(geom.Rigid{Mirror: true, Shift: geom.Pt(50, 50)}), "turn-not-allowed"},
		{"more copies than asked for", lay(at(50, 50), at(80, 50), at(110, 50)), "layout-broken"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			fs := Verify(parts, sheets, tc.l, o)
			if tc.want == "" {
				assert.Empty(t, fs)
			} else {
				assert.True(t, fs.Has(tc.want), "%v", fs)
			}
		})
	}
}

func TestCancelledSearchGivesTheBestSoFar(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	parts := []Part{{Name: "ell", Region: ell(), Quantity: 10, Turns: halfTurns}}
	sheets := []Sheet{board(600, 300)}
	o := Options{Spacing: 4, Budget: 1 << 40, Progress: func(p Progress) {
		if p.Phase == "explore" {
			cancel()
		}
	}}
	l, fs := Nest(ctx, parts, sheets, o)
	require.Empty(t, fs)
	assert.True(t, l.Stopped)
	assert.Len(t, l.Placements, 10)
}

func TestEqualPartsTakeARegularPattern(t *testing.T) {
	// Right triangles of 40 mm in pairs of half turns fill the plane, so that
	// each takes 800 mm² at no spacing; closed form.
	tri := geom.Region{Outer: geom.Polygon(geom.Pt(0, 0), geom.Pt(40, 0), geom.Pt(0, 40))}
	p := Part{Name: "tri", Region: tri, Quantity: 1, Turns: halfTurns}
	c := newCatalog(shapesOf(0, p, ready(tri, 0, maxPoles), 0, 0), nil)
	var tried int64
	l, ok := densestLattice(c, []int32{0, 1}, &tried)
	require.True(t, ok)
	assert.Len(t, l.cell, 2)
	assert.InDelta(t, 800, l.area(), 8, "mm² a part")

	// On a sheet, with spacing: the pattern beats what free filling reaches.
	p.Quantity = Fill
	got, fs := Nest(context.Background(), []Part{p}, []Sheet{board(420, 320)}, Options{Spacing: 4, Budget: 100_000})
	require.Empty(t, fs)
	assert.GreaterOrEqual(t, len(got.Placements), 88)
}

func TestFreePartLiesAlongTheEdge(t *testing.T) {
	// A bar drawn askew fits only when it lies along the sheet: 200 × 20 mm in
	// 205 × 25 mm.
	askew := geom.Region{Outer: geom.Rect(0, 0, 200, 20)}.Transform(geom.Rigid{Turn: 0.4})
	s := Sheet{Name: "s", Region: geom.Region{Outer: geom.Rect(0, 0, 205, 25)}, Margin: 1, Quantity: 1, Fibre: 0.7}
	for _, mirror := range []bool{false, true} {
		l, fs := Nest(context.Background(), []Part{{Name: "bar", Region: askew, Quantity: 1, Free: true, Mirror: mirror}}, []Sheet{s}, Options{Spacing: 3, Budget: 5000})
		require.Empty(t, fs)
		assert.Len(t, l.Placements, 1)
	}
}

func TestPieceThatIsNotNeededIsSaved(t *testing.T) {
	// Seven bars of 24 mm with 2 mm between them take 180 of 198 mm; closed form.
	parts := []Part{{Name: "bar", Region: geom.Region{Outer: geom.Rect(0, 0, 90, 24)}, Quantity: 7}}
	s := Sheet{Name: "s", Region: geom.Region{Outer: geom.Rect(0, 0, 100, 200)}, Margin: 1, Quantity: 2}
	n := newNesting(context.Background(), parts, []Sheet{s}, Options{Spacing: 2, Budget: 200_000})
	for k := range 2 { // laid badly on purpose: six and one
		n.piles[k] = n.newPile(k)
	}
	for i := range n.items {
		k := i / 6
		n.piles[k].add(place{v: 0, x: 50, y: 14 + 27*float64(i%6)})
		n.held[k] = append(n.held[k], i)
	}
	n.improve()
	assert.Nil(t, n.piles[1], "the second piece is saved")
	assert.Len(t, n.held[0], 7)
	assert.Empty(t, Verify(parts, []Sheet{s}, n.layout(), n.o))

	// A piece that has run empty is not shortened for ever.
	p := &problem{cat: n.cat, items: n.items[:1], bins: []bin{*n.piles[0].bin, *n.piles[0].bin}}
	g := newSearch(p, 1, 1, n.clock)
	g.cur.set(p, 0, place{v: 0, x: 50, y: 14})
	assert.False(t, (&strip{search: g, last: 1}).shrink(50))
}
