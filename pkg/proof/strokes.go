package proof

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/rs274"
	"sparclear/pkg/work"
)

// strokeSag is how far the straight strokes that stand for an arc may stray from
// it, mm: half for arcs, half for strokes that are joined (runSlack). It is
// taken off wherever strokes are measured.
const strokeSag = 0.002

// strokes is where the axis of one cutter certainly went at least as deep as
// asked for, as straight lines.
type strokes struct {
	tool int
	segs []geom.Seg
	f    *keepout.Field
	run  run
}

// swept holds the strokes of one cut, one group for each cutter.
type swept []*strokes

func (s *swept) group(tool int) *strokes {
	for _, g := range *s {
		if g.tool == tool {
			return g
		}
	}
	g := &strokes{tool: tool}
	*s = append(*s, g)
	return g
}

// close ends the lines that could still be drawn out.
func (s swept) close() {
	for _, g := range s {
		g.run.close(&g.segs)
	}
}

func (s swept) prepare() {
	for _, g := range s {
		g.f = keepout.NewEdges(g.segs)
	}
}

// covers tells whether every point of the segment, which strays from its chord
// by at most sag, is within grow mm of where a cutter swept: certified, since
// the distance to a straight stroke is convex and so largest at an end.
func (s swept) covers(e geom.Seg, grow float64, radius func(int) float64) bool {
	sag := math.Abs(e.Bulge) * e.A.Dist(e.B) / 2
	m := e.A.Lerp(e.B, 0.5)
	for _, g := range s {
		_, q, ok := g.f.Nearest(m)
		if ok && math.Max(q.Dist(e.A), q.Dist(e.B))+sag+strokeSag <= radius(g.tool)+grow {
			return true
		}
	}
	return false
}

// near returns the smallest of distance from m to the axis less the radius.
func (s swept) near(m geom.Point, radius func(int) float64) float64 {
	d := math.Inf(1)
	for _, g := range s {
		d = math.Min(d, g.f.EdgeDist(m)+keepout.Slack+strokeSag-radius(g.tool))
	}
	return d
}

// demand is the least depth of the tip for one purpose, below the local skin.
type demand struct {
	depth   float64 // mm
	through bool    // to be reached under the whole footprint
}

// wants are the purposes for which strokes are gathered.
const (
	wantFull = iota // a finished edge
	wantTab         // the top of a tab
	wantThin        // less than the height of a tab is left
	wantSure        // through in spite of the errors of height and thickness
	wantCount
)

// gather collects, for every purpose and cut, the strokes that meet the demand.
func (p *prover) gather() [wantCount][]swept {
	n := len(p.w.Cuts)
	needs := make([][wantCount]*demand, n)
	boxes := make([]geom.Box, n)
	for i := range p.w.Cuts {
		boxes[i] = geom.EmptyBox()
		if p.gathered(i, &needs[i]) {
			boxes[i] = p.cutBox(i)
		}
	}
	tree := newBoxTree(boxes)
	var out [wantCount][]swept
	for k := range out {
		out[k] = make([]swept, n)
	}
	for k, pr := range p.progs {
		m := len(pr.replay.Moves)
		parts := make([][wantCount][]swept, (m+chunk-1)/chunk)
		p.each(len(parts), func(i int) {
			var got [wantCount][]swept
			for w := range got {
				got[w] = make([]swept, n)
			}
			for j := i * chunk; j < min(m, (i+1)*chunk); j++ {
				p.gatherMove(k, j, &tree, needs, &got)
			}
			for w := range got {
				for c := range got[w] {
					got[w][c].close()
				}
			}
			parts[i] = got
		})
		if p.ctx.Err() != nil {
			break
		}
		for i := range parts {
			for w := range out {
				for c := range out[w] {
					for _, g := range parts[i][w][c] {
						to := out[w][c].group(g.tool)
						to.segs = append(to.segs, g.segs...)
					}
				}
			}
			parts[i] = [wantCount][]swept{}
		}
	}
	p.each(n, func(c int) {
		for w := range out {
			out[w][c].prepare()
		}
	})
	return out
}

// gathered fills in what strokes of a cut are asked for; false when none are.
func (p *prover) gathered(i int, needs *[wantCount]*demand) bool {
	c := &p.w.Cuts[i]
	if c.Kind == work.Mark || c.Kind == work.Chamfer {
		return false
	}
	full := p.fullDepth(c)
	needs[wantFull] = &full
	if c.Tabs.Count > 0 || c.Tabs.Auto {
		needs[wantTab] = &demand{p.w.Thickness - c.Tabs.Height - p.w.ThickTol - p.w.HeightTol - 0.05, false}
		// On a slope a tab is thinner uphill by what the slope adds under the cutter;
		// where that leaves less than a quarter of it, it is none.
		thin := math.Min(p.w.Thickness-c.Tabs.Height, p.w.Thickness-c.Tabs.Height/4-p.steepest(i))
		needs[wantThin] = &demand{thin + p.w.ThickTol + p.w.HeightTol + 0.05, false}
	}
	if full.through {
		u, e := p.w.Skin.Error(p.cutBox(i))
		needs[wantSure] = &demand{full.depth + p.w.ThickTol + p.budgets[c.Cutter].depth(u, e), true}
	}
	return true
}

// steepest returns what the slope of the skin adds to the depth of a pass under the
// footprint of the widest cutter, anywhere about a cut, mm.
func (p *prover) steepest(i int) float64 {
	if p.flat {
		return 0
	}
	slope, most := p.w.Skin.Slope(p.cutBox(i)), 0.0
	for k := range p.tools {
		most = math.Max(most, p.tools[k].lift(slope))
	}
	return most
}

// gatherMove adds what one move does for the cuts around it.
func (p *prover) gatherMove(k, j int, tree *boxTree, needs [][wantCount]*demand, got *[wantCount][]swept) {
	pr := p.progs[k]
	m := &pr.replay.Moves[j]
	if m.Motion == rs274.Rapid || m.Motion == rs274.Probe || p.verdicts[k][j].cut < 0 {
		return
	}
	t := pr.toolOf(j)
	cv := newCurve(m)
	tree.visit(boundsOf(m).xy, func(i int) {
		for w, d := range needs[i] {
			if d == nil {
				continue
			}
			n := cv.parts()
			for a := range n {
				p.sweep(&cv, t, float64(a)/float64(n), float64(a+1)/float64(n), *d, got[w][i].group(t), 0)
			}
		}
	})
}

// cutBox is the box of a cut's outlines, grown so that every stroke that can
// serve it meets the box.
func (p *prover) cutBox(i int) geom.Box {
	c := &p.w.Cuts[i]
	b := geom.EmptyBox()
	for _, g := range c.Regions {
		b = b.Union(g.Bounds())
	}
	for _, ch := range c.Chains {
		b = b.Union(ch.Bounds())
	}
	for _, q := range c.Points {
		b = b.Extend(q)
	}
	r := 0.0
	for k := range p.tools {
		r = math.Max(r, p.tools[k].cutter.Diameter/2)
	}
	if b.Empty() {
		return b
	}
	return b.Grow(r + p.areas.list[i].tol + 0.1)
}

// sweep adds the parts of t0..t1 that certainly meet the demand.
func (p *prover) sweep(cv *curve, tool int, t0, t1 float64, d demand, out *strokes, level int) {
	pc := cv.piece(t0, t1)
	least, most := p.tipDepth(cv, &pc, t0, t1)
	need := d.depth
	if d.through {
		t := &p.tools[tool]
		slope := 0.0
		if !p.flat {
			slope = p.w.Skin.Slope(pc.box.Grow(t.cutter.Diameter / 2))
		}
		need += t.profile(t.cutter.Diameter/2) + float64(slope*t.cutter.Diameter/2)
	}
	if most < need-1e-9 {
		return
	}
	if least < need-1e-9 {
		if level > 20 || pc.box.Size().Len() < 0.01 && pc.zhi-pc.zlo < 0.002 {
			return
		}
		mid := (t0 + t1) / 2
		p.sweep(cv, tool, t0, mid, d, out, level+1)
		p.sweep(cv, tool, mid, t1, d, out, level+1)
		return
	}
	sag := math.Abs(pc.seg.Bulge) * pc.seg.A.Dist(pc.seg.B) / 2
	n := 1
	if sag > strokeSag/2 {
		n = int(math.Ceil(math.Sqrt(sag / (strokeSag / 2))))
	}
	for i := 0; i < n; i++ {
		a, b := pc.seg.At(float64(i)/float64(n)), pc.seg.At(float64(i+1)/float64(n))
		out.run.add(&out.segs, a, b)
	}
}

// tipDepth returns bounds of the depth of the tip below the local skin.
func (p *prover) tipDepth(cv *curve, pc *piece, t0, t1 float64) (least, most float64) {
	if p.flat {
		return p.level - pc.zhi - pc.slack, p.level - pc.zlo + pc.slack
	}
	box := pc.box.Grow(pc.slack)
	slope, bend := p.w.Skin.Slope(box), p.w.Skin.Bend(box)
	if r := pc.seg.Radius(); !math.IsInf(r, 1) && r > 0 {
		bend += slope / r
	}
	l := pc.seg.Length()
	off := stray(bend, l) + float64(pc.slack*(1+slope))
	a, b := cv.at(t0), cv.at(t1)
	da := p.w.Skin.Height(geom.Pt(a[0], a[1])) - a[2]
	db := p.w.Skin.Height(geom.Pt(b[0], b[1])) - b[2]
	if cv.plane != rs274.XY {
		lo, hi := p.w.Skin.Range(box)
		return lo - pc.zhi - pc.slack, hi - pc.zlo + pc.slack
	}
	return math.Min(da, db) - off, math.Max(da, db) + off
}
