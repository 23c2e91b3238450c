package picture

import (
	"math"

	"sparclear/pkg/geom"
)

// labels finds room for labels: never over one another, never over a symbol, and
// over as little of the cut as can be.
type labels struct {
	frame geom.Box // paper
	taken []geom.Box
	busy  map[[2]int]bool // cells of a millimetre that show something of the cut
}

func newLabels(frame geom.Box) *labels {
	return &labels{frame: frame, busy: map[[2]int]bool{}}
}

// block keeps labels off a box of the paper.
func (l *labels) block(b geom.Box) { l.taken = append(l.taken, b) }

// mark makes the cells along a line on paper, r mm to each side, costly.
func (l *labels) mark(a, b geom.Point, r float64) {
	n := 1 + int(a.Dist(b)/0.7)
	for i := 0; i <= n; i++ {
		q := a.Lerp(b, float64(i)/float64(n))
		for x := math.Floor(q.X - r); x <= q.X+r; x++ {
			for y := math.Floor(q.Y - r); y <= q.Y+r; y++ {
				l.busy[[2]int{int(x), int(y)}] = true
			}
		}
	}
}

const (
	labelTurns  = 16   // directions that are tried about an anchor
	labelFar    = 60.0 // mm of paper: beyond, a label would not be found again
	labelStep   = 1.5  // mm between the rings that are tried
	labelBusy   = 0.5  // a covered cell costs as much as half a millimetre of distance
	labelMargin = 0.3  // mm between labels
)

// place finds a box of the size near the anchor, at least near mm off, and takes
// it. It fails when no box within labelFar is free.
func (l *labels) place(anchor, size geom.Point, near float64) (geom.Box, bool) {
	best, cost := geom.Box{}, math.Inf(1)
	for r := near; r <= labelFar && r-near < cost; r += labelStep {
		for i := range labelTurns {
			// The first direction is up and to the right, where people look.
			d := geom.Polar(geom.Point{}, 1, math.Pi/4+float64(i)*2*math.Pi/labelTurns)
			c := anchor.Add(geom.Pt(d.X*(r+size.X/2), d.Y*(r+size.Y/2)))
			b := geom.Box{Min: c.Sub(size.Mul(0.5)), Max: c.Add(size.Mul(0.5))}
			if !l.free(b) {
				continue
			}
			if k := r - near + labelBusy*float64(l.covered(b)) + 0.01*float64(i); k < cost {
				best, cost = b, k
			}
		}
	}
	if math.IsInf(cost, 1) {
		return best, false
	}
	l.block(best)
	return best, true
}

func (l *labels) free(b geom.Box) bool {
	if b.Min.X < l.frame.Min.X+0.5 || b.Min.Y < l.frame.Min.Y+0.5 || b.Max.X > l.frame.Max.X-0.5 || b.Max.Y > l.frame.Max.Y-0.5 {
		return false
	}
	g := b.Grow(labelMargin)
	for _, t := range l.taken {
		if g.Overlaps(t) {
			return false
		}
	}
	return true
}

func (l *labels) covered(b geom.Box) int {
	n := 0
	for x := int(math.Floor(b.Min.X)); x <= int(b.Max.X); x++ {
		for y := int(math.Floor(b.Min.Y)); y <= int(b.Max.Y); y++ {
			if l.busy[[2]int{x, y}] {
				n++
			}
		}
	}
	return n
}
