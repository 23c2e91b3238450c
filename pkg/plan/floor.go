package plan

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// floor is what an earlier cut of the same piece has cleared for certain: the
// floor of a pocket, a rebate or a drawn slot. What is cut on it begins there and
// not at the skin, where the cutter would only cut air.
type floor struct {
	core   []geom.Region // where the centre of that cutter goes
	r      float64       // radius of that cutter, mm
	box    geom.Box      // of the whole cut
	rank   int           // of the operation
	bottom float64       // of the cut, from its base, mm
	depth  float64       // below the skin everywhere on the floor, at least, mm
}

// floorShy is how far within a floor what begins on it must lie, mm: more than
// offsets and coordinates are off.
const floorShy = 0.01

// floors lists what is cleared before an operation of the given rank that goes as
// deep as this cut: the same order that precedes keeps.
func (j *job) floors(rank int) []*floor {
	if j.floorOf == nil {
		j.floorOf = make([]*floor, len(j.w.Cuts))
		for i := range j.w.Cuts {
			j.floorOf[i] = j.floorLeft(i)
		}
	}
	var out []*floor
	box := j.bounds(0)
	for i, f := range j.floorOf {
		if f == nil || i == j.index || j.w.Cuts[i].Part != j.c.Part || !f.box.Overlaps(box) {
			continue
		}
		if f.rank < rank || f.rank == rank && (f.bottom < j.d.bottom-1e-6 || f.bottom <= j.d.bottom+1e-6 && i < j.index) {
			out = append(out, f)
		}
	}
	return out
}

// floorLeft is the floor that cut i leaves, nil for none: only flat cutters leave
// one, and along a ledge it is as wide as the ledge.
func (p *planner) floorLeft(i int) *floor {
	a := &job{planner: &planner{ctx: p.ctx, w: p.w}, index: i, c: &p.w.Cuts[i]} // what it finds is told when its turn comes
	rank, ok := areaRank(a.c)
	if !ok || a.c.Through || !a.numbersHold() {
		return nil
	}
	a.cutter = &p.w.Cutters[a.c.Cutter]
	a.r = a.cutter.Radius()
	if !a.cutterHolds() || tipLength(a.cutter) > 0 || !a.settleDepths() {
		return nil
	}
	f := &floor{r: a.r, rank: rank, box: a.bounds(0), bottom: a.d.bottom, depth: a.d.bottom - a.d.spread}
	if !p.w.Skin.Flat() {
		f.depth -= 2 * p.w.HeightTol
	}
	for _, g := range a.c.Regions {
		f.core = append(f.core, a.centres(g)...)
	}
	if len(f.core) == 0 || f.depth <= 0 {
		return nil
	}
	return f
}

// areaRank is the rank of a cut that clears drawn areas down to its depth.
func areaRank(c *work.Cut) (int, bool) {
	switch {
	case c.Kind == work.Pocket:
		return rankPocket, true
	case c.Kind == work.Rebate:
		return rankRebate, true
	case c.Kind == work.Slot && len(c.Chains) == 0:
		return rankSlot, true
	}
	return 0, false
}

// centres is where the centre of the cutter goes when it clears g.
func (j *job) centres(g geom.Region) []geom.Region {
	in, err := g.Offset(-j.r, j.offsetTol())
	wide := j.option("ledge", 0)
	if err != nil || j.c.Kind != work.Rebate || wide <= 0 {
		return in
	}
	past, err := g.Offset(-(wide - j.r), j.offsetTol())
	if err != nil || wide <= 2*j.r {
		return nil
	}
	if in, err = geom.Subtract(in, past); err != nil {
		return nil
	}
	return in
}

// onFloor is the cut begun at the deepest of the floors that hold what is asked
// about them, unless that leaves nothing of it.
func (j *job) onFloor(fs []*floor, holds func(*floor) bool) *job {
	deep := 0.0
	for _, f := range fs {
		if f.depth > deep && f.depth < j.d.bottom+j.d.spread-hair && holds(f) {
			deep = f.depth
		}
	}
	if deep == 0 {
		return j
	}
	k := *j
	k.d.floor = deep
	return &k
}

// underPath tells whether a cutter of radius r, its centre on c, stays on the floor.
func (f *floor) underPath(segs []geom.Seg, r float64) bool {
	for _, s := range segs {
		if !f.underSeg(s, r, 0) {
			return false
		}
	}
	return len(segs) > 0
}

// underSeg halves a segment until the distance of its middle tells of all of it.
func (f *floor) underSeg(s geom.Seg, r float64, level int) bool {
	room := f.r - r - floorShy - f.out(s.Mid())
	if half := s.Length() / 2; room >= half {
		return true
	} else if room < 0 || level == 24 {
		return false
	}
	return f.underSeg(part(s, 0, 0.5), r, level+1) && f.underSeg(part(s, 0.5, 1), r, level+1)
}

// out is how far q lies outside of where the centre went, negative inside.
func (f *floor) out(q geom.Point) float64 {
	d := math.Inf(1)
	for _, g := range f.core {
		d = math.Min(d, g.SignedDist(q))
	}
	return d
}

// underAll tells whether everything that a cutter of radius r sweeps within the
// centre paths cs, which have the kept side on the right, lies on the floor.
func (f *floor) underAll(cs []geom.Contour, r float64) bool {
	for _, c := range cs {
		if !f.underPath(c.Segs(), r) {
			return false
		}
	}
	for _, g := range f.core { // nothing stands within
		for _, h := range g.Holes {
			w := 0
			for _, c := range cs {
				w += c.Winding(h[0].Point)
			}
			if w > 0 {
				return false
			}
		}
	}
	return true
}

// layers tells what is run at the depth of each pass: the whole pocket, or what an
// earlier cut that reaches into it has not cleared that deep already. The pieces
// left overlap what is cleared by the diameter of the cutter: a cutter that stands
// anywhere in the pocket and touches material then stands all in one of them, so that
// nothing that it could reach is left. A finish pass and ledges take the whole.
func (j *job) layers(g geom.Region, whole *clearing, passes []float64, fs []*floor, wide float64) ([][]*clearing, bool) {
	out := make([][]*clearing, len(passes))
	var before []*floor
	var pieces []*clearing
	for n, d := range passes {
		out[n] = []*clearing{whole}
		if wide > 0 || j.c.Finish > 0 && n == len(passes)-1 {
			continue
		}
		var air []*floor
		for _, f := range fs {
			if f.depth-j.d.spread >= d-hair {
				air = append(air, f)
			}
		}
		if len(air) == 0 {
			continue
		}
		if n == 0 || len(air) != len(before) { // as the passes go deeper, floors only drop out
			var ok bool
			if pieces, ok = j.remains(g, whole, air); !ok {
				return nil, false
			}
		}
		before = air
		if pieces != nil {
			out[n] = pieces
		}
	}
	return out, true
}

// remains makes what is left of g beside the floors: nil when it is not worth it,
// empty when nothing is left.
func (j *job) remains(g geom.Region, whole *clearing, air []*floor) ([]*clearing, bool) {
	left := []geom.Region{g}
	for _, f := range air {
		for _, core := range f.core {
			in, err := core.Offset(f.r-j.cutter.Diameter-j.c.Finish-floorShy, j.offsetTol())
			if err != nil {
				continue // then all of it is cut, be it in the air
			}
			if less, err := geom.Subtract(left, in); err == nil {
				left = less
			}
		}
	}
	area := g.Area()
	for _, h := range left {
		area -= h.Area()
	}
	if area < 4*j.cutter.Diameter*j.cutter.Diameter {
		return nil, true
	}
	out := []*clearing{}
	for _, h := range left {
		levels, ok := j.levels(h, whole.step, 0)
		if !ok {
			return nil, false
		}
		if len(levels) == 0 {
			continue // narrower than the cutter: it is reached from beside, or not at all
		}
		if j.c.Finish == 0 {
			strike(levels, whole.edges)
		}
		var rings []geom.Contour
		for _, r := range levels[0].rings {
			rings = append(rings, r.c)
		}
		out = append(out, &clearing{job: j, levels: levels, step: whole.step, edges: whole.edges, room: newNearness(rings)})
	}
	return out, true
}

// overFloor is the cut of one contour begun at the deepest floor under all of its
// path, the way in included.
func (j *job) overFloor(e edge, rank int) *job {
	fs := j.floors(rank)
	if len(fs) == 0 {
		return j
	}
	t := j.startTrack(e.rough, j.c.Climb)
	path := append(e.rough.Segs(), e.final.Segs()...)
	path = append(path, j.leadIn(&t, e)...)
	return j.onFloor(fs, func(f *floor) bool { return f.underPath(path, j.r) })
}
