package job

import (
	"context"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
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
		_, l := shop.CutterWear(passes, s.life[i], s.file.Used[name]+s.worn[name])
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

// judgeFibre notes edges of a part that run against the fibre, on its drawing: once
// for all copies that lie the same way.
func (s *state) judgeFibre(name string, g geom.Region, frame geom.Rigid) {
	if s.w.Fibre == nil || !s.w.Material.Fibre {
		return
	}
	fibre := frame.Inverse().ApplyVector(geom.Polar(geom.Point{}, 1, *s.w.Fibre)).Angle()
	if frame.Mirror { // a part turned over is cut as its mirror image
		g = g.Transform(geom.Rigid{Mirror: true})
		fibre = -fibre
	}
	for _, f := range shop.JudgeFibre(g, fibre) {
		f.Subject = name
		f.Severity = diag.Note // nothing is to be done about it on a given part
		if !s.said(f) {        // of another copy that lies the same way
			s.add(f)
		}
	}
}
