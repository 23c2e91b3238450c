package geom

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// Sweep returns the region within r mm of the chain: what a cutter of radius r
// removes when its centre runs along it. Ends are round. The chain may cross or
// touch itself or be closed. A chain of one point gives a disc; an empty one, or
// r = 0, gives nothing. Errors are those of Region.Offset, and
// "offset-not-finite" for a radius that is negative or not finite.
func (c Chain) Sweep(r float64) ([]Region, error) {
	if !(r >= 0) || math.IsInf(r, 0) {
		return nil, diag.Finding{Code: "offset-not-finite", Severity: diag.Stop,
			Message: fmt.Sprintf("a chain cannot be widened by a radius of %g mm", r)}
	}
	if len(c) == 0 || r == 0 {
		return nil, nil
	}
	in, err := prepareChain(c)
	if err != nil {
		return nil, err
	}
	if len(in.cs) == 0 {
		return []Region{{Outer: Circle(c[0].Point, r)}}, nil
	}
	loops, _, err := in.offset(r)
	if err != nil {
		return nil, err
	}
	return nestLoops(loops), nil
}

// Parallel returns the lines at the distance |d| mm to one side of the chain:
// right of the direction of travel for d > 0, left for d < 0, run in the same
// direction. Where a part of the chain is nearer than |d| the parallel is cut
// short, so there may be several, in no particular order, or none. Corners that
// turn away get arcs. d = 0 returns the chain. Errors are those of
// Region.Offset.
func (c Chain) Parallel(d float64) ([]Chain, error) {
	if d == 0 || len(c) < 2 {
		return []Chain{append(Chain(nil), c...)}, nil
	}
	if math.IsNaN(d) || math.IsInf(d, 0) {
		return nil, notFinite()
	}
	in, err := prepareChain(c)
	if err != nil || len(in.cs) == 0 {
		return nil, err
	}
	var out []Chain
	half := int32(len(in.cs) / 2)
	_, err = in.attempts(math.Abs(d), func(w *offsetting) bool {
		out = out[:0]
		loops, ps, ok := w.loops()
		if !ok {
			return false
		}
		side := func(k int32) bool {
			t := w.g.tag[ps[k].curve]
			i := t >> 1
			if t&1 == 1 && (i == 0 || i == half) {
				return false // a cap at an end
			}
			return (i < half) == (d > 0)
		}
		for _, l := range loops {
			for _, run := range runsOf(l, side) {
				ch := w.g.chain(ps, run)
				if d < 0 {
					ch = ch.Reverse()
				}
				out = append(out, ch)
			}
		}
		return true
	})
	if err != nil {
		return nil, err
	}
	for _, ch := range out {
		for i := range ch {
			ch[i].Point = ch[i].Point.Add(in.org)
		}
	}
	return out, nil
}

// runsOf returns the longest runs of a closed list that pass the test.
func runsOf(l []int32, ok func(int32) bool) [][]int32 {
	n := len(l)
	first := -1
	for i := range l {
		if !ok(l[i]) {
			first = i
			break
		}
	}
	if first < 0 {
		return [][]int32{l}
	}
	var out [][]int32
	var run []int32
	for k := 1; k <= n; k++ {
		if i := l[(first+k)%n]; ok(i) {
			run = append(run, i)
			continue
		}
		if len(run) > 0 {
			out = append(out, run)
			run = nil
		}
	}
	return out
}

// prepareChain prepares a chain as a contour of no width, there and back.
func prepareChain(c Chain) (*prepared, error) {
	in := &prepared{}
	box, err := boundsOf([]Contour{Contour(c)})
	if err != nil || box.Empty() {
		return in, err
	}
	in.org = box.Center()
	var t Chain
	for _, v := range c {
		v.Point = v.Point.Sub(in.org)
		if n := len(t); n > 0 && short(t[n-1], v) {
			t[n-1].Bulge = v.Bulge
			continue
		}
		t = append(t, v)
	}
	for i := 0; i+1 < len(t); i++ {
		in.cs = appendCurves(in.cs, t.Seg(i))
		for len(in.group) < len(in.cs) {
			in.group = append(in.group, int32(i))
		}
	}
	n := len(in.cs)
	for i := n - 1; i >= 0; i-- {
		in.cs = append(in.cs, in.cs[i].reverse())
		in.group = append(in.group, int32(2*n)-1-in.group[i])
	}
	in.starts = []int32{0}
	if n == 0 {
		in.starts = nil
	}
	in.f = newField(in.cs)
	return in, nil
}
