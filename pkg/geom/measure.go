package geom

import (
	"math"
	"slices"
)

// Moments are the area of a region, its centre and its second moments about
// that centre, along X and Y.
type Moments struct {
	Area   float64 // mm²
	Center Point   // centroid, mm
	XX     float64 // ∫ (x-cx)² dA, mm⁴
	YY     float64 // ∫ (y-cy)² dA, mm⁴
	XY     float64 // ∫ (x-cx)(y-cy) dA, mm⁴
}

// Moments returns area, centroid and second moments, arcs exact to rounding. A
// region without area gives the centre of its box and zeros.
func (g Region) Moments() Moments {
	o := g.Bounds().Center()
	var m Moments
	if len(g.Outer) == 0 {
		return m
	}
	var sx, sy float64
	for _, c := range g.Contours() {
		for i := range c {
			s := c.Seg(i)
			parts := 1 + int(math.Abs(s.Sweep())/(math.Pi/2))
			for k := range parts {
				for j, u := range gaussNodes {
					t := (float64(k) + u) / float64(parts)
					w := gaussWeights[j] / float64(parts) * s.Length()
					p := s.At(t).Sub(o)
					d := rotate(s.B.Sub(s.A).Unit(), (t-0.5)*s.Sweep())
					dx, dy := d.X*w, d.Y*w
					// Green's theorem for each of the integrals
					m.Area += (float64(p.X*dy) - float64(p.Y*dx)) / 2
					sx += p.X * p.X * dy / 2
					sy -= p.Y * p.Y * dx / 2
					m.XX += p.X * p.X * p.X * dy / 3
					m.YY -= p.Y * p.Y * p.Y * dx / 3
					m.XY += p.X * p.X * p.Y * dy / 2
				}
			}
		}
	}
	if m.Area == 0 {
		return Moments{Center: o}
	}
	cx, cy := sx/m.Area, sy/m.Area
	m.XX -= float64(m.Area * cx * cx)
	m.YY -= float64(m.Area * cy * cy)
	m.XY -= float64(m.Area * cx * cy)
	m.Center = Point{o.X + cx, o.Y + cy}
	return m
}

// Centroid returns the centre of area; see Moments.
func (g Region) Centroid() Point { return g.Moments().Center }

// Nodes and weights of Gauss and Legendre on [0, 1], 10 points: exact for
// straight edges, and to rounding for arcs of a quarter turn (Abramowitz and
// Stegun, Handbook of Mathematical Functions, 1964, table 25.4).
var gaussNodes, gaussWeights = gauss()

func gauss() (x, w [10]float64) {
	h := [5]float64{0.1488743389816312, 0.4333953941292472, 0.6794095682990244, 0.8650633666889845, 0.9739065285171717}
	v := [5]float64{0.2955242247147529, 0.2692667193099963, 0.2190863625159821, 0.1494513491505806, 0.0666713443086881}
	for i := range h {
		x[2*i], x[2*i+1] = (1-h[i])/2, (1+h[i])/2
		w[2*i], w[2*i+1] = v[i]/2, v[i]/2
	}
	return x, w
}

// SmallestInsideRadius returns the radius, mm, of the tightest inside corner of
// the region and its place: what a cutter that works inside must not exceed to
// reach everywhere. A sharp corner gives 0. Corners that turn by less than
// smooth rad belong to a curve drawn in short lines and do not count. +Inf when
// nothing turns inwards.
func (g Region) SmallestInsideRadius(smooth float64) (r float64, at Point) {
	r = math.Inf(1)
	for _, c := range g.Contours() {
		for i := range c {
			s := c.Seg(i)
			if s.Bulge > 0 {
				if k := s.Radius(); k < r {
					r, at = k, s.Mid()
				}
			}
			u, v := s.TangentB(), c.Seg((i+1)%len(c)).TangentA()
			if math.Atan2(u.Cross(v), u.Dot(v)) > math.Max(smooth, 1e-9) {
				return 0, s.B
			}
		}
	}
	return r, at
}

// InscribedCircle returns the largest circle that fits into the region, its
// radius within 1e-5 mm below the true one; r = 0 when the region has no area
// or its offsets cannot be computed. Where several places do, one of them.
// Method: the largest inward offset that leaves something.
func (g Region) InscribedCircle() (center Point, r float64) {
	o, err := NewOffsetter(g)
	if err != nil {
		return Point{}, 0
	}
	s := g.Bounds().Size()
	lo, hi := 0.0, math.Min(s.X, s.Y)/2+1e-6
	for hi-lo > 5e-6 {
		m := (lo + hi) / 2
		left, err := o.Offset(-m, 0)
		if err != nil || len(left) == 0 {
			hi = m
			continue
		}
		lo, center = m, left[0].Bounds().Center()
		// any point of what is left is as good as the radius says; its middle,
		// where it lies inside, is better
		if f := o.in.f; f.signed(center.Sub(o.in.org)) > -m {
			center = left[0].Outer[0].Point
		}
	}
	return center, lo
}

// Neck returns the narrowest place of the material: its width, mm, and the two
// boundary points that face each other across it, so that the disc between them
// touches nothing else. A region without a waist gives the diameter of its
// largest inscribed circle and p = q. O(n) tree searches.
func (g Region) Neck() (width float64, p, q Point) {
	c, r := g.InscribedCircle()
	width, p, q = 2*r, c, c
	f := newField(curvesOf(g.Contours()))
	for i := range f.cs {
		a := &f.cs[i]
		f.each(f.ebox[i].Grow(width), func(k int32) bool {
			if int(k) <= i {
				return true
			}
			x, y, d := facing(a, &f.cs[k])
			if d <= offsetError || d >= width {
				return true
			}
			m := x.Lerp(y, 0.5)
			if f.winding(m) > 0 && f.closer(m, k, d/2-offsetError, 0) >= d/2-offsetError {
				width, p, q = d, x, y
			}
			return true
		})
	}
	return width, p, q
}

// facing returns the nearest points of two curves and their distance.
func facing(a, b *curve) (p, q Point, d float64) {
	d = math.Inf(1)
	try := func(x Point, c *curve, swap bool) {
		y := c.nearest(x)
		if e := x.Dist(y); e < d {
			d, p, q = e, x, y
			if swap {
				p, q = y, x
			}
		}
	}
	for _, x := range [2]Point{a.A, a.B} {
		try(x, b, false)
	}
	for _, x := range [2]Point{b.A, b.B} {
		try(x, a, true)
	}
	if a.R != 0 {
		cen := a.A.Add(a.C)
		try(a.nearest(b.nearest(cen)), b, false)
	}
	if b.R != 0 {
		cen := b.A.Add(b.C)
		try(b.nearest(a.nearest(cen)), a, true)
	}
	return p, q, d
}

// ConvexHull returns the convex hull of contours as a straight-sided
// counter-clockwise contour that holds them and leaves their true hull by at
// most tol mm where arcs are part of it (tol under 1e-6 counts as 1e-6). Empty
// when there is no point.
func ConvexHull(tol float64, cs ...Contour) Contour {
	tol = math.Max(tol, offsetError)
	var ps []Point
	for _, c := range cs {
		for i := range c {
			s := c.Seg(i)
			ps = append(ps, s.A)
			if s.Bulge == 0 {
				continue
			}
			// tangents at n+1 places; their corners stand r (1/cos(φ/2n) - 1) off
			r, sweep := s.Radius(), s.Sweep()
			n := 1 + int(math.Abs(sweep)/(2*math.Acos(r/(r+tol))))
			n = min(n, 1<<16)
			step := sweep / float64(n)
			cen := s.Center()
			k := 1 / math.Cos(step/2)
			for j := range n {
				v := rotate(s.A.Sub(cen), (float64(j)+0.5)*step)
				ps = append(ps, cen.Add(v.Mul(k)))
			}
		}
	}
	slices.SortFunc(ps, comparePoints)
	ps = slices.Compact(ps)
	if len(ps) < 3 {
		return Polygon(ps...)
	}
	var hull []Point // monotone chain: lower side, then upper side
	for pass := range 2 {
		base := len(hull)
		for i := range ps {
			p := ps[i]
			if pass == 1 {
				p = ps[len(ps)-1-i]
			}
			for len(hull) >= base+2 && hull[len(hull)-1].Sub(hull[len(hull)-2]).Cross(p.Sub(hull[len(hull)-2])) <= 0 {
				hull = hull[:len(hull)-1]
			}
			hull = append(hull, p)
		}
		hull = hull[:len(hull)-1] // the other side begins with it
	}
	return Polygon(hull...)
}

// MinAreaBox returns the rectangle of least area around contours: its size with
// the longer side first, and the transform that brings them into the box with
// corners (0, 0) and size. Where arcs are part of the hull it is within tol mm,
// and never too small. Method: Freeman and Shapira, Determining the
// minimum-area encasing rectangle for an arbitrary closed curve, 1975: one side
// of it lies on a side of the hull.
func MinAreaBox(tol float64, cs ...Contour) (size Point, to Rigid) {
	h := ConvexHull(tol, cs...)
	best := math.Inf(1)
	for i := range h {
		s := h.Seg(i)
		if s.A == s.B {
			continue
		}
		t := Rigid{Turn: -s.TangentA().Angle()}
		b := h.Transform(t).Bounds()
		z := b.Size()
		if a := z.X * z.Y; a < best {
			best = a
			size = z
			t.Shift = b.Min.Mul(-1)
			to = t
		}
	}
	if size.Y > size.X { // lay the longer side along X
		to = to.Then(Rigid{Turn: -math.Pi / 2, Shift: Pt(0, size.X)})
		size.X, size.Y = size.Y, size.X
	}
	return size, to
}
