package shop

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// Pass is one pass of a cutter for the count of its life.
type Pass struct {
	Name   string  // of the cut
	Length float64 // of the path on the plan, mm
	Depth  float64 // of the material it takes, mm; 0 for a pass in the air
	Again  bool    // runs over an outline that an earlier pass ran over
}

// Wear is what a row of passes takes out of a cutter.
type Wear struct {
	PathMetres float64  // length of the outlines, each counted once
	PassMetres float64  // length cut, all passes: what wears the cutter
	SweptArea  float64  // cm²: length times depth, the edge that has cut
	Used       float64  // PassMetres and what was cut before, over the life; 0 when the life is unknown
	Changes    []Change // where a fresh cutter is needed
}

// Change is a point at which a fresh cutter is put in: before pass number Before
// (from 0).
type Change struct {
	Before int
	Name   string  // of the cut whose pass it is
	Metres float64 // cut since the start or the last change, m
}

// CutterWear counts the life of one cutter over its passes in order. life and used
// are in m of cutting length; life 0 means unknown, then nothing is changed. A
// change falls between two passes, never within one, so that no edge shows a
// step; a single pass longer than the life is cut with a fresh cutter and
// reported. The finding "life-exceeded" is to be confirmed, with the change
// points; "life-pass" means that one pass alone outlasts a cutter.
func CutterWear(passes []Pass, life, used float64) (Wear, diag.List) {
	var w Wear
	var list diag.List
	for _, v := range append([]float64{life, used}, flat(passes)...) {
		if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
			return w, diag.List{diag.Finding{Code: "number-bad", Severity: diag.Stop, Input: true,
				Message: "length or life of a cutter is negative or not finite", Help: "give lengths of 0 or more"}}
		}
	}
	since := used
	for i, p := range passes {
		if !p.Again {
			w.PathMetres += p.Length / 1000
		}
		if p.Depth == 0 {
			continue
		}
		m := p.Length / 1000
		w.PassMetres += m
		w.SweptArea += p.Length * p.Depth / 100
		if life > 0 && since > 0 && since+m > life*(1+1e-9) {
			w.Changes = append(w.Changes, Change{i, p.Name, since})
			since = 0
		}
		if life > 0 && m > life*(1+1e-9) {
			list.Add(diag.Finding{Code: "life-pass", Severity: diag.Warn, Cut: p.Name,
				Message: fmt.Sprintf("one pass of %s is %.1f m long, a cutter lasts %.1f m", p.Name, m, life),
				Help:    "divide the cut, or take a cutter that lasts longer"}.With(m, life, "m"))
		}
		since += m
	}
	if life > 0 {
		w.Used = (w.PassMetres + used) / life
	}
	if len(w.Changes) > 0 {
		c := w.Changes[0]
		list.Add(diag.Finding{Code: "life-exceeded", Severity: diag.Confirm,
			Message: fmt.Sprintf("cutter is blunt after %.1f m, the job cuts %.1f m and %.1f m were cut before; fresh ones needed: %d, the first before %s, pass %d",
				life, w.PassMetres, used, len(w.Changes), c.Name, c.Before+1),
			Help: "have that many cutters ready, or accept a blunt one"}.With(w.PassMetres+used, life, "m"))
	}
	return w, list
}

func flat(passes []Pass) []float64 {
	out := make([]float64, 0, 2*len(passes))
	for _, p := range passes {
		out = append(out, p.Length, p.Depth)
	}
	return out
}
