package picture

import (
	"fmt"
	"math"
	"strings"

	"sparclear/pkg/geom"
	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// run is one program read back, with what pictures need of every move.
type run struct {
	file  string
	moves []step
	play  *rs274.Replay
	times rs274.Times
}

// step is one move in the plane with its depth below the local skin at both ends.
type step struct {
	seg      geom.Seg
	rapid    bool
	cutter   int     // index into Work.Cutters, -1 unknown
	from, to float64 // depth below the skin, mm; negative above it
	z0, z1   float64
	line     int
	whole    bool // a full turn: seg's ends meet
	center   geom.Point
	ccw      bool
	cut      string // name of the cut that it belongs to, "" unknown
}

// runs reads the programs of a scene back. Pictures show the text, not the plan.
func (s Scene) runs() ([]run, error) {
	var out []run
	for _, p := range s.Programs {
		replay, l := rs274.Read(p.File, p.Text, proof.ReadOptions(s.Work))
		if l.Blocks() {
			return nil, fmt.Errorf("%s cannot be read back: %w", p.File, l.Sorted()[len(l)-1])
		}
		r := run{file: p.File, play: replay, times: rs274.TimesOf(replay, s.Work.Machine)}
		names, cut := s.headings(replay), ""
		for i, m := range replay.Moves {
			for len(names) > 0 && int(names[0].before) <= i {
				cut, names = names[0].cut, names[1:]
			}
			st := s.step(m, replay.States[m.State])
			if st.cut = cut; cut == "" && !st.rapid {
				st.cut = s.cutAt(st.seg.A)
			}
			r.moves = append(r.moves, st)
		}
		out = append(out, r)
	}
	return out, nil
}

// heading is a comment in a program that names the cut that follows.
type heading struct {
	before int32
	cut    string
}

// headings finds the comments "name of a cut: …" of a program. A program that
// has none (one from outside) gets its cuts by what lies nearest.
func (s Scene) headings(r *rs274.Replay) (out []heading) {
	for _, e := range r.Events {
		if e.Kind != rs274.Comment {
			continue
		}
		best := ""
		for _, c := range s.Work.Cuts {
			if strings.HasPrefix(e.Text, c.Name+": ") && len(c.Name) > len(best) {
				best = c.Name
			}
		}
		if best != "" {
			out = append(out, heading{e.Before, best})
		}
	}
	return out
}

// cutAt names the cut whose outline, line or point lies nearest.
func (s Scene) cutAt(q geom.Point) string {
	best, name := math.Inf(1), ""
	for _, c := range s.Work.Cuts {
		if d := distToCut(c, q); d < best {
			best, name = d, c.Name
		}
	}
	return name
}

func distToCut(c work.Cut, q geom.Point) float64 {
	d := math.Inf(1)
	for _, g := range c.Regions {
		for _, ct := range g.Contours() {
			d = math.Min(d, ct.Dist(q))
		}
	}
	for _, ch := range c.Chains {
		for _, e := range ch.Segs() {
			d = math.Min(d, e.Dist(q))
		}
	}
	for _, p := range c.Points {
		d = math.Min(d, p.Dist(q))
	}
	return d
}

// order lists the cuts as the programs come to them, each once, with the place
// where its first move begins.
func order(rs []run) (out []ordered) {
	seen := map[string]bool{}
	for _, r := range rs {
		for _, m := range r.moves {
			if m.rapid || m.cut == "" || m.deepest() <= 0 || seen[m.cut] {
				continue
			}
			seen[m.cut] = true
			out = append(out, ordered{m.cut, m.cutter, m.seg.A})
		}
	}
	return out
}

type ordered struct {
	name   string
	cutter int
	at     geom.Point
}

func (s Scene) step(m rs274.Move, st rs274.State) step {
	a, b := geom.Pt(m.From[0], m.From[1]), geom.Pt(m.To[0], m.To[1])
	out := step{seg: geom.Line(a, b), rapid: m.Motion == rs274.Rapid, cutter: s.cutterOf(st),
		from: s.Work.Skin.Height(a) - m.From[2], to: s.Work.Skin.Height(b) - m.To[2],
		z0: m.From[2], z1: m.To[2], line: int(m.Line)}
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
	if b.Empty() {
		b = b.Extend(geom.Point{})
	}
	if s.Work.Sheet {
		for _, g := range s.Work.Stock {
			b = b.Union(g.Bounds())
		}
		return b.Grow(math.Max(2, 0.04*math.Max(b.Size().X, b.Size().Y)))
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
