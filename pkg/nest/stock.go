package nest

import (
	"math"
	"sort"

	"sparclear/pkg/geom"
)

// sheetPoles is the number of circles that stand in for the ground outside a
// sheet, which is longer and thinner than a part.
const sheetPoles = 48

// ground is one kind of sheet made ready: the box in which grown parts may lie
// and the forbidden ground in it, in sheet coordinates.
type ground struct {
	box   geom.Box
	obst  []obstacle // v counts from 0 in shapes
	shape []*shape
	fibre int
}

// groundOf makes a sheet ready. grow is what the parts are grown by.
func groundOf(s Sheet, fibre int, spacing float64) ground {
	half := spacing / 2
	g := ground{box: s.Region.Bounds().Grow(half - s.Margin - 1e-6), fibre: fibre}
	add := func(r geom.Region, by float64, poles int) {
		o := ready(r, math.Max(0, by), poles)
		sh := o.shape(-1, fibre, geom.Rigid{})
		sh.band = o.by
		at := sh.frame.Shift.Mul(-1)
		g.obst = append(g.obst, obstacle{at.X, at.Y, int32(len(g.shape))})
		g.shape = append(g.shape, sh)
	}
	if !isBox(s.Region) {
		b := s.Region.Bounds()
		w := float64(0.05 * b.Size().Len())
		frame := geom.NewRegion(geom.Rect(b.Min.X-w, b.Min.Y-w, b.Max.X+w, b.Max.Y+w), s.Region.Outer)
		add(frame, s.Margin-half, sheetPoles)
		for _, h := range s.Region.Holes {
			add(geom.NewRegion(h), s.Margin-half, maxPoles)
		}
	}
	for _, z := range s.Zones {
		add(z, half, maxPoles)
	}
	return g
}

// isBox tells whether the region is an axis-parallel rectangle.
func isBox(g geom.Region) bool {
	if len(g.Holes) > 0 {
		return false
	}
	b := g.Bounds().Size()
	for _, v := range g.Outer {
		if v.Bulge != 0 {
			return false
		}
	}
	return math.Abs(float64(b.X*b.Y)-g.Area()) <= 1e-12*g.Area()
}

// piece is one piece of stock to be had.
type piece struct{ sheet, piece int }

// stock lists the pieces to be had, cheapest first, at most as many of a kind as
// there are copies.
func stock(sheets []Sheet, copies int) []piece {
	order := make([]int, len(sheets))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return sheets[order[a]].Cost < sheets[order[b]].Cost })
	var out []piece
	for _, i := range order {
		n := sheets[i].Quantity
		if n == Unlimited || n > copies {
			n = copies
		}
		for k := 0; k < n; k++ {
			out = append(out, piece{i, k})
		}
	}
	return out
}

// fibres lists the fibre directions of the sheets without doubles, and for every
// sheet its index in the list.
func fibres(sheets []Sheet) (list []float64, of []int) {
	of = make([]int, len(sheets))
	for i, s := range sheets {
		of[i] = -1
		for k, a := range list {
			if a == s.Fibre {
				of[i] = k
			}
		}
		if of[i] < 0 {
			of[i] = len(list)
			list = append(list, s.Fibre)
		}
	}
	return list, of
}
