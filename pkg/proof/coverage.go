package proof

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/work"
)

// depthSlop is how much shallower than asked for a finished bottom may be, mm,
// beside the tolerance of draping.
const depthSlop = 0.01

// gapOf is a stretch of an outline that no stroke reaches.
type gapOf struct {
	region, contour int
	from, to        float64 // lengths along the contour, mm; to may pass its end
	mid             geom.Point
	turn            float64 // of the outline within the gap, rad
	small           float64 // smallest radius of an inside arc in the gap, mm
	corner          bool    // the cutter cannot get there
	shallow         bool    // reached, but not deep enough
	tab             bool
	waist           float64 // of a tab: its width at the narrowest, mm
}

// coverage certifies that every edge that is drawn is cut, to the depth asked
// for, and lists what stays: corners, tabs, skins. Outlines are cut into pieces
// until one straight stroke covers both ends of each, which covers all between.
func (p *prover) coverage() {
	strokes := p.gather()
	full, tabs, thin, sure := strokes[wantFull], strokes[wantTab], strokes[wantThin], strokes[wantSure]
	found := make([]covered, len(p.w.Cuts))
	p.each(len(found), func(i int) { found[i] = p.coverageOf(i, full[i], tabs[i], thin[i], sure[i]) })
	total := 0.0
	for i := range p.w.Cuts {
		if p.ctx.Err() != nil {
			return
		}
		c := &p.w.Cuts[i]
		switch {
		case c.Kind == work.Mark || c.Kind == work.Chamfer:
			p.cert.NotChecked = append(p.cert.NotChecked, fmt.Sprintf("whether %s (%s) is complete", c.Name, c.Kind))
			continue
		case c.Kind == work.Drill:
			p.drilledThrough(i, full[i], sure[i])
			continue
		case c.Kind == work.Score:
			p.alongLines(i, full[i])
			continue
		case len(c.Regions) == 0:
			if len(c.Chains) > 0 {
				p.alongLines(i, full[i])
			}
			continue
		}
		g := &found[i]
		total += p.reportGaps(i, g.gaps, full[i])
		if uncut(g.gaps) == 0 {
			p.sizes(i, g.short)
		}
		if g.stays > 0 {
			fd := diag.Finding{Code: "leftover", Severity: diag.Stop, Subject: p.progs[0].src.File, Cut: c.Name,
				Message: fmt.Sprintf("%s: %.3f mm² stay inside the outline", c.Name, g.stays), Help: "clear them, or ask for an opening in place of a pocket"}.With(g.stays, 0, "mm²")
			p.fault("shape", p.place(fd, c.Frame, [3]float64{g.at.X, g.at.Y, 0}, nil, -1))
		}
		if g.unsure {
			p.fault("shape", diag.Finding{Code: "through-unsure", Severity: diag.Warn, Subject: p.progs[0].src.File, Cut: c.Name,
				Message: fmt.Sprintf("%s is through as drawn, but not by the errors of height and thickness", c.Name),
				Help:    "cut deeper where nothing lies below, or touch more heights"})
		}
	}
	if c := p.checks["shape"]; c != nil && c.OK {
		p.say("shape", "every outline is cut to its depth; %.3f mm of outline stays in corners and tabs, listed", total)
	}
}

// covered is what the strokes about one cut leave of its outlines.
type covered struct {
	gaps   []gapOf
	short  float64    // how far short of the outlines the wall may stay, mm
	stays  float64    // area that stays inside an outline that is to be cleared, mm²
	at     geom.Point // within that
	unsure bool       // not through by the errors of height and thickness
}

// coverageOf looks at the outlines of one cut.
func (p *prover) coverageOf(i int, full, tabs, thin, sure swept) covered {
	c := &p.w.Cuts[i]
	var out covered
	if len(c.Regions) == 0 || c.Kind == work.Mark || c.Kind == work.Chamfer || c.Kind == work.Drill || c.Kind == work.Score {
		return out
	}
	tol := p.areas.list[i].tol
	out.gaps = p.outlineGaps(i, tol, full, tabs, thin)
	if uncut(out.gaps) == 0 {
		out.short = p.shortOf(i, full, out.gaps)
	}
	if c.Kind == work.Pocket || c.Kind == work.Rebate || c.Kind == work.Bore || c.Kind == work.Slot {
		out.stays, out.at = p.cleared(i, full, out.gaps)
	}
	out.unsure = c.Through && c.Onion <= 0 && p.needs(i, sure, out.gaps, []float64{tol}) > tol
	return out
}

// needs returns the least of the rising tolerances with which the outlines of a cut
// count as cut by the strokes, but for gaps that are known; +Inf when none is enough.
func (p *prover) needs(i int, s swept, known []gapOf, tols []float64) float64 {
	c := &p.w.Cuts[i]
	reach, beside := p.reachOf(c), math.Max(1, p.radiusOf(c.Cutter)/2)
	n := 0
	for ri, g := range c.Regions {
		for ci, k := range g.Contours() {
			all := k.Length()
			isKnown := func(from, to float64) bool {
				for _, q := range known {
					if q.region == ri && q.contour == ci && (from > q.from-beside && to < q.to+beside || from+all > q.from-beside && to+all < q.to+beside) {
						return true
					}
				}
				return false
			}
			var look func(e geom.Seg, at float64, level int)
			look = func(e geom.Seg, at float64, level int) {
				if n == len(tols) || s.covers(e, tols[n], reach) {
					return
				}
				l := e.Length()
				if isKnown(at, at+l) {
					return
				}
				if l <= bareStep || level > 24 {
					for n++; n < len(tols) && !s.covers(e, tols[n], reach); n++ {
					}
					return
				}
				m := e.Mid()
				b := math.Tan(math.Atan(e.Bulge) / 2)
				look(geom.Seg{A: e.A, B: m, Bulge: b}, at, level+1)
				look(geom.Seg{A: m, B: e.B, Bulge: b}, at+l/2, level+1)
			}
			at := 0.0
			for e := range k {
				seg := k.Seg(e)
				look(seg, at, 0)
				at += seg.Length()
			}
		}
	}
	if n == len(tols) {
		return math.Inf(1)
	}
	return tols[n]
}

// uncut counts the gaps that are neither corners nor tabs.
func uncut(gaps []gapOf) int {
	n := 0
	for _, g := range gaps {
		if !g.corner && !g.tab {
			n++
		}
	}
	return n
}

// fullDepth is what a finished edge needs.
func (p *prover) fullDepth(c *work.Cut) demand {
	if c.Through && c.Onion <= 0 {
		return demand{p.w.Thickness, true}
	}
	return demand{c.Depth - p.w.HeightTol - depthSlop, false}
}

// leastTab is the width from which a tab holds, mm.
func leastTab(c *work.Cut) float64 {
	if c.Tabs.Auto { // narrower ones do where several share the load
		return math.Max(0.5, c.Tabs.Width/2)
	}
	return c.Tabs.Width - math.Max(0.1, 0.1*c.Tabs.Width)
}

// radiusOf returns how far from its axis a stroke of a cutter clears the wall.
func (p *prover) radiusOf(tool int) float64 { return p.tools[tool].cutter.Diameter / 2 }

// onAxis is the radius that counts where the axis itself has to follow the outline.
func onAxis(int) float64 { return strokeSag }

// reachOf tells how far from its axis a cutter finishes the edge of a cut.
func (p *prover) reachOf(c *work.Cut) func(int) float64 {
	if c.Kind == work.Door {
		return onAxis
	}
	return p.radiusOf
}

// outlineGaps walks all contours of a cut and returns what is not covered.
func (p *prover) outlineGaps(i int, tol float64, full, tabs, thin swept) []gapOf {
	c := &p.w.Cuts[i]
	a := &p.areas.list[i]
	keep := a.inside
	if a.outside != nil {
		keep = a.outside
	}
	var out []gapOf
	for ri, g := range c.Regions {
		for ci, k := range g.Contours() {
			var spans [][2]float64
			s := 0.0
			for e := range k {
				seg := k.Seg(e)
				p.bare(seg, s, tol, full, p.reachOf(c), &spans, 0)
				s += seg.Length()
			}
			for _, sp := range joinSpans(spans, s) {
				gp := gapOf{region: ri, contour: ci, from: sp[0], to: sp[1]}
				p.classify(&gp, k, s, i, tol, keep, tabs, thin)
				out = append(out, gp)
			}
		}
	}
	return out
}

// bareStep is the length of outline below which an uncovered piece is taken as bare, mm.
const bareStep = 0.02

// bare adds the parts of an edge, which begins at length s, that no stroke covers.
func (p *prover) bare(e geom.Seg, s, tol float64, full swept, radius func(int) float64, out *[][2]float64, level int) {
	l := e.Length()
	if full.covers(e, tol, radius) {
		return
	}
	if l <= bareStep || level > 24 {
		*out = append(*out, [2]float64{s, s + l})
		return
	}
	m := e.Mid()
	b := math.Tan(math.Atan(e.Bulge) / 2)
	p.bare(geom.Seg{A: e.A, B: m, Bulge: b}, s, tol, full, radius, out, level+1)
	p.bare(geom.Seg{A: m, B: e.B, Bulge: b}, s+l/2, tol, full, radius, out, level+1)
}

// joinSpans joins what touches, around the end of the contour too.
func joinSpans(in [][2]float64, length float64) [][2]float64 {
	var out [][2]float64
	for _, s := range in {
		if n := len(out); n > 0 && s[0]-out[n-1][1] < 2*bareStep {
			out[n-1][1] = s[1]
			continue
		}
		out = append(out, s)
	}
	if n := len(out); n > 1 && out[0][0] < 2*bareStep && length-out[n-1][1] < 2*bareStep {
		out[n-1][1] = length + out[0][1]
		out = out[1:]
	}
	return out
}

// along returns the point at length s of a contour and its direction there.
func along(k geom.Contour, s float64) (geom.Point, geom.Point) {
	for e := 0; e < 2*len(k); e++ {
		g := k.Seg(e % len(k))
		l := g.Length()
		if s <= l || e == 2*len(k)-1 {
			t := 0.0
			if l > 0 {
				t = math.Min(1, s/l)
			}
			d := g.TangentA()
			a := g.Sweep() * t
			sn, cs := math.Sincos(a)
			return g.At(t), geom.Pt(float64(d.X*cs)-float64(d.Y*sn), float64(d.X*sn)+float64(d.Y*cs))
		}
		s -= l
	}
	return geom.Point{}, geom.Point{}
}

// classify tells whether the cutter could have reached the gap, and whether it
// is a tab.
func (p *prover) classify(g *gapOf, k geom.Contour, length float64, cut int, tol float64, keep *keepout.Field, tabs, thin swept) {
	c := &p.w.Cuts[cut]
	r := p.radiusOf(c.Cutter)
	l := g.to - g.from
	g.mid, _ = along(k, g.from+l/2)
	_, d0 := along(k, math.Max(0, g.from-0.01))
	_, d1 := along(k, math.Mod(g.to+0.01, length))
	g.turn = math.Abs(math.Atan2(d0.Cross(d1), d0.Dot(d1)))
	door := c.Kind == work.Door
	g.corner = !door
	g.small = math.Inf(1)
	n := max(2, min(2000, int(l/0.05)))
	tabbed := len(tabs) > 0
	step := l / float64(n)
	run, high := 0.0, 0.0 // length over which the tab has its height; the longest
	for i := 0; i <= n; i++ {
		q, d := along(k, g.from+l*float64(i)/float64(n))
		side := d.Left()
		if c.Kind == work.PartCut {
			side = d.Right()
		}
		at := q.Add(side.Mul(r))
		if keep != nil && keep.Inside(at) == (c.Kind != work.PartCut) && keep.EdgeDist(at) >= r-tol-1e-6 && i > 0 && i < n {
			g.corner = false
		}
		if tabbed && tabs.near(q, p.reachOf(c)) > tol+0.05 {
			tabbed = false
		}
		if len(thin) == 0 || thin.near(q, p.reachOf(c)) > tol {
			run += step
			high = math.Max(high, run)
		} else {
			run = 0
		}
	}
	l = math.Min(l, high)
	g.shallow = tabbed
	if g.corner {
		return
	}
	g.tab = tabbed
	// The gap in the path is longer than the bare edge, and the tab is narrower
	// than the gap by the width of the cutter.
	if door { // the outline is the path
		g.waist = l + 2*tol - 2*r
		return
	}
	g.waist = l + 2*math.Sqrt(float64(2*r*tol)+float64(tol*tol)) - 2*r
}

// reportGaps lists what stays and refuses what may not. It returns the length of outline that stays.
func (p *prover) reportGaps(i int, gaps []gapOf, full swept) float64 {
	c := &p.w.Cuts[i]
	r := p.radiusOf(c.Cutter)
	total := 0.0
	corners, most := 0, 0.0
	missing, pieces, longest := 0.0, 0, gapOf{}
	for _, g := range gaps {
		total += g.to - g.from
		at := [2]float64{g.mid.X, g.mid.Y}
		switch {
		case g.corner:
			h := math.Max(0.05, (math.Pi-g.turn)/2)
			area := float64(r*r) * (1/math.Tan(h) - (math.Pi/2 - h))
			size := p.shortAt(i, g, full)
			corners++
			most = math.Max(most, size)
			p.cert.Leftovers = append(p.cert.Leftovers, Leftover{c.Name, "corner", math.Max(0, area), at, size})
		case g.tab:
			p.cert.Leftovers = append(p.cert.Leftovers, Leftover{c.Name, "tab", math.Max(0, g.waist) * 2 * r, at, g.waist})
			if !c.Tabs.Auto && g.waist < leastTab(c) {
				f := diag.Finding{Code: "tab-small", Severity: diag.Stop, Subject: p.progs[0].src.File, Cut: c.Name,
					Message: fmt.Sprintf("%s: a tab is %.2f mm wide, %.2f mm asked for", c.Name, math.Max(0, g.waist), c.Tabs.Width),
					Help:    "keep the cutter higher for longer"}.With(g.waist, c.Tabs.Width, "mm")
				p.fault("holding", p.place(f, c.Frame, [3]float64{at[0], at[1], 0}, nil, -1))
			}
		default:
			missing += g.to - g.from
			pieces++
			if g.to-g.from > longest.to-longest.from {
				longest = g
			}
		}
	}
	if pieces > 0 {
		code, what := "not-cut", "is not cut"
		if touched := p.touchedGap(i, longest); touched && c.Through {
			code, what = "not-through", "is not cut through"
		} else if touched {
			code, what = "not-deep", "is not cut to its depth"
		}
		f := diag.Finding{Code: code, Severity: diag.Stop, Subject: p.progs[0].src.File, Cut: c.Name,
			Message: fmt.Sprintf("%s: %.2f mm of the outline %s", c.Name, missing, what),
			Help:    "add the passes that are missing, or ask for a tab there"}.With(missing, 0, "mm")
		if pieces > 1 {
			f.Message += fmt.Sprintf(", in %d places", pieces)
		}
		p.fault("shape", p.place(f, c.Frame, [3]float64{longest.mid.X, longest.mid.Y, 0}, nil, -1))
	}
	severity := diag.Note
	if most > 2*r {
		severity = diag.Warn // wider than the cutter: somebody may have thought of another one
	}
	if corners > 0 && c.Relief != "" {
		p.fault("shape", diag.Finding{Code: "relief-missing", Severity: diag.Warn, Cut: c.Name, Subject: p.progs[0].src.File,
			Message: fmt.Sprintf("%s: %d corners keep up to %.3f mm although relief is asked for", c.Name, corners, most), Help: "a square tab will not seat there"})
	} else if corners > 0 {
		p.fault("shape", diag.Finding{Code: "corner-left", Severity: severity, Cut: c.Name, Subject: p.progs[0].src.File,
			Message: fmt.Sprintf("%s: %d corners stay round by the radius of the cutter, %.3f mm short of the sharp corner at most", c.Name, corners, most),
			Help:    "use a smaller cutter or relief where something square must seat"})
	}
	if c.Onion > 0 {
		b := c.Regions[0].Bounds().Center()
		length := 0.0
		for _, g := range c.Regions {
			length += g.Length()
		}
		p.cert.Leftovers = append(p.cert.Leftovers, Leftover{c.Name, "onion", length * 2 * r, [2]float64{b.X, b.Y}, c.Onion})
	}
	return total
}

// shortAt returns how far from what was cut the outline lies at most within a gap, mm.
func (p *prover) shortAt(cut int, g gapOf, full swept) float64 {
	k := p.w.Cuts[cut].Regions[g.region].Contours()[g.contour]
	n := max(8, min(400, int((g.to-g.from)/0.05)))
	most := 0.0
	for i := range n + 1 {
		q, _ := along(k, g.from+(g.to-g.from)*float64(i)/float64(n))
		most = math.Max(most, full.near(q, p.reachOf(&p.w.Cuts[cut])))
	}
	if math.IsInf(most, 1) {
		return p.w.Cuts[cut].Regions[g.region].Bounds().Size().Len()
	}
	return most
}

// touchedGap tells whether moves of the cut reached most of a few places of a gap.
func (p *prover) touchedGap(cut int, g gapOf) bool {
	k := p.w.Cuts[cut].Regions[g.region].Contours()[g.contour]
	n := 0
	for i := range 9 {
		if q, _ := along(k, g.from+(g.to-g.from)*float64(i)/8); p.touched(cut, q) {
			n++
		}
	}
	return n > 4
}

// touched tells whether any move in the material of the cut reached the point.
func (p *prover) touched(cut int, q geom.Point) bool {
	r := p.radiusOf(p.w.Cuts[cut].Cutter) + 0.1
	for k, pr := range p.progs {
		for j := range pr.replay.Moves {
			if int(p.verdicts[k][j].cut) != cut {
				continue
			}
			cv := newCurve(&pr.replay.Moves[j])
			n := cv.parts()
			for a := 0; a < n && !cv.rapid; a++ {
				pc := cv.piece(float64(a)/float64(n), float64(a+1)/float64(n))
				if pc.seg.Dist(q) <= r {
					return true
				}
			}
		}
	}
	return false
}

// drilledThrough checks that every hole is drilled, to its depth.
func (p *prover) drilledThrough(i int, full, sure swept) {
	c := &p.w.Cuts[i]
	for n, q := range c.Points {
		reach := func(s swept) bool {
			for _, g := range s {
				if g.f.EdgeDist(q) <= p.areas.list[i].tol+keepout.Slack {
					return true
				}
			}
			return false
		}
		switch {
		case !reach(full):
			f := diag.Finding{Code: "not-cut", Severity: diag.Stop, Subject: p.progs[0].src.File, Cut: c.Name,
				Message: fmt.Sprintf("%s: hole %d is not drilled to its depth", c.Name, n+1), Help: "add the hole, or drill deeper"}
			p.fault("shape", p.place(f, c.Frame, [3]float64{q.X, q.Y, 0}, nil, -1))
		case c.Through && !reach(sure):
			f := diag.Finding{Code: "through-unsure", Severity: diag.Warn, Subject: p.progs[0].src.File, Cut: c.Name,
				Message: fmt.Sprintf("%s: hole %d is through as drawn, but not by the errors of height and thickness", c.Name, n+1), Help: "drill deeper where nothing lies below"}
			p.fault("shape", p.place(f, c.Frame, [3]float64{q.X, q.Y, 0}, nil, -1))
		}
	}
}

// alongLines checks that the axis follows the lines of a cut to the depth asked for.
func (p *prover) alongLines(i int, full swept) {
	c := &p.w.Cuts[i]
	if c.Options["bridge"] > 0 {
		p.cert.NotChecked = append(p.cert.NotChecked, fmt.Sprintf("whether the perforation of %s is complete", c.Name))
		return
	}
	segs := linesOf(c).Edges()
	var spans [][2]float64
	a := &p.areas.list[i]
	s := 0.0
	axis := func(int) float64 { return a.half }
	for _, e := range segs {
		p.bare(e, s, a.tol+strokeSag, full, axis, &spans, 0)
		s += e.Length()
	}
	bare := 0.0
	for _, sp := range spans {
		bare += sp[1] - sp[0]
	}
	allowed := 0.0
	if c.Tabs.Count > 0 || c.Tabs.Auto {
		allowed = float64(max(c.Tabs.Count, 8)) * (c.Tabs.Width + 4*p.radiusOf(c.Cutter))
	}
	if bare > allowed+0.1 {
		f := diag.Finding{Code: "not-cut", Severity: diag.Stop, Subject: p.progs[0].src.File, Cut: c.Name,
			Message: fmt.Sprintf("%s: %.2f mm of the line are not cut to their depth", c.Name, bare), Help: "add what is missing"}.With(bare, allowed, "mm")
		p.fault("shape", f)
	}
}

// cleared certifies by quartering that nothing stands inside a region that is to
// be cleared, except in corners that the cutter cannot reach. It returns the area
// that does, and a place of it.
func (p *prover) cleared(i int, full swept, gaps []gapOf) (float64, geom.Point) {
	c := &p.w.Cuts[i]
	tol := math.Max(p.areas.list[i].tol, 0.02)
	r := p.radiusOf(c.Cutter)
	f := keepout.NewField(c.Regions)
	area, worst := 0.0, geom.Point{}
	spare := 2_000_000
	var look func(b geom.Box)
	look = func(b geom.Box) {
		m, half := b.Center(), b.Size().Len()/2
		inside := f.Inside(m)
		if !inside && f.EdgeDist(m) >= half {
			return
		}
		if full.near(m, p.radiusOf) <= tol-half {
			return
		}
		spare--
		if half < tol/2 || spare < 0 {
			if !inside {
				return
			}
			for _, g := range gaps {
				if g.corner && m.Dist(g.mid) < math.Max(2*r, math.Min((g.to-g.from)/2+r, longestTip*r)) && !standsWithin(f, m, r, tol) {
					return
				}
			}
			area += b.Size().X * b.Size().Y
			worst = m
			return
		}
		q := b.Center()
		look(geom.Box{Min: b.Min, Max: q})
		look(geom.Box{Min: geom.Pt(q.X, b.Min.Y), Max: geom.Pt(b.Max.X, q.Y)})
		look(geom.Box{Min: geom.Pt(b.Min.X, q.Y), Max: geom.Pt(q.X, b.Max.Y)})
		look(geom.Box{Min: q, Max: b.Max})
	}
	for _, g := range c.Regions {
		look(g.Bounds())
	}
	return area, worst
}

// longestTip is how far from the tip what stays in it may reach and still be a
// corner, in radii of the cutter: that of a tip of some 16°. What is longer is a slit
// that the cutter does not fit.
const longestTip = 7

// standsWithin tells whether a cutter of radius r can stand inside the outline so
// that it takes a place away by more than tol.
func standsWithin(f *keepout.Field, m geom.Point, r, tol float64) bool {
	for _, far := range [3]float64{0, (r - tol) / 2, r - tol} {
		for k := range 32 {
			q := geom.Polar(m, far, float64(k)*math.Pi/16)
			if f.Inside(q) && f.EdgeDist(q) >= r {
				return true
			}
		}
	}
	return false
}
