package geom

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// Offsetter offsets one set of regions many times (the rings of a pocket): the
// cleaning, the check for crossings and the index are made once. It may be used
// by several goroutines at a time.
type Offsetter struct {
	in *prepared
}

// NewOffsetter prepares regions for many offsets. Contours that cross
// themselves or each other give a diag.Finding with code "contour-crosses", a
// coordinate that is not finite one with code "contour-not-finite".
func NewOffsetter(gs ...Region) (*Offsetter, error) {
	in, err := prepare(contoursOf(gs))
	if err != nil {
		return nil, err
	}
	return &Offsetter{in: in}, nil
}

// Offset is Region.Offset for the regions of the Offsetter taken together:
// grown regions that reach each other become one.
func (o *Offsetter) Offset(d, tol float64) ([]Region, error) {
	cs, _, err := o.in.offset(d)
	if err != nil {
		return nil, err
	}
	return nestLoops(cs), nil
}

// Offset returns the region grown by d mm (d > 0: where the centre of a cutter
// of radius d may stand to touch g from outside) or shrunk (d < 0). What is
// narrower than 2|d| vanishes or closes and one region may become several, so
// the result holds zero or more regions; what has no width is left out. Outer
// contours run counter-clockwise, holes clockwise, whichever way g was built.
// Arcs stay arcs; at corners of straight edges that turn so little that the arc
// would stand within 1e-7 mm of it, the moved edges just run on until they meet,
// on the far side. The result is within 1e-6 mm of the true offset, checked in
// every call, whatever larger deviation tol (mm) would allow.
//
// A contour that crosses itself or another gives a diag.Finding with code
// "contour-crosses", placed at the crossing; an offset that could not be
// verified gives "offset-unproven" with the place, never an unchecked answer;
// "offset-not-finite" and "offset-too-large" (10 km) concern d.
// O((n + k) log n) for n edges whose raw offsets meet k times.
//
// Method: raw offsets cut at their meetings and kept by true distance; see
// Chen and McMains, Polygon offsetting by computing winding numbers, 2005, for
// the raw curves, and de Figueiredo and Oliveira, Robust approximation of
// offsets by interval arithmetic, 2002, for distance in place of trimming.
func (g Region) Offset(d, tol float64) ([]Region, error) {
	o, err := NewOffsetter(g)
	if err != nil {
		return nil, err
	}
	return o.Offset(d, tol)
}

// OffsetAll offsets several regions, which may touch but not overlap (join them
// by Union first), at once: grown regions that reach each other become one.
// Shrunk regions stay apart, also where they touch. See Region.Offset.
func OffsetAll(gs []Region, d float64) ([]Region, error) {
	o, err := NewOffsetter(gs...)
	if err != nil {
		return nil, err
	}
	return o.Offset(d, 0)
}

// Tolerances of the offset, mm.
const (
	// offsetError is how far the result may be from the true offset.
	offsetError = 1e-6
	// validSlack is what a point may be too near by rounding.
	validSlack = 1e-9
	// neckProbe is how far to either side of a true boundary point inside and
	// outside must show, so that necks of no width do not count.
	neckProbe = 1e-4
)

// nodeSteps are the distances within which nodes are one, mm; the next one only
// after a check has failed. Coordinates up to 10 m hold 1e-12 mm, so even a
// twentieth of the first has three digits of room.
var nodeSteps = [...]float64{2e-8, 5e-7, 1e-5}

// validSteps are the slacks of the distance test; the next one only when a node
// does not balance.
var validSteps = [...]float64{validSlack, 1e-8, 1e-7, 1e-6}

// offset returns the loops of the offset by d and how many attempts it took.
func (in *prepared) offset(d float64) ([]Contour, int, error) {
	if math.IsNaN(d) || math.IsInf(d, 0) {
		return nil, 0, notFinite()
	}
	if len(in.cs) == 0 {
		return nil, 1, nil
	}
	if d == 0 {
		return in.back(in.contours()), 1, nil
	}
	if d < -widest { // wider than any outline: nothing is left
		return nil, 1, nil
	}
	if d > widest {
		return nil, 0, diag.Finding{Code: "offset-too-large", Severity: diag.Stop,
			Message: "the offset asked for is larger than can be computed"}.With(d/1e3, widest/1e3, "m")
	}
	var out []Contour
	tries, err := in.attempts(d, func(w *offsetting) (ok bool) {
		out, ok = w.run()
		return ok
	})
	if err != nil {
		return nil, tries, err
	}
	return in.back(out), tries, nil
}

func notFinite() error {
	return diag.Finding{Code: "offset-not-finite", Severity: diag.Stop,
		Message: "the offset asked for is not a finite number"}
}

// attempts tries the offset by d with one set of tolerances after the other
// until one passes every check, and returns how many it took.
func (in *prepared) attempts(d float64, do func(w *offsetting) bool) (int, error) {
	var place Point
	tries := 0
	for _, scale := range [...]float64{1, 1 + 1e-9, 1 - 1e-9} {
		for _, tn := range nodeSteps {
			tries++
			w := offsetting{in: in, d: d * scale, tn: tn}
			if do(&w) {
				return tries, nil
			}
			place = w.fault
		}
	}
	place = place.Add(in.org)
	return tries, diag.Finding{
		Code: "offset-unproven", Severity: diag.Stop,
		Message: fmt.Sprintf("the outline moved by %.4g mm could not be verified", d),
		Help:    "look at the outline near this place for edges that almost touch, and simplify it there",
	}.On(place.X, place.Y)
}

// offsetting is one attempt at an offset.
type offsetting struct {
	in      *prepared
	d, r    float64
	tn      float64
	g       graph
	midOK   []bool // of each curve of the graph: its middle is far enough away
	fault   Point  // where a check failed
	marks   []Point
	blocker int32 // the edge that was too near to the last point asked for
	seek    seeker
}

// run returns the loops of the offset as contours.
func (w *offsetting) run() ([]Contour, bool) {
	loops, ps, ok := w.loops()
	if !ok {
		return nil, false
	}
	out := make([]Contour, len(loops))
	for i, l := range loops {
		out[i] = w.g.contour(ps, l)
	}
	return out, true
}

// loops returns the verified loops of the offset as lists of pieces.
func (w *offsetting) loops() ([][]int32, []piece, bool) {
	w.r = math.Abs(w.d)
	w.g.tn, w.g.tt = w.tn, w.tn/20
	w.rawCurves()
	w.g.meetings()
	if out, ps, ok := w.follow(); ok {
		return out, ps, true
	}
	w.g.snap()
	return w.follow()
}

// follow cuts the raw curves at the nodes that are known and follows the pieces
// that are far enough from the input.
func (w *offsetting) follow() ([][]int32, []piece, bool) {
	ps := w.g.split()
	short := w.shortfall(ps)
	for _, slack := range validSteps {
		for i := range ps {
			ps[i].dead = float64(short[i]) > slack
		}
		w.g.twins(ps)
		w.g.deadEnds(ps)
		w.g.twins(ps)
		w.g.deadEnds(ps)
		if n := w.g.unbalanced(ps); n >= 0 {
			w.fault = w.g.at[n]
			continue
		}
		if out, ok := w.finish(ps, short); ok {
			return out, ps, true
		}
	}
	return nil, nil, false
}

// shortfall gives for every piece how much too near its middle is to the input,
// mm: 0 where nothing is nearer than the slack allows. What is more than any
// slack is not told exactly.
func (w *offsetting) shortfall(ps []piece) []float32 {
	out := make([]float32, len(ps))
	for i := range ps {
		p := &ps[i]
		c := p.curve
		if m := w.midOK[c]; m && w.g.find(w.g.from[c]) == p.from && w.g.find(w.g.to[c]) == p.to {
			continue
		}
		d := w.closer(w.g.mid(p), w.g.tag[c]>>1, w.r-2*offsetError)
		if d < w.r-validSlack {
			out[i] = float32(w.r - d)
		} else if w.wrongSide(w.g.mid(p)) {
			out[i] = float32(w.r)
		}
	}
	return out
}

// wrongSide tells whether p, far enough from the input, lies in the material
// where it grows or outside where it shrinks: beyond an edge at which contours
// touch.
func (w *offsetting) wrongSide(p Point) bool {
	return w.in.touching && (w.in.f.winding(p) > 0) != (w.d < 0)
}

// sideChecks is on how many pieces of a loop the side is looked at.
const sideChecks = 16

// finish follows the live pieces and checks the result.
func (w *offsetting) finish(ps []piece, short []float32) ([][]int32, bool) {
	loops, ok := w.g.loops(ps)
	if !ok || !w.checkPieces(ps) {
		return nil, false
	}
	kept := loops[:0]
	for _, l := range loops {
		area, length := w.g.measure(ps, l)
		if math.Abs(area) < thinnest*length {
			for _, k := range l {
				ps[k].dead = true
			}
			continue
		}
		// the result runs outside of the input where it grows, inside where it
		// shrinks
		for k := 0; k < len(l); k += 1 + len(l)/sideChecks {
			m := w.g.mid(&ps[l[k]])
			if (w.in.f.winding(m) > 0) != (w.d < 0) {
				w.fault = m
				return nil, false
			}
		}
		kept = append(kept, l)
	}
	return kept, w.checkMissing(ps, short)
}

// checkPieces verifies that both ends of every piece that stays lie at the
// distance r from the input; the middles were tested before.
func (w *offsetting) checkPieces(ps []piece) bool {
	lo, hi := w.r-offsetError, w.r+offsetError
	for i := range ps {
		p := &ps[i]
		if p.dead {
			continue
		}
		t := w.g.tag[p.curve]
		for k, q := range [2]Point{w.g.at[p.from], w.g.mid(p)} {
			if !q.Finite() || w.in.toSource(t, q) > hi {
				w.fault = q
				return false
			}
			if k == 0 && w.in.f.closer(q, t>>1, lo, lo) < lo {
				w.fault = q
				return false
			}
		}
	}
	return true
}

// toSource returns the distance from q to the part of the input from which a
// raw curve comes.
func (in *prepared) toSource(tag int32, q Point) float64 {
	c := &in.cs[tag>>1]
	if tag&1 == 1 {
		return c.A.Dist(q)
	}
	return c.dist(q)
}

// checkMissing looks at what was dropped: a point of it that lies on the true
// boundary must lie on the result.
func (w *offsetting) checkMissing(ps []piece, short []float32) bool {
	var f *field
	for i := range ps {
		if !ps[i].dead {
			continue
		}
		s := w.g.seg(&ps[i])
		if s.A == s.B {
			continue
		}
		for k, t := range [3]float64{0.5, 0.21, 0.83} {
			if k == 0 && short[i] > 0 {
				continue
			}
			q := s.At(t)
			if !w.isTrue(q, w.g.tag[ps[i].curve], s, t) {
				continue
			}
			if f == nil {
				f = w.result(ps)
			}
			if f.closer(q, -1, 2*offsetError, 0) > offsetError {
				w.fault = q
				return false
			}
		}
	}
	return true
}

// result indexes the pieces that stay.
func (w *offsetting) result(ps []piece) *field {
	var cs []curve
	for i := range ps {
		if !ps[i].dead {
			cs = append(cs, newCurve(w.g.seg(&ps[i])))
		}
	}
	return newField(cs)
}

// isTrue tells whether q, on a raw curve, is certainly on the true boundary: at
// the distance r, with material on one hand and none on the other.
func (w *offsetting) isTrue(q Point, tag int32, s Seg, t float64) bool {
	hint := tag >> 1
	if w.closer(q, hint, w.r-validSlack) < w.r-validSlack {
		return false
	}
	n := rotate(s.B.Sub(s.A).Unit(), (t-0.5)*s.Sweep()).Right()
	const h = neckProbe
	a, b := w.in.f.signed(q.Sub(n.Mul(h))), w.in.f.signed(q.Add(n.Mul(h)))
	return a <= w.d-h/5 && b >= w.d+h/5
}

// curvesOf prepares the edges of contours.
func curvesOf(cs []Contour) []curve {
	var out []curve
	for _, c := range cs {
		for i := range c {
			if s := c.Seg(i); s.A != s.B {
				out = appendCurves(out, s)
			}
		}
	}
	return out
}

// back moves loops from the local origin to their place.
func (in *prepared) back(cs []Contour) []Contour {
	for _, c := range cs {
		for i := range c {
			c[i].Point = c[i].Point.Add(in.org)
		}
	}
	return cs
}
