package proof

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
)

// assignTools tells which cutter stands in the spindle in each state. A
// controller without a word for it asks the operator in a message; then the
// message is what counts, since it is what the operator acts upon. Where
// neither word nor message names a cutter of the job, the moves are not proven.
func (p *prover) assignTools(pr *program) {
	r := pr.replay
	pr.tools = make([]int, len(r.States))
	moved := make([]bool, len(r.States))
	for i := range r.Moves {
		moved[r.Moves[i].State] = true
	}
	asked := p.askedFor(pr)
	change := p.w.Machine.Controller.ToolChange
	byHand := change == shop.ChangePause || change == shop.ChangeFiles // no M6 is needed
	for i := range r.States {
		s := &r.States[i]
		pr.tools[i] = -1
		said := p.toolNumber(s.Cutter())
		switch {
		case asked[i] == unclear:
		case s.Tool > 0 || byHand && s.Selected > 0:
			// Word and message have to agree: nobody knows which one was followed.
			if asked[i] < 0 || asked[i] == said {
				pr.tools[i] = said
			}
		case !byHand:
		case asked[i] >= 0:
			pr.tools[i] = asked[i]
		case len(p.tools) == 1:
			pr.tools[i] = 0
		}
		if pr.tools[i] >= 0 || !moved[i] {
			continue
		}
		if s.Tool == 0 && onlyLifts(r, int32(i)) {
			// Lifting at the head, before a cutter is called, harms with none: it is
			// held against the widest one.
			for k := range p.tools {
				if pr.tools[i] < 0 || p.tools[k].reach > p.tools[pr.tools[i]].reach {
					pr.tools[i] = k
				}
			}
			continue
		}
		line := 0
		for k := range r.Moves {
			if int(r.Moves[k].State) == i {
				line = int(r.Moves[k].Line)
				break
			}
		}
		msg, help := "no cutter is named before the tip moves", "name the cutter by T and M6, or in the message of a pause: (MSG, load T2)"
		if n := max(s.Tool, 0); n > 0 {
			msg, help = fmt.Sprintf("cutter T%d is not one of the job", n), "call one of the cutters that the job names"
		}
		p.fault("sense", diag.Finding{Code: "wrong-cutter", Severity: diag.Stop, Subject: pr.src.File, Message: msg, Help: help}.AtLine(pr.src.File, line, 0))
	}
}

// onlyLifts tells whether all moves of a state are rapids straight up.
func onlyLifts(r *rs274.Replay, state int32) bool {
	for i := range r.Moves {
		m := &r.Moves[i]
		if m.State == state && (m.Motion != rs274.Rapid || m.From[0] != m.To[0] || m.From[1] != m.To[1] || m.To[2] < m.From[2]) {
			return false
		}
	}
	return true
}

func (p *prover) toolNumber(n int) int {
	for i := range p.tools {
		if p.tools[i].cutter.Number == n {
			return i
		}
	}
	return -1
}

var loadWord = regexp.MustCompile(`(?i)\bT0*(\d+)\b`)

// unclear stands for a cutter that messages name in two ways.
const unclear = -2

// askedFor returns for each state the cutter that the last pause asked for, -1
// when none did or a word called one after it, unclear when it was asked for in
// two ways. A message counts for the pause that follows it, or that it stands
// behind on the same line; a remark that is no message counts only where nothing
// has moved yet and neither word nor message names a cutter.
func (p *prover) askedFor(pr *program) []int {
	r := pr.replay
	out := make([]int, len(r.States))
	set := make([]bool, len(r.States))
	cur, named, remark := -1, -1, -1
	start := true // the beginning counts as a pause: the operator sets the machine up
	pauseLine := int32(-1)
	paused := false
	e := 0
	for i := range r.Moves {
		for ; e < len(r.Events) && int(r.Events[e].Before) <= i; e++ {
			ev := &r.Events[e]
			switch ev.Kind {
			case rs274.Pause:
				paused, pauseLine = true, ev.Line
			case rs274.ToolChange:
				cur, named = -1, -1
			case rs274.Message:
				if t := p.toolIn(ev.Text); t != -1 {
					named = t
				}
			case rs274.Comment:
				if t := p.toolIn(ev.Text); t != -1 && (start || paused && ev.Line == pauseLine) {
					if remark != -1 && remark != t {
						t = unclear
					}
					remark = t
				}
			}
		}
		if paused || start {
			switch {
			case named != -1:
				cur = named
			case remark != -1 && r.States[r.Moves[i].State].Cutter() == 0:
				cur = remark
			}
			named, remark, paused, start = -1, -1, false, false
		}
		s := r.Moves[i].State
		if set[s] && out[s] != cur {
			out[s] = unclear // one state with two cutters
			continue
		}
		out[s], set[s] = cur, true
	}
	return out
}

// toolIn finds the cutter that a message names, by number or by name: -1 none,
// unclear when it names one that the job does not know.
func (p *prover) toolIn(text string) int {
	if m := loadWord.FindStringSubmatch(text); m != nil {
		if n, err := strconv.Atoi(m[1]); err == nil {
			if t := p.toolNumber(n); t >= 0 {
				return t
			}
		}
		return unclear
	}
	best, longest := -1, 0
	for i := range p.tools {
		if n := p.tools[i].cutter.Name; len(n) > longest && strings.Contains(strings.ToLower(text), strings.ToLower(n)) {
			best, longest = i, len(n)
		}
	}
	return best
}

// lineOf returns the program line of a move.
func (pr *program) lineOf(i int) int {
	if i < 0 || i >= len(pr.replay.Moves) {
		return 0
	}
	return int(pr.replay.Moves[i].Line)
}
