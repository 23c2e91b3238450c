package job

import (
	"context"
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/skin"
)

const (
	// leastSafe is the least height of rapids above the highest thing, mm: what
	// touches do not see between them; common practice, no source.
	leastSafe = 1.0
	// zeroSpare is how far the zero may lie from all that is known of the skin, mm,
	// when it was touched off on the skin; common practice, no source.
	zeroSpare = 3.0
)

// zeroHolds compares the heights of a wing with where the job says that Z zero is:
// heights of another zero, of another unit or with a lost sign agree with
// themselves, and only here with nothing else.
func (s *state) zeroHolds(cuts geom.Box) {
	if s.w.Sheet {
		return
	}
	lo, hi := s.w.Skin.Range(cuts)
	if f, ok := skin.FittedOf(s.w.Skin); ok {
		for _, p := range f.Places() {
			z := s.w.Skin.Height(p)
			lo, hi = math.Min(lo, z), math.Max(hi, z)
		}
	}
	deep := 0.0
	for _, c := range s.w.Cuts {
		deep = math.Max(deep, c.Depth)
	}
	line, col := s.pos.Of("zero")
	doubt := func(severity diag.Severity, message, help string) {
		s.add(diag.Finding{Code: "zero-doubtful", Severity: severity, Input: severity == diag.Stop, Subject: s.req.Name, Message: message, Help: help}.AtLine(s.req.Name, line, col))
	}
	const check = "compare zero with the heights: were they touched from that zero, in mm, with their sign?"
	reach := s.w.Machine.TravelMax[2] - s.w.Machine.TravelMin[2]
	switch {
	case s.w.Zero == "skin" && (lo > zeroSpare || hi < -zeroSpare):
		doubt(diag.Confirm, fmt.Sprintf("zero is the skin, but the skin lies at %.2f to %.2f mm wherever it is known", lo, hi), check)
	case s.w.Zero == "table" && lo < deep:
		doubt(diag.Stop, fmt.Sprintf("zero is the table and the skin lies at %.2f to %.2f mm: cutting %.2f mm deep would go into the table", lo, hi, deep), check)
	case s.w.Zero == "table" && lo < s.w.Floor && s.w.Hollow:
		doubt(diag.Confirm, fmt.Sprintf("zero is the table and the skin lies at %.2f to %.2f mm: the floor, %.2f mm below it, would lie in the table", lo, hi, s.w.Floor), check)
	case s.w.Zero == "table" && reach > 0 && hi > reach:
		doubt(diag.Confirm, fmt.Sprintf("zero is the table and the skin lies at %.2f to %.2f mm, higher than the Z travel of %.0f mm", lo, hi, reach), check)
	}
}

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
	if v := s.file.Safe; v != nil && !(*v >= leastSafe) {
		s.stop("safe", "not-positive", fmt.Sprintf("safe is %g mm, at least %g mm needed", float64(*v), leastSafe), "give the height of rapids above the highest thing")
	}
	s.zeroHolds(box)
	if len(s.w.Cutters) == 0 {
		s.add(diag.Finding{Code: "cutter-missing", Severity: diag.Stop, Input: true, Subject: s.req.Name, Message: "no cutter is used", Help: "name a cutter"})
	}
}
