package proof

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// holding checks that what is cut out stays where it is until its last cut, and
// counts parts, slugs and tabs.
func (p *prover) holding() {
	least := map[string]float64{}
	for i := range p.w.Cuts {
		least[p.w.Cuts[i].Name] = leastTab(&p.w.Cuts[i])
	}
	tabs := map[string]int{}
	for _, l := range p.cert.Leftovers {
		if l.Kind == "tab" && l.SizeMM >= least[l.Cut] {
			tabs[l.Cut]++
		}
	}
	k := p.findKerfs()
	p.followed(k)
	dust := make([]bool, len(p.w.Cuts))
	p.each(len(dust), func(i int) {
		c := &p.w.Cuts[i]
		dust[i] = c.Kind == work.Opening && frees(c) && k.dust(i)
	})
	whole, slugs, count := 0, 0, 0
	for i := range p.w.Cuts {
		c := &p.w.Cuts[i]
		if !frees(c) || dust[i] {
			continue // nothing comes out, or the cutter turns all of it to dust
		}
		n := len(c.Regions)
		if c.Kind == work.PartCut {
			whole += n
		} else {
			slugs += n
		}
		t := tabs[c.Name]
		count += t
		want := c.Tabs.Count * n
		if t < want {
			p.fault("holding", diag.Finding{Code: "tab-missing", Severity: diag.Stop, Subject: p.progs[0].src.File, Cut: c.Name,
				Message: fmt.Sprintf("%s has %d tabs, %d asked for", c.Name, t, want), Help: "plan the job again, or ask for fewer"}.With(float64(t), float64(want), ""))
		}
		if c.Tabs.Auto && t == 0 && c.Onion <= 0 {
			p.fault("holding", diag.Finding{Code: "tab-missing", Severity: diag.Stop, Subject: p.progs[0].src.File, Cut: c.Name,
				Message: c.Name + " is to be held by tabs and has none", Help: "plan the job again"})
		}
		if t == 0 && c.Onion <= 0 {
			p.loose(i)
		}
	}
	p.say("holding", "parts: %d, slugs: %d, tabs: %d", whole, slugs, count)
}

// loose warns of what comes free with its last cut.
func (p *prover) loose(i int) {
	c := &p.w.Cuts[i]
	at := c.Regions[0].Bounds().Center()
	d := c.Frame.Inverse().Apply(at)
	switch {
	case c.Kind == work.PartCut:
		p.fault("holding", diag.Finding{Code: "part-free", Severity: diag.Warn, Subject: p.progs[0].src.File, Cut: c.Name,
			Message: c.Name + " comes loose with its last cut", Help: "add tabs or an onion skin, or hold it by vacuum or tape"}.On(d.X, d.Y))
	case c.Open:
		p.fault("holding", diag.Finding{Code: "slug-drops", Severity: diag.Note, Subject: p.progs[0].src.File, Cut: c.Name,
			Message: c.Name + " drops its slug, as the job says"}.On(d.X, d.Y))
	default:
		p.fault("holding", diag.Finding{Code: "slug-loose", Severity: diag.Warn, Subject: p.progs[0].src.File, Cut: c.Name,
			Message: "the slug of " + c.Name + " is not held: the cutter may throw it, or it falls in", Help: "add tabs, or tape over it and say loose = true"}.On(d.X, d.Y))
	}
}

// followed looks at every kerf of the work: what comes loose with it, and whether
// anything is cut in that.
func (p *prover) followed(k *kerfs) {
	var list []*kerf
	for i := range k.list {
		if k.list[i].encloses() {
			list = append(list, &k.list[i])
		}
	}
	found := make([]loosening, len(list))
	p.each(len(list), func(i int) { found[i] = k.loosen(list[i]) })
	said := map[string]bool{}
	for i := range found {
		p.cutLoose(&found[i], said)
		p.unasked(&found[i])
		p.chips = math.Max(p.chips, found[i].sure)
	}
}

// cutLoose refuses a cut in what has come loose before.
func (p *prover) cutLoose(l *loosening, said map[string]bool) {
	if l.over {
		p.cert.NotChecked = append(p.cert.NotChecked, "whether anything comes loose or is cut in what came loose at "+p.namesOf(l.cuts)+": it is too large for its cutter")
		return
	}
	if !l.harm {
		return
	}
	pr := p.progs[l.prog]
	who := p.w.Cuts[p.verdicts[l.prog][l.move].cut].Name
	what, frame := p.namesOf(l.cuts), p.w.Cuts[l.cuts[0]].Frame
	if i := p.freedAt(l.at); i >= 0 {
		c := &p.w.Cuts[i]
		what, frame = c.Name, c.Frame
		if c.Kind != work.PartCut {
			what = "the slug of " + c.Name
		}
	}
	f := diag.Finding{Code: "loose-part", Severity: diag.Stop, Subject: pr.src.File, Cut: who,
		Message: fmt.Sprintf("%s cuts in what came loose at %s", who, what), Help: "cut it first, hold it by tabs or an onion skin, or leave a skin for the last pass"}
	if !said[f.Message] {
		said[f.Message] = true
		p.fault("holding", p.place(f, frame, pr.replay.Moves[l.move].To, pr, l.move))
	}
}

// unasked tells of pieces that come loose although no outline asks for them: what
// several cuts free together, or a slot that closes on itself.
func (p *prover) unasked(l *loosening) {
	var cuts []int
	var worst freed
	n := 0
	for _, f := range l.pieces {
		if len(f.cuts) == 0 || f.area <= p.leastPiece(f.cuts) || p.expected(f) {
			continue
		}
		n++
		for _, c := range f.cuts {
			if !slices.Contains(cuts, c) {
				cuts = append(cuts, c)
			}
		}
		if f.area > worst.area {
			worst = f
		}
	}
	if n == 0 {
		return
	}
	slices.Sort(cuts)
	c := &p.w.Cuts[cuts[0]]
	verb, what := "frees", fmt.Sprintf("a piece of %.1f mm²", worst.area)
	if len(cuts) > 1 {
		verb = "together free"
	}
	if n > 1 {
		what = fmt.Sprintf("%d pieces, the largest of %.1f mm²,", n, worst.area)
	}
	f := diag.Finding{Code: "slug-loose", Severity: diag.Warn, Subject: p.progs[0].src.File, Cut: c.Name,
		Message: fmt.Sprintf("%s %s %s that nothing holds", p.namesOf(cuts), verb, what), Help: "leave bridges, or tape over it"}.With(worst.area, 0, "mm²")
	if len(cuts) > 1 && !p.w.Sheet { // nobody drew that outline, and it falls into the wing
		f.Code, f.Severity = "piece-freed", diag.Confirm
		f.Accepted = p.accepted(cuts, f.Code)
		f.Help = `move the cuts apart or leave bridges, or accept = ["piece-freed"] under ` + c.Name + " if it is to come out"
	}
	p.fault("holding", p.place(f, c.Frame, [3]float64{worst.at.X, worst.at.Y, p.w.Skin.Height(worst.at)}, nil, -1))
}

// leastPiece is the area from which a piece is told of: the square of the smallest
// radius that cuts beside it, mm².
func (p *prover) leastPiece(cuts []int) float64 {
	r := math.Inf(1)
	for _, i := range cuts {
		r = math.Min(r, p.radiusOf(p.w.Cuts[i].Cutter))
	}
	return r * r
}

// expected tells whether a piece is the part or slug of a cut, and no more.
func (p *prover) expected(f freed) bool {
	i := p.freedAt(f.at)
	if i < 0 {
		return false
	}
	for _, g := range p.w.Cuts[i].Regions {
		if g.ContainsInterior(f.at) {
			b := g.Bounds().Grow(foil + p.areas.list[i].tol)
			return b.Min.X <= f.box.Min.X && b.Min.Y <= f.box.Min.Y && b.Max.X >= f.box.Max.X && b.Max.Y >= f.box.Max.Y
		}
	}
	return false
}

// freedAt returns the cut whose part or slug a place belongs to, the smallest
// around it; -1 for none.
func (p *prover) freedAt(q geom.Point) int {
	best, size := -1, math.Inf(1)
	p.areas.boxes.visit(geom.Box{Min: q, Max: q}, func(i int) {
		c := &p.w.Cuts[i]
		if a := p.areas.list[i].size; frees(c) && a < size && slices.ContainsFunc(c.Regions, func(g geom.Region) bool { return g.Bounds().Dist(q) <= 0 && g.ContainsInterior(q) }) {
			best, size = i, a
		}
	})
	return best
}

// accepted tells whether the job accepts a finding under one of the cuts.
func (p *prover) accepted(cuts []int, code string) bool {
	for _, i := range cuts {
		c := &p.w.Cuts[i]
		if has(c.Accept, code) || slices.Contains(p.w.Accepted, work.Acceptance{Cut: c.Name, Code: code}) {
			return true
		}
	}
	return false
}

// namesOf joins the names of cuts, no more than four of them.
func (p *prover) namesOf(cuts []int) string {
	var b strings.Builder
	for n, i := range cuts {
		switch {
		case n == 4:
			fmt.Fprintf(&b, " and %d more", len(cuts)-n)
			return b.String()
		case n > 0 && n == len(cuts)-1:
			b.WriteString(" and ")
		case n > 0:
			b.WriteString(", ")
		}
		b.WriteString(p.w.Cuts[i].Name)
	}
	return b.String()
}
