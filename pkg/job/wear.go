package job

import (
	"context"
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// countWear counts what every cutter cuts against its life, and says where it
// has to be changed.
func countWear(_ context.Context, s *state) {
	for i, c := range s.w.Cutters {
		var passes []shop.Pass
		for _, prog := range s.res.Paths {
			for _, p := range prog.Paths {
				if p.Cutter == i {
					for _, l := range feedRuns(p.Moves) {
						passes = append(passes, shop.Pass{Name: p.Cut, Length: l, Depth: 1})
					}
				}
			}
		}
		name := s.cutterName(i)
		wear, l := shop.CutterWear(passes, s.life[i], s.file.Used[name]+s.worn[name])
		told := work.Wear{Cutter: i, Metres: wear.PassMetres, Before: s.file.Used[name] + s.worn[name], Life: s.life[i]}
		for _, c := range wear.Changes {
			told.Changes = append(told.Changes, work.Change{Cut: c.Name, Metres: c.Metres})
		}
		s.w.Wear = append(s.w.Wear, told)
		for _, p := range passes {
			s.worn[name] += p.Length / 1000
		}
		for _, f := range l {
			f.Subject = c.Name
			s.add(f)
		}
	}
}

// cutterName is how the job calls a cutter.
func (s *state) cutterName(index int) string {
	for name, i := range s.cutters {
		if i == index {
			return name
		}
	}
	return ""
}

// feedRuns are the lengths of the moves at feed between two rapids, mm: a cutter
// can be changed where it is out of the work.
func feedRuns(moves []toolpath.Move) []float64 {
	var out []float64
	run := 0.0
	for i, m := range moves {
		if i == 0 || m.Kind == toolpath.Rapid {
			if run > 0 {
				out = append(out, run)
			}
			run = 0
			continue
		}
		a, b := geom.Pt(moves[i-1].X, moves[i-1].Y), geom.Pt(m.X, m.Y)
		l := a.Dist(b)
		if m.Kind == toolpath.Arc {
			if a == b {
				l = 2 * math.Pi * a.Dist(m.Center)
			} else {
				l = geom.ArcThrough(a, b, m.Center, m.CCW).Length()
			}
		}
		run += math.Hypot(l, m.Z-moves[i-1].Z)
	}
	if run > 0 {
		out = append(out, run)
	}
	return out
}

// judgeFibre notes part edges that run against the fibre, on the part's drawing.
func (s *state) judgeFibre(name string, g geom.Region, frame geom.Rigid) {
	if s.w.Fibre == nil || !s.w.Material.Fibre {
		if s.w.Material.Fibre {
			s.fibreUnstated()
		}
		return
	}
	fibre := frame.Inverse().ApplyVector(geom.Polar(geom.Point{}, 1, *s.w.Fibre)).Angle()
	if frame.Mirror { // a part turned over is cut as its mirror image
		g = g.Transform(geom.Rigid{Mirror: true})
		fibre = -fibre
	}
	s.noteFibre(name, "", g, fibre)
}

// noteFibre adds what is found about the edges of a region that stays.
func (s *state) noteFibre(name, cut string, g geom.Region, fibre float64) {
	for _, f := range shop.JudgeFibre(g, fibre) {
		f.Subject, f.Cut = name, cut
		f.Severity = diag.Note // nothing is to be done about it on a given part
		s.add(f)
	}
}

// fibreUnstated notes once that a plate of fibres says nothing of their direction.
func (s *state) fibreUnstated() {
	f := diag.Finding{Code: "fibre-unstated", Severity: diag.Note, Subject: s.req.Name,
		Message: "the direction of the fibre is not stated, edges are not held against it", Help: "add fibre_deg to the sheet or the skin"}
	if !s.said(f) {
		s.add(f)
	}
}

// partFibre reports how the edges of a part meet the fibre, in program
// coordinates; nil when no direction is stated.
func (s *state) partFibre(g geom.Region) *shop.FibreReport {
	if s.w.Fibre == nil || !s.w.Material.Fibre {
		return nil
	}
	r := shop.ReportFibre(g, *s.w.Fibre, false)
	return &r
}

// cutFibre reports how the edges of a cut in a skin meet the fibre that the job
// states, and notes those that run against it.
func (s *state) cutFibre(out *work.Cut) {
	if s.w.Fibre == nil || s.w.Sheet || len(out.Regions) == 0 {
		return
	}
	hole := out.Kind != work.PartCut
	var sum shop.FibreReport
	for _, g := range out.Regions {
		sum = sum.Add(shop.ReportFibre(g, *s.w.Fibre, hole))
	}
	out.Fibre = &sum
	if !(sum.Against > 0) {
		return
	}
	f := diag.Finding{Code: "fibre-against", Severity: diag.Note, Subject: out.Name, Cut: out.Name,
		Message: fmt.Sprintf("%.0f mm of %.0f mm of edge are cut against the fibre of the top ply, where it splinters most easily", sum.Against, sum.Length),
		Help:    "use a sharp cutter, tape the skin, or leave a finish pass"}.With(sum.Against, sum.Length, "mm")
	for _, b := range sum.Bad[:min(3, len(sum.Bad))] {
		q := out.Frame.Inverse().Apply(b.From.Lerp(b.To, 0.5))
		f = f.On(q.X, q.Y)
	}
	s.add(f)
}
