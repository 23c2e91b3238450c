package job

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// Allowance is what a fit holds: a length by which each edge of the finished
// outline moves, outwards positive, or a tolerance class of ISO 286, of a hole
// ("H11"), a shaft ("h11") or both ("H11/h11").
type Allowance struct {
	Length Length
	Class  string // "" for a length
}

// Tolerance is how far a finished edge may lie from the drawn one: a length, or a
// class of general tolerances, "ISO 2768-m".
type Tolerance struct {
	Length Length
	Class  string // "f", "m", "c" or "v", "" for a length
}

var (
	fitClass     = regexp.MustCompile(`^[A-Za-z]{1,2}[0-9]{1,2}(/[A-Za-z]{1,2}[0-9]{1,2})?$`)
	generalClass = regexp.MustCompile(`^(?i:iso )?2768-([fmcv])$`)
)

// UnmarshalText reads a length or a class.
func (a *Allowance) UnmarshalText(b []byte) error {
	if text := string(b); fitClass.MatchString(text) {
		a.Class = text
		return nil
	}
	if err := a.Length.UnmarshalText(b); err != nil {
		return fmt.Errorf("%w; a fit is a length or a class such as \"H11\" or \"H11/h11\"", err)
	}
	return nil
}

// UnmarshalText reads a length or a class.
func (t *Tolerance) UnmarshalText(b []byte) error {
	if m := generalClass.FindStringSubmatch(string(b)); m != nil {
		t.Class = m[1]
		return nil
	}
	if err := t.Length.UnmarshalText(b); err != nil {
		return fmt.Errorf("%w; a tolerance is a length or a class such as \"ISO 2768-m\"", err)
	}
	return nil
}

// opposite is the same length the other way; a class concerns one side alone and
// is left out.
func (a *Allowance) opposite() *Allowance {
	if a == nil || a.Class != "" {
		return nil
	}
	return &Allowance{Length: -a.Length}
}

// holeKinds are the kinds of cut whose outline is that of a hole.
var holeKinds = map[string]bool{"opening": true, "pocket": true, "rebate": true, "bore": true, "drill": true, "slot": true}

// fitOf resolves the fit of a cut at the size that it is taken at: nil when none
// is asked for. Size is the natural one, mm; the job may name another.
func (s *state) fitOf(key string, c Cut, size float64) (*work.Fit, bool) {
	if c.Fit == nil {
		return nil, true
	}
	if c.Nominal != nil {
		if !s.positive(key+".nominal", "nominal size", float64(*c.Nominal)) {
			return nil, false
		}
		size = float64(*c.Nominal)
	}
	if !holeKinds[c.Kind] && c.Kind != "part" || c.Kind == "drill" && c.Fit.Class == "" {
		s.stop(key+".fit", "fit-useless", fmt.Sprintf("%s: a cut of kind %s takes no fit", c.Name, c.Kind), "leave fit out")
		return nil, false
	}
	f := &work.Fit{Class: c.Fit.Class, Nominal: size, Side: float64(c.Fit.Length)}
	if f.Class == "" {
		return f, true
	}
	class, mate, pair := strings.Cut(c.Fit.Class, "/")
	if pair && c.Kind == "part" {
		class, mate = mate, class
	}
	if shop.IsHoleClass(class) == (c.Kind == "part") || pair && shop.IsHoleClass(mate) == shop.IsHoleClass(class) {
		s.stop(key+".fit", "fit-useless", fmt.Sprintf("%s: %q is not a class for a cut of kind %s", c.Name, c.Fit.Class, c.Kind),
			"holes have upper case letters, as in H11, outsides lower case ones, as in h11; a fit is written hole/shaft")
		return nil, false
	}
	for _, name := range []string{class, mate} {
		if name == "" {
			continue
		}
		u, l, bad := shop.Deviations(name, size)
		if bad != nil {
			bad.Cut = c.Name
			s.fault(key+".fit", *bad)
			return nil, false
		}
		if name == class {
			f.Upper, f.Lower = u, l
			f.Side = (u + l) / 4 // half of the middle of the zone on each side
		}
	}
	return f, s.press(key, c.Name, class, mate, f)
}

// press asks about a fit that may press: against its mate, or against one of
// exactly the nominal size.
func (s *state) press(key, cut, class, mate string, f *work.Fit) bool {
	least, fit := f.Lower, fmt.Sprintf("%.4g %s over a mate of nominal size", f.Nominal, class)
	if !shop.IsHoleClass(class) {
		least, fit = -f.Upper, fmt.Sprintf("%.4g %s in a hole of nominal size", f.Nominal, class)
	}
	if mate != "" {
		hole, shaft := class, mate
		if !shop.IsHoleClass(class) {
			hole, shaft = mate, class
		}
		var bad *diag.Finding
		if least, _, bad = shop.Fit(hole, shaft, f.Nominal); bad != nil {
			bad.Cut = cut
			s.fault(key+".fit", *bad)
			return false
		}
		fit = fmt.Sprintf("%.4g %s/%s", f.Nominal, hole, shaft)
	}
	for _, p := range shop.JudgePress(s.w.Material, fit, least) {
		p.Subject, p.Cut = cut, cut
		line, col := s.pos.Of(key + ".fit")
		s.add(p.AtLine(s.req.Name, line, col))
	}
	return true
}

// judgeFit says what machine and cutter hold of a fit, once the bend of the
// cutter is known.
func (s *state) judgeFit(c Cut, out *work.Cut, d shop.CuttingData) {
	f := out.Fit
	if f == nil {
		return
	}
	h := s.w.Machine.HeldWith(s.w.Cutters[out.Cutter], d.DeflectionDull)
	f.Held, f.HeldBy = h.Width(), h.String()+" µm"
	if f.Class == "" {
		return
	}
	class, mate, pair := strings.Cut(f.Class, "/")
	if pair && c.Kind == "part" {
		class = mate
	}
	for _, w := range shop.JudgeSize(h, class, f.Nominal) {
		w.Subject, w.Cut = c.Name, c.Name
		s.add(w)
	}
}

// sizeOf is the natural size of an outline: the diameter of a circle, else the
// width across its narrow side, mm.
func sizeOf(g geom.Region) float64 {
	if _, r, ok := circleOf(g); ok {
		return 2 * r
	}
	size, _ := geom.MinAreaBox(1e-4, g.Outer)
	return size.Y
}

// fitted grows or shrinks an outline by the fit allowance.
func (s *state) fitted(key string, c Cut, g geom.Region, out *work.Cut) ([]geom.Region, bool) {
	f, ok := s.fitOf(key, c, sizeOf(g))
	if !ok || f == nil {
		return []geom.Region{g}, ok
	}
	if old := out.Fit; old == nil || f.Held == 0 && f.Nominal < old.Nominal { // of several outlines the smallest is told of
		out.Fit = f
	}
	if f.Side == 0 || c.Kind == "drill" {
		return []geom.Region{g}, true
	}
	gs, err := g.Offset(f.Side, 0.001)
	if err != nil {
		s.geomFault(key+".fit", c.Name, err)
		return nil, false
	}
	for i, g := range gs {
		gs[i].Outer = sharpened(g.Outer, math.Abs(f.Side))
		for k, h := range g.Holes {
			gs[i].Holes[k] = sharpened(h, math.Abs(f.Side))
		}
	}
	if len(gs) == 0 {
		s.stop(key+".fit", "outline-vanishes", fmt.Sprintf("%s vanishes when its outline is moved by %.3f mm", c.Name, f.Side), "give a smaller fit")
		return nil, false
	}
	return gs, true
}

// sharpened gives a grown outline its drawn corners back: an offset by r puts an
// arc of that radius round each, and a square tab would not seat.
func sharpened(c geom.Contour, r float64) geom.Contour {
	n := len(c)
	var out geom.Contour
	drop := make([]bool, n)
	for i := range c {
		prev, arc, next := c.Seg((i+n-1)%n), c.Seg(i), c.Seg((i+1)%n)
		if n > 3 && prev.IsLine() && !arc.IsLine() && next.IsLine() && math.Abs(arc.Radius()-r) < 1e-6 && math.Abs(arc.Sweep()) < 2 {
			drop[(i+1)%n] = true
		}
	}
	for i := range c {
		arc := c.Seg(i)
		switch {
		case drop[(i+1)%n]: // the corner lies r·tan(turn/2) past the start of the arc
			past := r * math.Tan(math.Abs(arc.Sweep())/2)
			out = append(out, geom.Vertex{Point: arc.A.Add(arc.TangentA().Mul(past))})
		case !drop[i]:
			out = append(out, c[i])
		}
	}
	return out
}

// fittedWidth widens a slot along its centre line by the fit allowance.
func (s *state) fittedWidth(key string, c Cut, out *work.Cut) bool {
	if out.Kind != work.Slot || len(out.Chains) == 0 || c.Fit == nil && c.TabSlot == nil {
		return true
	}
	width := s.w.Cutters[out.Cutter].Diameter
	if w, ok := c.Options["width"]; ok {
		width = w
	}
	if c.TabSlot != nil {
		wide, ok := s.tabWidth(key+".tab_slot", c.TabSlot)
		if !ok {
			return false
		}
		width = wide
	}
	f, ok := s.fitOf(key, c, width)
	if !ok {
		return false
	}
	if f != nil {
		out.Fit = f
		width += 2 * f.Side
	}
	out.Options = with(out.Options, "width", width)
	return true
}

// with returns a copy of options in which one has another value.
func with(options map[string]float64, name string, v float64) map[string]float64 {
	out := map[string]float64{name: v}
	for k, o := range options {
		if k != name {
			out[k] = o
		}
	}
	return out
}

// tolerance is how far the finished edge may lie from the drawn one, mm: said by
// the cut or the job, or the usual. A class of ISO 2768-1 speaks of a size, which
// two edges share; it is taken at the narrowest size, where it is finest.
func (s *state) tolerance(key string, c Cut, out *work.Cut) (float64, bool) {
	usual := wingTolerance
	if s.w.Sheet {
		usual = defaultTolerance
	}
	t := c.Tol
	if t == nil {
		return lengthOr(s.file.Tolerance, usual), true
	}
	if t.Class == "" {
		return float64(t.Length), true
	}
	size := out.Diameter
	for _, g := range out.Regions {
		if d := sizeOf(g); size == 0 || d < size {
			size = d
		}
	}
	if c.Nominal != nil {
		size = float64(*c.Nominal)
	}
	tol, ok := shop.GeneralLinear(t.Class, size)
	if !ok {
		s.stop(key+".tolerance", "tolerance-unknown", fmt.Sprintf("%s: ISO 2768-%s gives no tolerance for %.4g mm", c.Name, t.Class, size), "give the tolerance as a length, or add nominal")
		return 0, false
	}
	h := s.w.Machine.HeldWith(s.w.Cutters[out.Cutter], 0)
	if width := h.Width(); width > 2*tol {
		s.add(diag.Finding{Code: "tolerance-fine", Severity: diag.Warn, Subject: c.Name, Cut: c.Name,
			Message: fmt.Sprintf("ISO 2768-%s allows ±%.2f mm at %.4g mm, the machine holds ±%.2f mm (%s µm)", t.Class, tol, size, width/2, h),
			Help:    "take a coarser class, or finish by hand"}.With(width/2, tol, "mm"))
	}
	return tol / 2, !math.IsNaN(tol)
}
