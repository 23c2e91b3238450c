package nest

import (
	"context"
	"math"
	"math/rand/v2"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// StripLayout is the result of Strip.
type StripLayout struct {
	Height  float64 // of the strip, mm
	Length  float64 // that the parts take, mm
	Density float64 // area of the parts by Height times Length, 0…1
	// Placements have Piece 0; the strip runs from the origin along +X.
	Placements []Placement
	Tried      int64
	Stopped    bool
}

// exploreShare is the part of the budget that goes into finding new arrangements;
// the rest presses the best one together (Gardeyn et al. 2025).
const exploreShare = 0.8

// Strip places all copies on a strip of the given height, mm, as short as the
// budget allows, and verifies the result; there is no margin. The right end is
// that of the rightmost part. Locked copies and fillers are not for strips.
func Strip(ctx context.Context, parts []Part, height float64, o Options) (*StripLayout, diag.List) {
	out := checkStrip(parts, height, o)
	if out.Blocks() {
		return nil, out
	}
	if o.Budget == 0 && o.Time == 0 {
		o.Budget = DefaultBudget
	}
	p := &problem{bins: []bin{{y1: stripRoom(height)}}}
	var shapes []*shape
	outs := make([]outlines, len(parts))
	room := roomsOf(parts, o.Spacing)
	area := 0.0
	for i, part := range parts {
		if part.Quantity == 0 {
			continue
		}
		var choice []int32
		outs[i] = ready(room.with(part.Region), o.Spacing/2, maxPoles)
		for _, s := range shapesOf(i, part, outs[i], 0, 0) {
			choice = append(choice, int32(len(shapes)))
			shapes = append(shapes, s)
		}
		size := shapes[choice[0]].lambda
		for k := 0; k < part.Quantity; k++ {
			p.items = append(p.items, item{part: i, copy: k, choices: [][]int32{choice}, size: float64(size * size)})
			area += part.Region.Area()
		}
	}
	if len(p.items) == 0 {
		return nil, append(out, bad("no-parts", "", "there is nothing to place", "name at least one part"))
	}
	p.cat = newCatalog(shapes, nil)
	s := newSearch(p, o.Seed, o.Workers, newClock(ctx, o))
	t := &strip{search: s}
	t.report = func(phase string, l float64) {
		if o.Progress != nil {
			o.Progress(Progress{Phase: phase, Done: t.done(), Sheets: 1, Use: area / (height * l), Tried: t.tried})
		}
	}
	if t.tile(area/height, height) {
		return t.layout(parts, height, area, o, out)
	}
	if !t.start(area / height) {
		return nil, append(out, diag.Finding{Code: "no-room", Severity: diag.Stop,
			Message: "no layout without overlaps was found in the time given", Help: "give the search more time"})
	}
	if f := (&finer{parts, outs, []float64{0}}); f.wanted(p.items) {
		t.shorten(exploreShare*finerFrom, finerFrom)
		t.refine(f)
	} else {
		t.onRaster(height, area, o.Spacing)
		t.shorten(exploreShare, 1)
	}
	t.slide()
	if s := t.touching; s != nil && float64(float64(s.width)*s.step) < t.best.len {
		frames, length := s.placed(t.problem)
		if r, wrong := t.verified(parts, frames, height, length, area, o); !wrong.Blocks() {
			return r, out
		}
	}
	return t.layout(parts, height, area, o, out)
}

// checkStrip looks at the rules before anything is searched.
func checkStrip(parts []Part, height float64, o Options) diag.List {
	s := Sheet{Name: "strip", Region: geom.Region{Outer: geom.Rect(0, 0, 1e5, height)}, Quantity: 1}
	out := check(parts, []Sheet{s}, o)
	copies := 0
	for _, p := range parts {
		if p.Quantity == Fill || len(p.Locked) > 0 {
			out.Add(bad("strip-rule", p.Name, "fillers and copies laid by hand have no place on a strip", "nest on a sheet"))
		}
		copies += max(0, p.Quantity)
		if out.Blocks() {
			continue
		}
		least := math.Inf(1)
		for _, sh := range shapesOf(0, p, ready(p.Region, o.Spacing/2, 1), 0, 0) {
			least = math.Min(least, float64(2*sh.hh))
		}
		if least > stripRoom(height) {
			out.Add(bad("part-too-large", p.Name, "the part is higher than the strip in every allowed turn", "use a higher strip or allow more turns").With(least, height, "mm"))
		}
	}
	if copies > mostStrip {
		out.Add(bad("too-many-copies", "", "more copies are asked for than one strip can hold", "split the job").With(float64(copies), mostStrip, "copies"))
	}
	return out
}

// mostStrip bounds the memory of the guided search, which grows with the square.
const mostStrip = 2000

// edgeSlack is how far a part may reach over the edge of the strip, which it may
// touch, as a share of the strip's size: what rounding does there is allowed.
const edgeSlack = 1e-9

// stripRoom is the height that the search works with. Parts that together are just
// as high as the strip would touch, and one as high as the strip may be higher by
// rounding: they are given most of what layout allows at the edge.
func stripRoom(height float64) float64 { return height + float64(0.8*edgeSlack*height) }

// layout turns the state into the result, verified.
func (t *strip) layout(parts []Part, height, area float64, o Options, out diag.List) (*StripLayout, diag.List) {
	var frames []geom.Rigid
	length := 0.0
	for i := range t.items {
		sh := t.cat.shapes[t.cur.v[i]]
		f := sh.frame
		f.Shift = f.Shift.Add(geom.Pt(t.cur.x[i], t.cur.y[i]))
		length = math.Max(length, t.cur.x[i]+sh.hw)
		frames = append(frames, f)
	}
	r, wrong := t.verified(parts, frames, height, length, area, o)
	if wrong.Blocks() {
		return nil, append(out, wrong...)
	}
	return r, out
}

// verified makes a result of the frames of all items and verifies it.
func (t *strip) verified(parts []Part, frames []geom.Rigid, height, length, area float64, o Options) (*StripLayout, diag.List) {
	r := &StripLayout{Height: height, Length: length, Density: area / float64(height*length), Tried: t.tried, Stopped: t.stopped}
	for i, it := range t.items {
		r.Placements = append(r.Placements, Placement{Part: it.part, Copy: it.copy, Frame: frames[i]})
	}
	slack := float64(edgeSlack * math.Max(height, length))
	sheet := Sheet{Name: "strip", Quantity: 1, Region: geom.Region{Outer: geom.Rect(-slack, -slack, length+slack, height+slack)}}
	return r, Verify(parts, []Sheet{sheet}, &Layout{Placements: r.Placements, Used: []Used{{}}}, o)
}

// start finds a first feasible state from a random one, on a strip that is
// lengthened until that works.
func (t *strip) start(need float64) bool {
	l := math.Max(t.widest(t.last), need/0.7)
	rnd := rand.New(rand.NewPCG(t.seed, 253))
	b := &t.bins[t.last]
	for try := 0; try < 40; try++ {
		b.x1 = b.x0 + l
		w := t.workers[0]
		w.rnd = rnd
		for i := range t.items {
			t.cur.bin[i] = int32(t.last)
			w.state.bin[i] = int32(t.last)
			for {
				if c, ok := w.anywhere(i); ok {
					t.cur.set(t.problem, i, c)
					break
				}
			}
		}
		w.rnd = rand.New(w.src)
		if t.separate(2, 100, 1) {
			return true
		}
		l *= 1.1
	}
	return false
}
