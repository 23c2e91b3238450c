package proof

import (
	"math"

	"sparclear/pkg/geom"
)

// runSlack is how far a straight stroke that stands for several may stray from
// them, mm: the other half of strokeSag is left to arcs.
const runSlack = strokeSag / 2

// run joins strokes that follow each other on one line, as draped paths and
// finely cut curves do. From the first point on it keeps the wedge of directions
// in which all points so far lie within runSlack of the line; each of them lies
// further out than the one before, so that every place of the joined line is
// within runSlack of the strokes that it stands for.
type run struct {
	open     bool
	a, b     geom.Point
	far      float64 // from a to b
	lo, hi   float64 // wedge about dir, rad
	dir      geom.Point
	unturned bool // no point so far is far enough from a to give a direction
}

// add takes the stroke from p to q.
func (r *run) add(segs *[]geom.Seg, p, q geom.Point) {
	if r.open && p == r.b && r.extend(q) {
		return
	}
	r.close(segs)
	*r = run{open: true, a: p, b: p, unturned: true, lo: math.Inf(-1), hi: math.Inf(1)}
	r.extend(q)
}

// extend draws the line out to q where the wedge allows.
func (r *run) extend(q geom.Point) bool {
	v := q.Sub(r.a)
	l := v.Len()
	if l == 0 {
		return r.b == r.a
	}
	if r.unturned {
		r.dir, r.unturned = v.Mul(1/l), false
	}
	// Forward along the line and along the last stroke, or the joined line would
	// not be met everywhere.
	if l <= r.far || r.dir.Dot(v) <= 0.5*l || q.Sub(r.b).Dot(v) <= 0 {
		return false
	}
	t := math.Atan2(r.dir.Cross(v), r.dir.Dot(v))
	if t < r.lo || t > r.hi {
		return false
	}
	w := math.Pi / 2
	if l > runSlack {
		w = math.Asin(runSlack / l)
	}
	r.lo, r.hi = math.Max(r.lo, t-w), math.Min(r.hi, t+w)
	r.b, r.far = q, l
	return true
}

// close ends the line.
func (r *run) close(segs *[]geom.Seg) {
	if r.open {
		*segs = append(*segs, geom.Line(r.a, r.b))
	}
	r.open = false
}
