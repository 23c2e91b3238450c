package proof

import (
	"fmt"

	"sparclear/pkg/diag"
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
	whole, slugs, count := 0, 0, 0
	pieces := make([]loosening, len(p.w.Cuts))
	p.each(len(pieces), func(i int) {
		if frees(&p.w.Cuts[i]) || parts(&p.w.Cuts[i]) {
			pieces[i] = p.loosen(i)
		}
	})
	for i := range p.w.Cuts {
		c := &p.w.Cuts[i]
		if !frees(c) {
			p.cutLoose(i, pieces[i])
			if r := p.radiusOf(c.Cutter); pieces[i].left > float64(r*r) {
				p.fault("holding", diag.Finding{Code: "slug-loose", Severity: diag.Warn, Subject: p.progs[0].src.File, Cut: c.Name,
					Message: fmt.Sprintf("%s frees a piece of %.1f mm² that nothing holds", c.Name, pieces[i].left), Help: "leave bridges, or tape over it"}.With(pieces[i].left, 0, "mm²"))
			}
			continue
		}
		n := len(c.Regions)
		p.cutLoose(i, pieces[i])
		if pieces[i].dust {
			continue // the cutter turns all of it to dust
		}
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
	p.say("holding", "%d parts, %d slugs, %d tabs", whole, slugs, count)
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

// cutLoose refuses a cut in what has come loose before.
func (p *prover) cutLoose(i int, l loosening) {
	c := &p.w.Cuts[i]
	if l.over {
		p.cert.NotChecked = append(p.cert.NotChecked, "whether anything is cut in what came loose at "+c.Name+": it is too large for its cutter")
		return
	}
	if !l.harm {
		return
	}
	pr := p.progs[l.prog]
	who := p.w.Cuts[p.verdicts[l.prog][l.move].cut].Name
	what := "the slug of " + c.Name
	if c.Kind == work.PartCut {
		what = c.Name
	}
	f := diag.Finding{Code: "loose-part", Severity: diag.Stop, Subject: pr.src.File, Cut: who,
		Message: fmt.Sprintf("%s cuts in what came loose at %s", who, what), Help: "cut it first, hold it by tabs or an onion skin, or leave a skin for the last pass"}
	p.fault("holding", p.place(f, c.Frame, pr.replay.Moves[l.move].To, pr, l.move))
}
