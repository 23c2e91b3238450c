package proof

import (
	"fmt"
	"math"
	"runtime"
	"sync"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
)

// huntWork is how many evaluations one search may take before it reports the
// bound that it has (still certified, only less tight).
const huntWork = 50_000

// members certifies the distance of every move to every keep-out and clamp.
func (p *prover) members() {
	vols := make([]*keepout.Volume, 0, len(p.w.Members)+len(p.w.Clamps))
	for i := range p.w.Members {
		// A flaw of a sheet is waste: it may be cut, but no part may hold it.
		if p.w.Members[i].Kind != keepout.Flaw || !p.w.Sheet {
			vols = append(vols, &p.w.Members[i])
		}
	}
	for i := range p.w.Clamps {
		vols = append(vols, &p.w.Clamps[i])
	}
	found := make([]near, len(vols))
	fields := make([]*keepout.Field, len(vols))
	p.each(len(vols), func(i int) {
		fields[i] = keepout.NewField(vols[i].Footprint)
		found[i] = p.settle(vols[i], fields[i], p.nearest(vols[i], fields[i], nil))
	})
	if p.ctx.Err() != nil {
		return
	}
	p.flaws()
	worst, name := math.Inf(1), ""
	for i, v := range vols {
		n := &found[i]
		if n.move < 0 { // no move at all; anything else would have left a witness
			if p.moves() > 0 {
				p.fault("members", diag.Finding{Code: "keepout-unknown", Severity: diag.Stop, Subject: p.progs[0].src.File, Member: v.Name,
					Message: fmt.Sprintf("the distance to %s could not be bounded", v.Name), Help: "check heights and footprint of the job"})
			}
			continue
		}
		pr := p.progs[n.prog]
		if n.room < worst {
			worst, name = n.room, v.Name
		}
		check := "members"
		p.cert.Margins = append(p.cert.Margins, p.margin(check, v, n, pr))
		if n.room < 0 {
			p.intrusion(v, fields[i], n)
		}
	}
	if len(vols) > 0 {
		p.say("members", "%d volumes; smallest room above the need %.3f mm, at %s", len(vols), worst, name)
	} else {
		p.say("members", "no volumes named")
	}
}

// sunken tells of members that are kept clear by nothing but the depth at which
// the job has them begin: a slip of the pen there would not be noticed.
func (p *prover) sunken() {
	deepest := 0.0
	for k := range p.verdicts {
		for _, v := range p.verdicts[k] {
			deepest = math.Max(deepest, float64(v.deep))
		}
	}
	reach := math.Max(deepest, p.w.Thickness+p.w.ThickTol)
	for i := range p.w.Members {
		v := p.w.Members[i]
		if v.Kind == keepout.Flaw || v.From <= reach+v.Clearance {
			continue
		}
		from := v.From
		v.From, v.To = -1e6, 1e6
		f := keepout.NewField(v.Footprint)
		h := p.hunt(&v, f, func(prog, move int) bool { return p.verdicts[prog][move].cut >= 0 }, 0, huntWork)
		if h.cert >= 0 && (h.best.move < 0 || h.best.seen >= 0) {
			continue // nothing is cut over it
		}
		note := fmt.Sprintf("%s begins %.2f mm below the skin, below all that is cut (%.2f mm): its depth alone keeps it clear", v.Name, from, deepest)
		p.say("members", "%s", note)
		p.fault("members", diag.Finding{Code: "keepout-deep", Severity: diag.Note, Subject: p.w.Name, Member: v.Name, Message: note,
			Help: "make sure of its from"}.With(from, deepest, "mm"))
	}
}

// moves counts the moves of all programs.
func (p *prover) moves() int {
	n := 0
	for _, pr := range p.progs {
		n += len(pr.replay.Moves)
	}
	return n
}

// each calls f for 0 to n-1, on all processors. The result of f must depend on
// nothing but its argument.
func (p *prover) each(n int, f func(int)) {
	workers := min(n, runtime.GOMAXPROCS(0))
	if workers <= 1 {
		for i := 0; i < n && p.ctx.Err() == nil; i++ {
			f(i)
		}
		return
	}
	var wg sync.WaitGroup
	next := make(chan int)
	for range workers {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				f(i)
			}
		}()
	}
	for i := 0; i < n && p.ctx.Err() == nil; i++ {
		next <- i
	}
	close(next)
	wg.Wait()
}

// nearest searches all programs for the smallest room to one volume. With only
// set, just the moves that it picks are searched.
func (p *prover) nearest(v *keepout.Volume, f *keepout.Field, only func(prog, move int) bool) near {
	return p.hunt(v, f, only, math.Inf(1), huntWork).best
}

// hunt runs a search over all programs; branches with at least stop mm of room
// are not looked into.
func (p *prover) hunt(v *keepout.Volume, f *keepout.Field, only func(prog, move int) bool, stop float64, budget int) *hunt {
	h := &hunt{vol: v, field: f, skin: p.w.Skin, flat: p.flat, level: p.level, cert: math.Inf(1), work: budget, stop: stop}
	h.u0, h.e0 = p.w.Skin.Error(f.Bounds())
	h.best = near{seen: math.Inf(1), move: -1}
	for k, pr := range p.progs {
		for _, t := range pr.trees {
			if p.ctx.Err() != nil {
				return h
			}
			h.tree, h.tool, h.budget = t, &p.tools[t.tool], &p.budgets[t.tool]
			h.only = nil
			if only != nil {
				h.only = func(move int) bool { return only(k, move) }
			}
			before := h.best.seen
			h.run()
			if h.best.seen < before {
				h.best.prog = k
				one := geom.Box{Min: h.best.at, Max: h.best.at}
				u, e := p.w.Skin.Error(one)
				h.best.shares = h.budget.shares(one, u, e, h.best.heights)
			}
		}
	}
	h.best.room = math.Min(h.cert, h.best.seen)
	if math.IsNaN(h.best.room) {
		h.best.room = math.Inf(-1)
	}
	return h
}

// settle decides a search that ran out of budget between a bound below the need
// and a witness above it: a second one with more budget looks only at what may
// still fall short.
func (p *prover) settle(v *keepout.Volume, f *keepout.Field, n near) near {
	if !n.full || n.room >= 0 || n.seen < 0 {
		return n
	}
	m := p.hunt(v, f, nil, 0, 10*huntWork)
	if m.cert >= 0 {
		n.room = 0
	}
	return n
}

func (p *prover) margin(check string, v *keepout.Volume, n *near, pr *program) Margin {
	at := n.tip
	d := v.Frame.Inverse().Apply(n.at)
	m := Margin{Check: check, Member: v.Name, MarginMM: n.room + n.need, NeededMM: n.need, File: pr.src.File,
		Line: pr.lineOf(n.move), At: &at, Drawing: &[2]float64{d.X, d.Y}, Body: n.body, Budget: n.shares}
	if c := p.cutAt(geom.Pt(at[0], at[1])); c >= 0 {
		m.Cut = p.w.Cuts[c].Name
	}
	return m
}

// intrusion reports a volume that is not kept clear, with a repair.
func (p *prover) intrusion(v *keepout.Volume, f *keepout.Field, n *near) {
	pr := p.progs[n.prog]
	code, sev := "keepout-near", diag.Stop
	switch {
	case v.Kind == keepout.Clamp:
		code = "clamp-near"
	case n.body == bodyHolder && v.Kind != keepout.Rib && v.Kind != keepout.Wire && v.Kind != keepout.Other:
		code = "holder-near"
	case v.Kind == keepout.Rib || v.Kind == keepout.Wire || v.Kind == keepout.Other:
		code, sev = "rib-entered", diag.Confirm
	}
	tip := geom.Pt(n.tip[0], n.tip[1])
	cut := p.cutAt(tip)
	who, frame := "the "+n.body, v.Frame
	if cut >= 0 {
		who, frame = p.w.Cuts[cut].Name, p.w.Cuts[cut].Frame
	}
	have, by := n.room+n.need, -n.room
	fd := diag.Finding{Code: code, Severity: sev, Subject: pr.src.File, Member: v.Name,
		Message: fmt.Sprintf("%s comes within %.3f mm of %s, %.3f mm needed", who, math.Max(0, have), v.Name, n.need)}
	if n.body != bodyCutter && cut >= 0 {
		fd.Message = fmt.Sprintf("the %s comes within %.3f mm of %s while cutting %s, %.3f mm needed", n.body, math.Max(0, have), v.Name, who, n.need)
	}
	fd = fd.With(have, n.need, "mm")
	if cut >= 0 {
		fd.Cut = p.w.Cuts[cut].Name
	}
	fd.Help = p.wayOut(v, f, n, tip, frame, by)
	if sev == diag.Confirm {
		fd.Accepted = v.Accept || p.allAccepted(v, f, code)
		if !fd.Accepted {
			fd.Help += fmt.Sprintf(`, or accept = [%q] under the cut if that very one may be entered`, acceptKey(code, v.Name))
		}
	}
	p.fault("members", p.place(fd, frame, n.tip, pr, n.move))
}

// wayOut says in which direction and how far the cut has to move, in the drawing's frame.
func (p *prover) wayOut(v *keepout.Volume, f *keepout.Field, n *near, tip geom.Point, frame geom.Rigid, by float64) string {
	if n.heights && f.Inside(tip) {
		return fmt.Sprintf("cut %.3f mm less deep over %s, or move the cut clear of it", by, v.Name)
	}
	dir := tip.Sub(n.at)
	if f.Inside(tip) {
		q, _, ok := f.Nearest(tip)
		if ok {
			dir = q.Sub(tip)
			by += q.Dist(tip)
		}
	}
	if dir.Len() == 0 {
		return "move the cut clear of " + v.Name
	}
	d := frame.Inverse().ApplyVector(dir.Unit())
	what := "move the cut"
	if n.body != bodyCutter {
		what = "use a longer stick-out, or move the cut"
	}
	return fmt.Sprintf("%s %.3f mm toward %s on the drawing", what, by, compass(d))
}

// compass names a direction on the drawing.
func compass(d geom.Point) string {
	x, y := "+X", "+Y"
	if d.X < 0 {
		x = "-X"
	}
	if d.Y < 0 {
		y = "-Y"
	}
	switch ax, ay := math.Abs(d.X), math.Abs(d.Y); {
	case ax < 0.02:
		return y
	case ay < 0.02:
		return x
	default:
		return fmt.Sprintf("%s%.2f %s%.2f", x[:1]+x[1:], ax, y, ay)
	}
}

// allAccepted tells whether every move that enters the volume lies in a cut that
// accepts it.
func (p *prover) allAccepted(v *keepout.Volume, f *keepout.Field, code string) bool {
	some := false
	for i := range p.w.Cuts {
		some = some || p.accepts(i, code, v.Name)
	}
	if !some {
		return false
	}
	rest := p.nearest(v, f, func(prog, move int) bool {
		return !p.acceptedMove(prog, move, code, v.Name)
	})
	return rest.move < 0 || rest.room >= 0
}

// acceptedMove tells whether a move belongs to a cut that accepts the code for a
// member: its whole footprint lies in the place of that cut.
func (p *prover) acceptedMove(prog, move int, code, member string) bool {
	pr := p.progs[prog]
	t := pr.toolOf(move)
	if t < 0 {
		return false
	}
	c := newCurve(&pr.replay.Moves[move])
	for i := range p.w.Cuts {
		if p.accepts(i, code, member) && p.w.Cuts[i].Cutter == t && p.areas.holdsCurve(i, &c, p.tools[t].cutter.Diameter/2) {
			return true
		}
	}
	return false
}

// acceptKey is what a cut says to accept a finding about one member.
func acceptKey(code, member string) string { return code + ": " + member }

// accepts tells whether the job accepts a finding about a member under cut i: it
// has to name the member, since a cut that was moved may meet another one.
func (p *prover) accepts(i int, code, member string) bool {
	key := acceptKey(code, member)
	for _, a := range p.w.Accepted {
		if a.Cut == p.w.Cuts[i].Name && a.Code == key {
			return true
		}
	}
	return has(p.w.Cuts[i].Accept, key)
}

func has(list []string, s string) bool {
	for _, v := range list {
		if v == s {
			return true
		}
	}
	return false
}
