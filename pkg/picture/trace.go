package picture

import (
	"fmt"
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
)

// run is one program read back, with what pictures need of every move.
type run struct {
	file  string
	moves []step
	play  *rs274.Replay
}

// step is one move in the plane with its depth below the local skin at both ends.
type step struct {
	seg        geom.Seg
	rapid      bool
	cutter     int     // index into Work.Cutters, -1 unknown
	from, to   float64 // depth below the skin, mm; negative above it
	z0, z1     float64
	line, feed float64
	whole      bool // a full turn: seg's ends meet
	center     geom.Point
	ccw        bool
}

// runs reads the programs of a scene back. Pictures show the text, not the plan.
func (s Scene) runs() ([]run, error) {
	var out []run
	for _, p := range s.Programs {
		replay, l := rs274.Read(p.File, p.Text, rs274.Options{})
		if l.Blocks() {
			return nil, fmt.Errorf("%s cannot be read back: %w", p.File, l.Sorted()[len(l)-1])
		}
		r := run{file: p.File, play: replay}
		for _, m := range replay.Moves {
			r.moves = append(r.moves, s.step(m, replay.States[m.State]))
		}
		out = append(out, r)
	}
	return out, nil
}

func (s Scene) step(m rs274.Move, st rs274.State) step {
	a, b := geom.Pt(m.From[0], m.From[1]), geom.Pt(m.To[0], m.To[1])
	out := step{seg: geom.Line(a, b), rapid: m.Motion == rs274.Rapid, cutter: s.cutterOf(st),
		from: s.Work.Skin.Height(a) - m.From[2], to: s.Work.Skin.Height(b) - m.To[2],
		z0: m.From[2], z1: m.To[2], line: float64(m.Line), feed: m.Feed}
	if (m.Motion == rs274.ArcCW || m.Motion == rs274.ArcCCW) && m.Plane == rs274.XY {
		out.center, out.ccw = geom.Pt(m.Center[0], m.Center[1]), m.Motion == rs274.ArcCCW
		if a == b {
			out.whole = true
		} else {
			out.seg = geom.ArcThrough(a, b, out.center, out.ccw)
		}
	}
	return out
}

// cutterOf tells which cutter is in the spindle: the one changed to by M6, or
// the last one named where the controller changes by hand.
func (s Scene) cutterOf(st rs274.State) int {
	number := st.Tool
	if s.Work.Machine.Controller.ToolChange != shop.ChangeWord {
		number = st.Selected
	}
	for i, c := range s.Work.Cutters {
		if c.Number == number {
			return i
		}
	}
	return -1
}

// segs returns the move as segments of less than a whole turn.
func (t step) segs() []geom.Seg {
	if !t.whole {
		return []geom.Seg{t.seg}
	}
	far := t.center.Mul(2).Sub(t.seg.A)
	b := 1.0
	if !t.ccw {
		b = -1
	}
	return []geom.Seg{{A: t.seg.A, B: far, Bulge: b}, {A: far, B: t.seg.A, Bulge: b}}
}

func (t step) deepest() float64 { return math.Max(t.from, t.to) }

// window is the part of the machine that a plan view shows: cuts, moves and
// datums, with what stands near.
func (s Scene) window(rs []run) geom.Box {
	b := geom.EmptyBox()
	for _, c := range s.Work.Cuts {
		for _, g := range c.Regions {
			b = b.Union(g.Bounds())
		}
		for _, ch := range c.Chains {
			b = b.Union(ch.Bounds())
		}
		for _, p := range c.Points {
			b = b.Extend(p)
		}
	}
	for _, r := range rs {
		for _, m := range r.moves {
			if !m.rapid {
				for _, e := range m.segs() {
					b = b.Union(e.Bounds())
				}
			}
		}
	}
	if s.Work.Sheet {
		for _, g := range s.Work.Stock {
			b = b.Union(g.Bounds())
		}
	}
	return b.Grow(math.Max(4, 0.12*math.Max(b.Size().X, b.Size().Y)))
}

// radiusOf returns the radius of a cutter, 0 when unknown.
func radiusOf(cs []shop.Cutter, i int) float64 {
	if i < 0 || i >= len(cs) {
		return 0
	}
	return cs[i].Radius()
}
