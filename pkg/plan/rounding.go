package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// cornerTurn is the least turn of a path that a machine rounds noticeably, rad.
const cornerTurn = 0.2

// CornerRounding returns how far a machine that does not stop stays off a corner
// of its path, mm: one axis slows down while the other speeds up. turn is the
// change of direction (rad), feed in mm/min, accel in mm/s². For a square corner
// it is √2·v²/(8·a) (closed form); else v is replaced by what changes of it. 0 for
// an acceleration that is not stated.
func CornerRounding(turn, feed, accel float64) float64 {
	if !(accel > 0) {
		return 0
	}
	dv := 2 * feed / 60 * math.Sin(math.Min(math.Abs(turn), math.Pi)/2)
	return dv * dv / (8 * math.Sqrt2 * accel)
}

// rounded is how far the machine may stay off a corner: nothing when it stops or
// slows down there, and no more than the tolerance of blending where it has one.
func rounded(m *shop.Machine, turn, feed float64) float64 {
	e := CornerRounding(turn, feed, m.Accel)
	switch m.Controller.PathMode {
	case shop.PathBlend, shop.PathUnstated:
		if t := m.Controller.BlendTol; t > 0 {
			return math.Min(e, t)
		}
		return e
	}
	return 0
}

// judgeCorners warns where the machine rounds a corner of the cut by more than
// half of what the edge may be off.
func (p *planner) judgeCorners(ops []op) {
	m := &p.w.Machine
	for i := 0; i < len(ops); {
		k := i
		worst, at := 0.0, geom.Point{}
		for ; k < len(ops) && ops[k].cut == ops[i].cut; k++ {
			ls := ops[k].legs
			for n := 1; n < len(ls); n++ {
				a, b := &ls[n-1], &ls[n]
				if a.way != feeding || b.way != feeding || a.seg.A == a.seg.B || b.seg.A == b.seg.B || a.d1 < ops[k].deep-1e-6 {
					continue
				}
				u, v := a.seg.TangentB(), b.seg.TangentA()
				turn := math.Abs(math.Atan2(u.Cross(v), u.Dot(v)))
				if turn < cornerTurn {
					continue
				}
				if e := rounded(m, turn, math.Min(a.feed, b.feed)); e > worst {
					worst, at = e, b.seg.A
				}
			}
		}
		c := &p.w.Cuts[ops[i].cut]
		i = k
		switch c.Kind {
		case work.Opening, work.PartCut, work.Pocket, work.Rebate, work.Slot, work.Door:
		default:
			continue
		}
		if limit := c.Tol / 2; limit > 0 && worst > limit {
			j := &job{planner: p, c: c}
			f := j.finding(diag.Warn, "corner-rounded", fmt.Sprintf("at %.0f mm/min the machine rounds a corner by %.3f mm", c.Feed, worst),
				"feed slower, let the controller stop exactly (path_mode), or give it a smaller blending tolerance")
			j.add(j.at(f.With(worst, limit, "mm"), at))
		}
	}
}
