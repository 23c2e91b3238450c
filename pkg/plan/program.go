package plan

import (
	"fmt"
	"math"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
)

// programs drapes the operations, in order, into programs.
func (p *planner) programs(seq []op) []toolpath.Program {
	w := p.w
	ws := p.workSkin()
	split := w.Machine.Controller.ToolChange == shop.ChangeFiles
	var out []toolpath.Program
	var cur *toolpath.Program
	cache := map[drapeKey]*draper{}
	for i := range seq {
		o := &seq[i]
		if !o.finite() {
			p.add(diag.Finding{Code: "number-not-finite", Severity: diag.Stop, Subject: w.Cuts[o.cut].Name, Cut: w.Cuts[o.cut].Name,
				Message: "the path of this cut holds a number that is not finite", Help: "simplify the outline"})
			return nil
		}
		if cur == nil || split && o.cutter != seq[i-1].cutter {
			out = append(out, toolpath.Program{SafeZ: w.SafeZ})
			cur = &out[len(out)-1]
			cur.Name = w.Name
			if split {
				cur.Name = fmt.Sprintf("%s-%02d-%s", w.Name, len(out), w.Cutters[o.cutter].Name)
			}
			if w.Title != "" {
				cur.Head = append(cur.Head, w.Title)
			}
		}
		key := drapeKey{o.cutter, o.base}
		d := cache[key]
		if d == nil {
			d = &draper{w: ws, cutter: &w.Cutters[o.cutter], base: o.base, safe: w.SafeZ, cache: map[geom.Seg][]piece{}}
			cache[key] = d
		}
		d.plunge, d.rise = w.Cuts[o.cut].Plunge, o.rise
		moves := d.moves(o)
		evenDown(moves, math.Tan(w.Cuts[o.cut].Ramp), gridStep(w.Machine.Controller))
		arcs := w.Machine.Controller.Arcs
		moves = joinedMoves(moves, arcs == shop.ArcCentre || arcs == "")
		gentle(moves, w.Cuts[o.cut].Plunge, w.Machine.FeedZ, gridStep(w.Machine.Controller))
		if d.over {
			j := &job{planner: p, c: &w.Cuts[o.cut]}
			j.sizeHolds(mostLegs + 1)
			return nil
		}
		if n := len(cur.Paths); n > 0 {
			if last := &cur.Paths[n-1]; last.Cut == w.Cuts[o.cut].Name && last.Op == o.name && last.Cutter == o.cutter && last.RPM == o.rpm {
				last.Moves = append(last.Moves, moves...)
				continue
			}
		}
		cur.Paths = append(cur.Paths, toolpath.Path{Cut: w.Cuts[o.cut].Name, Op: o.name, Cutter: o.cutter, RPM: o.rpm, Notes: o.notes, Moves: moves})
	}
	for i := range out {
		for _, q := range out[i].Paths {
			for _, m := range q.Moves {
				if !finite(m.X, m.Y, m.Z, m.Feed, m.Center.X, m.Center.Y) {
					p.add(diag.Finding{Code: "height-unknown", Severity: diag.Stop, Subject: q.Cut, Cut: q.Cut,
						Message: "the height of the skin is not known along this cut", Help: "touch more points around this cut"})
					return nil
				}
			}
		}
	}
	return out
}

// workSkin is what draping needs to know of the work.
func (p *planner) workSkin() *workSkin {
	w := p.w
	return &workSkin{height: w.Skin.Height, slope: w.Skin.Slope, bend: w.Skin.Bend, flat: w.Skin.Flat(), tol: w.HeightTol,
		top: func(b geom.Box) float64 {
			_, hi := w.Skin.Range(b)
			u, e := w.Skin.Error(b)
			return hi + float64(2*u) + e
		}}
}

// joinedMoves makes one move of two that go straight down in one place, and, where
// the controller takes arcs by their centre, of two half turns about one centre
// with one gradient.
func joinedMoves(moves []toolpath.Move, turns bool) []toolpath.Move {
	const same = 1e-9
	out := moves[:0]
	for _, m := range moves {
		n := len(out)
		if n < 2 || m.Kind != out[n-1].Kind || m.Feed != out[n-1].Feed {
			out = append(out, m)
			continue
		}
		last, from := &out[n-1], out[n-2]
		stays := m.X == from.X && m.Y == from.Y
		switch stood := last.X == from.X && last.Y == from.Y; {
		case m.Kind == toolpath.Line && stays && stood && m.Z < last.Z && last.Z < from.Z:
			*last = m
		case turns && m.Kind == toolpath.Arc && stays && !stood && last.CCW == m.CCW && last.Center.Dist(m.Center) <= same &&
			math.Abs((m.Z-last.Z)-(last.Z-from.Z)) <= same:
			*last = m
		default:
			out = append(out, m)
		}
	}
	return out
}

type drapeKey struct {
	cutter int
	base   base
}

func sortedKeys(m map[string]float64) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

func sortFloats(v []float64) { sort.Float64s(v) }
