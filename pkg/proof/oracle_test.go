package proof

import (
	"fmt"
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/work"
)

// judge is the oracle of the mutation run: it steps along every move and looks
// at single points. It shares nothing with the proof but the reader of the
// language. It answers with what is harmful, "" for nothing.
func judge(w *work.Work, r *rs274.Replay) string {
	if !r.Ended {
		return "no end"
	}
	if n := len(r.Moves); n == 0 || r.Moves[n-1].To[2] < w.SafeZ-0.001 {
		return "ends low"
	}
	var deep []geom.Point // where the tip went through the sheet
	var deepTool []float64
	cleared := map[[2]float64]float64{} // lowest Z at feed at one place
	for i := range r.Moves {
		m := &r.Moves[i]
		st := r.States[m.State]
		ci := -1
		for k := range w.Cutters {
			if w.Cutters[k].Number == st.Tool {
				ci = k
			}
		}
		if ci < 0 && st.Tool == 0 && m.Motion == rs274.Rapid && m.From[2] >= w.SafeZ && m.To[2] >= w.SafeZ {
			continue
		}
		if ci < 0 {
			return fmt.Sprintf("line %d: no cutter", m.Line)
		}
		c := w.Cutters[ci]
		rad := c.Diameter / 2
		n := 1 + int(m.Length()/0.1)
		var tips [][3]float64
		if m.Motion == rs274.Rapid {
			tips = places(*m, 4)
		} else {
			for k := 0; k <= n; k++ {
				tips = append(tips, m.At(float64(k)/float64(n)))
			}
		}
		for _, tip := range tips {
			// members and clamps
			for v := range w.Members {
				vol := &w.Members[v]
				for _, g := range vol.Footprint {
					d := 0.0
					at := geom.Pt(tip[0], tip[1])
					if !g.ContainsInterior(at) {
						d = g.Dist(at)
					}
					top := w.Skin.Height(at) - vol.From
					if math.Max(d-rad, 0) < vol.Clearance-1e-6 && tip[2] < top+vol.Clearance-0.03 && math.Hypot(math.Max(d-rad, 0), math.Max(0, tip[2]-top)) < vol.Clearance-0.03 {
						return fmt.Sprintf("line %d: %.3f mm from %s", m.Line, d-rad, vol.Name)
					}
				}
			}
			depth := w.Skin.Height(geom.Pt(tip[0], tip[1])) - tip[2]
			if depth > w.Floor {
				return fmt.Sprintf("line %d: floor", m.Line)
			}
			if depth <= 0.03 {
				continue
			}
			if m.Motion == rs274.Rapid {
				if m.From[0] == m.To[0] && m.From[1] == m.To[1] {
					low, ok := cleared[[2]float64{m.From[0], m.From[1]}]
					if m.To[2] >= m.From[2] || ok && tip[2] >= low-1e-9 {
						continue
					}
				}
				return fmt.Sprintf("line %d: rapid %.2f mm deep", m.Line, depth)
			}
			if st.Spindle != 1 || st.RPM < 5000 || st.RPM > 24000 {
				return fmt.Sprintf("line %d: spindle", m.Line)
			}
			why := allowedAt(w, tip, rad, depth, ci, m, st)
			if why != "" {
				return fmt.Sprintf("line %d: %s", m.Line, why)
			}
			if depth >= w.Thickness {
				deep = append(deep, geom.Pt(tip[0], tip[1]))
				deepTool = append(deepTool, rad)
			}
		}
		if m.Motion != rs274.Rapid {
			if low, ok := cleared[[2]float64{m.To[0], m.To[1]}]; !ok || m.To[2] < low {
				cleared[[2]float64{m.To[0], m.To[1]}] = m.To[2]
			}
		}
	}
	return unfinished(w, deep, deepTool)
}

// allowedAt looks whether some cut allows a cutter of radius rad to be there.
func allowedAt(w *work.Work, tip [3]float64, rad, depth float64, ci int, m *rs274.Move, st rs274.State) string {
	why := "outside every cut"
	for i := range w.Cuts {
		c := &w.Cuts[i]
		out := false
		for k := 0; k < 24 && !out; k++ {
			p := geom.Polar(geom.Pt(tip[0], tip[1]), rad-c.Tol-0.01, float64(k)*math.Pi/12)
			in := false
			for _, g := range c.Regions {
				in = in || g.ContainsInterior(p)
			}
			for _, q := range c.Points {
				in = in || p.Dist(q) <= c.Diameter/2+1e-9
			}
			if c.Kind == work.PartCut {
				in = !in
			}
			out = !in
		}
		if out {
			continue
		}
		switch {
		case depth > c.Limit:
			why = "limit of " + c.Name
		case c.Cutter != ci:
			why = "wrong cutter for " + c.Name
		case m.Feed > 1.5*c.Feed:
			why = "feed in " + c.Name
		case st.RPM > 1.5*c.RPM || st.RPM < c.RPM/1.5:
			why = "speed in " + c.Name
		default:
			return ""
		}
	}
	return why
}

// unfinished looks whether points of the outlines that the cutter can reach were
// not reached at full depth.
func unfinished(w *work.Work, deep []geom.Point, rads []float64) string {
	for i := range w.Cuts {
		c := &w.Cuts[i]
		r := w.Cutters[c.Cutter].Diameter / 2
		if c.Tabs.Count > 0 {
			continue
		}
		near := func(q geom.Point, d float64) bool {
			for k, p := range deep {
				if p.Dist(q) <= d+rads[k]-r {
					return true
				}
			}
			return false
		}
		for _, q := range c.Points {
			if !near(q, 0.1) && len(c.Regions) == 0 {
				return "hole not drilled in " + c.Name
			}
		}
		for _, g := range c.Regions {
			for _, k := range g.Contours() {
				for e := range k {
					s := k.Seg(e)
					n := 1 + int(s.Length()/0.5)
					for t := 0; t <= n; t++ {
						q := s.At(float64(t) / float64(n))
						corner := false
						for _, v := range k {
							corner = corner || v.Point.Dist(q) < 1.2*r && w.Cuts[i].Options["sharp"] > 0
						}
						if !corner && !near(q, r+c.Tol+0.1) {
							return fmt.Sprintf("%s not cut at %.2f %.2f", c.Name, q.X, q.Y)
						}
					}
				}
			}
		}
	}
	return ""
}
