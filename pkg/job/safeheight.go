package job

import (
	"context"
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// settleHeights fixes the height of rapids when everything that stands on the
// table is known.
func settleHeights(_ context.Context, s *state) {
	if s.w.Skin == nil {
		return
	}
	box := geom.EmptyBox()
	for _, c := range s.w.Cuts {
		box = box.Union(boxOf(c.Regions, c.Chains, c.Points))
	}
	if box.Empty() {
		s.stop("", "cuts-missing", "the job asks for no cut", "add a [[cut]] or a [[part]]")
		return
	}
	// The first rapid comes from wherever the tip stands: the program's zero and
	// the datums are where operators leave it.
	across := box.Extend(geom.Point{})
	for _, d := range s.w.Datums {
		across = across.Extend(d.Touched)
	}
	_, top := s.w.Skin.Range(across.Grow(20))
	u, bound := s.w.Skin.Error(across.Grow(20))
	top += 2*u + bound
	for _, c := range s.w.Clamps {
		_, z := s.w.Skin.Range(c.Bounds())
		top = math.Max(top, z-c.From+c.Clearance)
	}
	s.w.SafeZ = math.Ceil((top+lengthOr(s.file.Safe, defaultSafe))*10) / 10
	if v := s.file.Safe; v != nil && !(*v > 0) {
		s.stop("safe", "not-positive", fmt.Sprintf("safe is %g mm", float64(*v)), "give the height of rapids above the highest thing, above 0")
	}
	if len(s.w.Cutters) == 0 {
		s.add(diag.Finding{Code: "cutter-missing", Severity: diag.Stop, Input: true, Subject: s.req.Name, Message: "no cutter is used", Help: "name a cutter"})
	}
}
