package proof

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"sort"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// Source is the text of one program.
type Source struct {
	File string
	Text []byte
}

// program is a program as it was read.
type program struct {
	src    Source
	replay *rs274.Replay
	tools  []int       // of each state: index into prover.tools, -1 unknown
	trees  []*moveTree // runs of moves with one cutter
	blend  float64     // largest rounding of corners, mm
	sums   func() sums // waits for lengths and times
}

// prover holds a job and the programs that are held against it.
type prover struct {
	ctx      context.Context
	w        *work.Work
	progs    []*program
	tools    []tool // one for each cutter of the work
	budgets  []budget
	areas    *areas
	flat     bool
	level    float64
	findings diag.List
	cert     *Certificate
	names    []string // of the checks, in order
	checks   map[string]*Check
	detail   map[string][]string
	verdicts [][]verdict // of each move of each program: what it does to the material

	cutting []Cutting         // of each cut, empty name: none
	past    []float64         // of each cut: how far past its edge it goes at most, mm; -Inf not at all
	bottom  []map[int]float64 // see bottoms
	engages func() []engaged  // waits for what depth set going
	chips   float64           // thickness from which no loose piece goes unseen, mm; 0 nothing came loose
}

// checkNames lists the seven checks, in order.
func checkNames() []string {
	return []string{"members", "depth", "rapids", "shape", "holding", "travel", "sense"}
}

// Prove reads the programs, in the order in which they run, and holds every move
// against the work. The certificate is never nil; its OK is true only if every
// check holds and nothing was left unread. The findings are the certificate's
// own, sorted. Cost grows with n log n in the moves. The result depends on
// nothing but its arguments, however many processors there are.
func Prove(ctx context.Context, w *work.Work, programs []Source) (*Certificate, diag.List) {
	p := &prover{ctx: ctx, w: w, names: checkNames(), checks: map[string]*Check{}, detail: map[string][]string{}}
	return p.run(programs, func() []func() {
		return []func(){p.members, p.depth, p.sunken, p.travel, p.sense, p.engagement, p.coverage, p.holding}
	})
}

// run reads the programs and carries out the steps.
func (p *prover) run(programs []Source, steps func() []func()) (*Certificate, diag.List) {
	ctx, w := p.ctx, p.w
	p.cert = &Certificate{Schema: Schema, Tool: "sparclear", Title: w.Title, Programs: []ProgramInfo{}, Inputs: []InputInfo{}, Margins: []Margin{}, Fibre: fibreOf(w)}
	for _, n := range p.names {
		p.checks[n] = &Check{Name: n, OK: true}
	}
	for _, in := range w.Inputs {
		p.cert.Inputs = append(p.cert.Inputs, InputInfo{in.Role, in.File, in.SHA256})
	}
	p.cert.Inputs = append(p.cert.Inputs, profilesOf(w)...)
	read := p.promises()
	if read {
		p.flat = w.Skin.Flat()
		p.level = w.Skin.Height(geom.Point{})
		read = p.read(programs)
	}
	if read {
		p.areas = newAreas(w)
		for _, step := range steps() {
			if ctx.Err() != nil {
				break
			}
			step()
		}
		if p.engages != nil {
			p.engages()
		}
	}
	if err := ctx.Err(); err != nil {
		p.fault("", diag.Finding{Code: "proof-stopped", Severity: diag.Stop, Message: "the proof was stopped before its end: " + err.Error(), Help: "run it again"})
		read = false
	}
	p.finish(read)
	return p.cert, p.cert.Findings
}

// fault records a finding under a check; a blocking one fails the check.
func (p *prover) fault(check string, f diag.Finding) {
	if f.Blocks() {
		if c := p.checks[check]; c != nil {
			c.OK = false
		} else {
			for _, n := range p.names {
				p.checks[n].OK = false
			}
		}
	}
	p.findings.Add(f)
}

// say adds a sentence to the detail of a check.
func (p *prover) say(check, format string, a ...any) {
	p.detail[check] = append(p.detail[check], fmt.Sprintf(format, a...))
}

// read replays the programs. It reports false when anything was not read.
func (p *prover) read(programs []Source) bool {
	for i := range p.w.Cutters {
		t := newTool(p.w.Cutters[i], p.w.Machine.Holder)
		p.tools = append(p.tools, t)
	}
	if len(programs) == 0 {
		p.fault("", diag.Finding{Code: "program-missing", Severity: diag.Stop, Subject: p.w.Name, Message: "there is no program to prove", Help: "plan the job first"})
		return false
	}
	ok := true
	for _, src := range programs {
		sum := sha256.Sum256(src.Text)
		r, faults := rs274.Read(src.File, src.Text, ReadOptions(p.w))
		for _, f := range faults {
			p.fault("", f)
			ok = ok && !f.Blocks()
		}
		pr := &program{src: src, replay: r}
		info := ProgramInfo{File: src.File, SHA256: hex.EncodeToString(sum[:])}
		if r != nil {
			info.Moves, info.Blocks = len(r.Moves), r.Blocks
			pr.sums = ahead(func() sums { return sumsOf(r, p.w.Machine) })
		} else {
			ok = false
		}
		p.cert.Programs = append(p.cert.Programs, info)
		p.progs = append(p.progs, pr)
	}
	if !ok {
		return false
	}
	for _, pr := range p.progs {
		p.determined(pr, ReadOptions(p.w))
		p.assignTools(pr)
		pr.blend = p.blending(pr)
	}
	worst := 0.0
	for _, pr := range p.progs {
		worst = math.Max(worst, pr.blend)
	}
	for _, t := range p.tools {
		p.budgets = append(p.budgets, newBudget(p.w, t, worst))
	}
	for _, pr := range p.progs {
		pr.trees = p.plant(pr)
	}
	return true
}

// sums are what a program adds up to.
type sums struct {
	feed, rapid float64    // length of path, mm
	time        [2]float64 // lowest, highest, s
}

func sumsOf(r *rs274.Replay, m shop.Machine) sums {
	var s sums
	for i := range r.Moves {
		c := newCurve(&r.Moves[i])
		if l := c.length(); r.Moves[i].Motion == rs274.Rapid {
			s.rapid += l
		} else {
			s.feed += l
		}
	}
	s.time[0], s.time[1] = rs274.Time(r, m)
	return s
}

// plant makes a tree for every run of moves with one cutter.
func (p *prover) plant(pr *program) []*moveTree {
	var out []*moveTree
	m := pr.replay.Moves
	for a := 0; a < len(m); {
		t := pr.toolOf(a)
		b := a + 1
		for b < len(m) && pr.toolOf(b) == t {
			b++
		}
		if t >= 0 {
			out = append(out, newMoveTree(m[a:b], a, t, p.w.Skin))
		}
		a = b
	}
	return out
}

// ReadOptions are what the reader must know of the machine of a work. The tip is
// taken to stand at safe height before the program begins, which is an assumption
// that the certificate names. Pictures read programs by the same options.
func ReadOptions(w *work.Work) rs274.Options {
	c := w.Machine.Controller
	o := rs274.Options{ArcTol: c.ArcTol, Start: [3]float64{0, 0, w.SafeZ}}
	if at := w.Origin; at != nil {
		o.Parameters = map[int]float64{5221: at[0], 5222: at[1], 5223: at[2]} // of G54
	}
	for _, s := range []string{c.DustOn, c.DustOff} {
		if s != "" {
			o.Aux = append(o.Aux, s)
		}
	}
	for _, c := range w.Cutters {
		o.Slots = max(o.Slots, c.Number, 99)
	}
	return o
}

// toolOf returns the cutter that is in the spindle during move i.
func (pr *program) toolOf(i int) int { return pr.tools[pr.replay.Moves[i].State] }

// blending returns the largest distance from a programmed corner, mm.
func (p *prover) blending(pr *program) float64 {
	c := p.w.Machine.Controller
	worst, unknown := 0.0, false
	for i := range pr.replay.States {
		s := &pr.replay.States[i]
		switch {
		case s.PathMode == "G61" || s.PathMode == "G61.1":
			if c.PathMode == shop.PathUnstated {
				worst = math.Max(worst, c.BlendTol)
			}
		case s.PathMode == "G64" && s.BlendTol > 0:
			worst = math.Max(worst, s.BlendTol)
			if c.PathMode == shop.PathUnstated { // which may not know the word
				worst = math.Max(worst, c.BlendTol)
			}
		default:
			b := c.BlendTol
			if b <= 0 && p.w.Machine.Accel > 0 { // √2·v²/(8a), a right-angled corner at full feed
				v := p.w.Machine.FeedXY / 60
				b = math.Sqrt2 * v * v / (8 * p.w.Machine.Accel)
			}
			if b <= 0 && s.PathMode == "G64" {
				unknown = true
			}
			worst = math.Max(worst, b)
		}
	}
	if unknown {
		p.fault("", diag.Finding{Code: "path-mode", Severity: diag.Stop, Subject: pr.src.File, Message: "corners are blended (G64) by nobody knows how much",
			Help: "write G61 or G64 with P, or give the acceleration of the machine"})
	}
	return worst
}

// finish writes verdicts and findings into the certificate.
func (p *prover) finish(read bool) {
	c := p.cert
	p.statements()
	list := p.findings.Sorted()
	c.Findings = list
	if c.Findings == nil {
		c.Findings = diag.List{}
	}
	c.OK = read && !list.Blocks()
	for _, n := range p.names {
		k := p.checks[n]
		if !read {
			k.OK = false
			if len(p.detail[n]) == 0 {
				k.Detail = "not carried out: the program was not read to its end"
			}
		}
		if d := p.detail[n]; len(d) > 0 {
			k.Detail = strings.Join(d, "; ")
		}
		c.OK = c.OK && k.OK
		c.Checks = append(c.Checks, *k)
	}
	sort.SliceStable(c.Margins, func(i, j int) bool {
		a, b := &c.Margins[i], &c.Margins[j]
		if a.Check != b.Check {
			return a.Check < b.Check
		}
		if ra, rb := a.MarginMM-a.NeededMM, b.MarginMM-b.NeededMM; ra != rb {
			return ra < rb
		}
		return a.Member < b.Member
	})
	for i := range c.Margins {
		m := &c.Margins[i]
		m.MarginMM, m.NeededMM = number(m.MarginMM), number(m.NeededMM)
		for k := range m.Budget {
			m.Budget[k].MM = number(m.Budget[k].MM)
		}
	}
	for i, pr := range p.progs {
		if pr.sums == nil {
			continue
		}
		s, info := pr.sums(), &c.Programs[i]
		info.FeedMM, info.RapidM = s.feed, s.rapid
		for k := range s.time {
			info.TimeS[k] = number(s.time[k])
		}
	}
	for _, f := range list {
		if f.Accepted {
			c.Accepted = append(c.Accepted, f.Code+": "+f.Message)
		}
	}
	for _, a := range p.w.Accepted {
		c.Accepted = append(c.Accepted, a.Code+" under "+a.Cut)
	}
}

// number holds v to what JSON can say: what has no bound becomes a million.
func number(v float64) float64 {
	const most = 1e6
	if math.IsNaN(v) {
		return -most
	}
	return math.Max(-most, math.Min(most, v))
}

// statements lists what the certificate assumes and what it does not check.
func (p *prover) statements() {
	w, c := p.w, p.cert
	say := func(s string) { c.Assumptions = append(c.Assumptions, s) }
	say("before each program the tip stands at safe height or above, outside everything that is kept")
	say("lengths of cutters are set by touching, so that the tip is where the program says, as nearly as a height is touched")
	say("the work lies as it was touched and does not move; what is protected lies where it is drawn")
	say("errors: bounds add linearly, random parts as root of the sum of squares with coverage factor 2")
	say("a rapid may take any path in the box between its ends")
	if p.chips > 0 {
		say(fmt.Sprintf("what comes loose and is thinner than %.2f mm may count as chips, up to %.2f mm it always does", p.chips, foil))
	}
	if w.Origin == nil {
		c.NotChecked = append(c.NotChecked, "where the program lies within the travel of the machine: the origin is not known; only its size was compared")
	}
	if len(w.Machine.Holder) == 0 {
		c.NotChecked = append(c.NotChecked, "the holder: the machine gives no sizes for it")
	}
	for i := range p.tools {
		if t := &p.tools[i]; !t.known && len(w.Machine.Holder) > 0 {
			c.NotChecked = append(c.NotChecked, fmt.Sprintf("how far %s sticks out: it is taken as its flute length", t.cutter.Name))
		}
	}
	if !w.ClampsSaid {
		c.NotChecked = append(c.NotChecked, "clamps: the job says nothing about them")
	}
	if math.IsInf(w.Floor, 1) {
		c.NotChecked = append(c.NotChecked, "what lies below: the job gives no floor; each cut keeps to its own depth")
	}
	if p.areas != nil && p.areas.stock == nil && len(w.Cuts) > 0 {
		c.NotChecked = append(c.NotChecked, "what comes loose between a cut and the edge of the panel: the job gives no outline of the panel")
	}
	if len(w.Members) == 0 {
		c.NotChecked = append(c.NotChecked, "members: the job names none")
	}
	c.NotChecked = append(c.NotChecked, "bending of the cutter, wear, and what the work does under the cutting force")
}

// place adds the places of a finding: on the drawing through frame, on the
// machine, and in the program.
func (p *prover) place(f diag.Finding, frame geom.Rigid, tip [3]float64, pr *program, move int) diag.Finding {
	d := frame.Inverse().Apply(geom.Pt(tip[0], tip[1]))
	f = f.On(d.X, d.Y).AtMachine(tip[0], tip[1], tip[2])
	if pr != nil && move >= 0 && move < len(pr.replay.Moves) {
		f = f.AtLine(pr.src.File, int(pr.replay.Moves[move].Line), 0)
	}
	return f
}
