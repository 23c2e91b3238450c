package proof

import (
	"math"

	"sparclear/pkg/shop"
)

// The names of the bodies that turn with the spindle.
const (
	bodyCutter = "cutter"
	bodyShank  = "shank"
	bodyHolder = "holder"
)

// solid is one convex piece of a body of revolution in the half plane of radius
// and height above the tip: all points within round of the cylinder of the given
// radius between low and high, or a cone with its point at height 0.
type solid struct {
	name      string
	radius    float64 // mm, round not included
	low, high float64 // mm above the tip
	round     float64 // mm
	cone      bool    // radius grows from 0 at low to radius at high
}

// reach is the largest radius of the piece.
func (s solid) reach() float64 { return s.radius + s.round }

// dist returns the distance between the piece and the upright segment at
// radius r that spans the heights a ≤ b above the tip; 0 when they meet. It
// grows with r, since every piece is convex and holds the axis.
func (s solid) dist(r, a, b float64) float64 {
	if s.cone {
		return s.coneDist(r, a, b)
	}
	dr := math.Max(0, r-s.radius)
	dh := math.Max(0, math.Max(a-s.high, s.low-b))
	return math.Max(0, math.Sqrt(float64(dr*dr)+float64(dh*dh))-s.round)
}

func (s solid) coneDist(r, a, b float64) float64 {
	if b < a {
		b = a
	}
	if a > s.high {
		dr := math.Max(0, r-s.radius)
		return math.Hypot(dr, a-s.high)
	}
	if r <= 0 {
		return math.Max(0, s.low-b)
	}
	h := s.high - s.low
	if h <= 0 { // a point angle of 180°
		return math.Hypot(math.Max(0, r-s.radius), math.Max(0, s.low-b))
	}
	top := math.Min(b, s.high) // the best the segment can do within the cone's height
	if top-s.low >= r*h/s.radius {
		return 0
	}
	// Outside the slanted side: the nearest pair lies on it and on the segment.
	// Distance to the side grows as the point sinks, so its top end decides.
	t := (float64(r*s.radius) + float64((top-s.low)*h)) / (float64(s.radius*s.radius) + float64(h*h))
	t = math.Min(1, math.Max(0, t))
	return math.Hypot(r-float64(t*s.radius), top-s.low-float64(t*h))
}

// tool is a cutter in its holder as the proof sees it.
type tool struct {
	cutter shop.Cutter
	solids []solid
	reach  float64 // largest radius of all pieces
	height float64 // of the whole stack above the tip
	known  bool    // the holder's size is known
	collar []solid // what is wider than the cutter: it must stay above the work
}

// newTool stacks cutter, shank and holder. A shank of no stated size is taken as
// thick as the cutter; a stick-out of no stated size as the flute length, so
// that the holder sits as low as it can.
func newTool(c shop.Cutter, holder shop.Holder) tool {
	t := tool{cutter: c, known: len(holder) > 0 && c.StickOut > 0}
	r := c.Diameter / 2
	flute := c.FluteLength
	if flute <= 0 {
		flute = c.StickOut
	}
	point := 0.0 // height of the shaped end
	switch c.Kind {
	case shop.Ball:
		point = r
		t.solids = append(t.solids, solid{name: bodyCutter, low: r, high: r, round: r})
	case shop.BullNose:
		q := math.Min(math.Max(0, c.CornerRadius), r)
		point = q
		t.solids = append(t.solids, solid{name: bodyCutter, radius: r - q, low: q, high: q, round: q})
	case shop.Vee, shop.Drill:
		if c.PointAngle > 0 && c.PointAngle < math.Pi {
			point = r / math.Tan(c.PointAngle/2)
			t.solids = append(t.solids, solid{name: bodyCutter, radius: r, high: point, cone: true})
		}
	}
	flute = math.Max(flute, point)
	t.solids = append(t.solids, solid{name: bodyCutter, radius: r, low: point, high: flute})
	top := math.Max(c.StickOut, flute)
	if c.StickOut > 0 && c.StickOut < flute {
		top = c.StickOut // flutes that run up into the nut
	}
	if top > flute {
		shank := c.Shank / 2
		if shank <= 0 {
			shank = r
		}
		t.solids = append(t.solids, solid{name: bodyShank, radius: shank, low: flute, high: top})
	}
	for _, h := range holder {
		t.solids = append(t.solids, solid{name: bodyHolder, radius: h.Diameter / 2, low: top, high: top + h.Length})
		top += h.Length
	}
	for _, s := range t.solids {
		if s.name != bodyCutter && s.reach() > r+1e-9 {
			t.collar = append(t.collar, s)
		}
		t.reach = math.Max(t.reach, s.reach())
		t.height = math.Max(t.height, s.high+s.round)
	}
	return t
}

// profile returns the height of the cutter's surface above the tip at radius
// r ≤ R from the axis, mm.
func (t tool) profile(r float64) float64 {
	c := t.cutter
	R := c.Diameter / 2
	r = math.Min(r, R)
	switch c.Kind {
	case shop.Ball:
		return R - math.Sqrt(math.Max(0, float64(R*R)-float64(r*r)))
	case shop.BullNose:
		q := math.Min(math.Max(0, c.CornerRadius), R)
		if d := r - (R - q); d > 0 {
			return q - math.Sqrt(math.Max(0, float64(q*q)-float64(d*d)))
		}
	case shop.Vee, shop.Drill:
		if c.PointAngle > 0 && c.PointAngle < math.Pi {
			return r / math.Tan(c.PointAngle/2)
		}
	}
	return 0
}

// radiusAt returns the largest radius of the cutter up to h mm above the tip, 0
// below it.
func (t tool) radiusAt(h float64) float64 {
	c := t.cutter
	R := c.Diameter / 2
	if h < 0 {
		return 0
	}
	switch c.Kind {
	case shop.Ball:
		if h < R {
			return math.Sqrt(float64(h * (2*R - h)))
		}
	case shop.BullNose:
		q := math.Min(math.Max(0, c.CornerRadius), R)
		if h < q {
			return R - q + math.Sqrt(float64(h*(2*q-h)))
		}
	case shop.Vee, shop.Drill:
		if c.PointAngle > 0 && c.PointAngle < math.Pi {
			return math.Min(R, float64(h*math.Tan(c.PointAngle/2)))
		}
	}
	return R
}

// lift returns how much deeper than at its axis the cutter goes below a surface
// of slope s: the largest of s·r − profile(r), mm. 0 on level ground.
func (t tool) lift(s float64) float64 {
	c := t.cutter
	R := c.Diameter / 2
	switch c.Kind {
	case shop.Ball:
		return R * (math.Hypot(1, s) - 1)
	case shop.BullNose:
		q := math.Min(math.Max(0, c.CornerRadius), R)
		return float64(s*(R-q)) + float64(q*(math.Hypot(1, s)-1))
	case shop.Vee, shop.Drill:
		if c.PointAngle > 0 && c.PointAngle < math.Pi {
			return math.Max(0, R*(s-1/math.Tan(c.PointAngle/2)))
		}
	}
	return s * R
}
