package proof

import (
	"fmt"

	"sparclear/pkg/diag"
	"sparclear/pkg/keepout"
	"sparclear/pkg/rs274"
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
	parts, slugs, count := 0, 0, 0
	p.throughTimes()
	for i := range p.w.Cuts {
		c := &p.w.Cuts[i]
		if c.Kind != work.PartCut && c.Kind != work.Opening && c.Kind != work.Door || !c.Through && c.Onion <= 0 {
			continue
		}
		n := len(c.Regions)
		if c.Kind == work.PartCut {
			parts += n
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
	p.say("holding", "%d parts, %d slugs, %d tabs", parts, slugs, count)
}

// loose warns of what comes free with its last cut, and refuses a cut in it
// after that.
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
	last := p.lastThrough[i]
	if last < 0 {
		return
	}
	f := keepout.NewField(c.Regions)
	for k := len(p.progs) - 1; k >= 0; k-- {
		pr := p.progs[k]
		for j := len(pr.replay.Moves) - 1; j >= 0 && p.ordinal(k, j) > last; j-- {
			v := p.verdicts[k][j]
			m := &pr.replay.Moves[j]
			if v.cut < 0 || int(v.cut) == i || m.Motion == rs274.Rapid || !p.enters(m, f) {
				continue
			}
			what := "the slug of " + c.Name
			if c.Kind == work.PartCut {
				what = c.Name
			}
			fd := diag.Finding{Code: "loose-part", Severity: diag.Stop, Subject: pr.src.File, Cut: p.w.Cuts[v.cut].Name,
				Message: fmt.Sprintf("%s is cut in %s after that came loose", p.w.Cuts[v.cut].Name, what), Help: "cut it first, or hold the part by tabs"}
			p.fault("holding", p.place(fd, c.Frame, m.To, pr, j))
			return
		}
	}
}

// enters tells whether any place of the path of a move lies in the field.
func (p *prover) enters(m *rs274.Move, f *keepout.Field) bool {
	cv := newCurve(m)
	n := cv.parts()
	for i := range n {
		pc := cv.piece(float64(i)/float64(n), float64(i+1)/float64(n))
		if pc.rect && f.DistBox(pc.box) <= 0 || !pc.rect && (f.DistSeg(pc.seg) <= 0) {
			return true
		}
	}
	return false
}

// throughTimes finds for every cut the last move of its own that goes through.
func (p *prover) throughTimes() {
	p.lastThrough = make([]int, len(p.w.Cuts))
	for i := range p.lastThrough {
		p.lastThrough[i] = -1
	}
	for k := range p.progs {
		for j, v := range p.verdicts[k] {
			if v.cut >= 0 && float64(v.deep)+1e-4 >= p.w.Thickness { // v.deep is rounded to 32 bits
				p.lastThrough[v.cut] = p.ordinal(k, j)
			}
		}
	}
}
