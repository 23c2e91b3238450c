package job

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"regexp"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/skin"
	"sparclear/pkg/work"
)

// farMargin stays free above the far skin when the floor follows from a loft,
// mm; common practice, no source.
const farMargin = 1.0

func layOutSkin(_ context.Context, s *state) {
	if s.w.Sheet {
		s.useSheet(0)
		return
	}
	k := s.file.Skin
	if k == nil || k.Thickness == nil {
		s.stop("skin", "thickness-missing", "the thickness of the skin is not given", "add [skin] thickness = … (measure it at the opening)")
		return
	}
	if !s.positive("skin.thickness", "thickness", float64(*k.Thickness)) {
		return
	}
	s.w.Thickness = float64(*k.Thickness)
	s.w.ThickTol = lengthOr(k.ThicknessTol, 0)
	s.w.Hollow = !k.Solid
	if k.FibreDeg != nil {
		a := s.w.Frame.ApplyVector(geom.Polar(geom.Point{}, 1, *k.FibreDeg*math.Pi/180)).Angle()
		s.w.Fibre = &a
	}
	m, far := s.heightModel(k)
	if m == nil {
		return
	}
	s.w.Skin = m
	s.floor(k, far)
}

// floor settles what nothing may pass: said by the job, or above the far skin of
// a loft, whichever is less deep.
func (s *state) floor(k *Skin, far skin.Far) {
	s.w.Floor = math.Inf(1)
	byLoft := math.Inf(1)
	if far != nil {
		byLoft = far.Below(s.cutsBox()) - s.w.Thickness - s.w.ThickTol - farMargin
	}
	switch {
	case k.Floor != nil && float64(*k.Floor) > byLoft:
		line, col := s.pos.Of("skin.floor")
		s.add(diag.Finding{Code: "floor-low", Severity: diag.Stop, Input: true, Subject: s.req.Name,
			Message: fmt.Sprintf("floor = %.2f mm lies deeper than the far skin allows, %.2f mm by the sections", float64(*k.Floor), byLoft), Help: "measure the inside, and give a floor above it"}.
			With(float64(*k.Floor), byLoft, "mm").AtLine(s.req.Name, line, col))
	case k.Floor != nil:
		s.w.Floor = float64(*k.Floor)
	case !math.IsInf(byLoft, 1):
		s.w.Floor = byLoft
	case s.w.Hollow:
		s.stop("skin", "floor-missing", "the wing is hollow and no floor is given: nothing says how deep the far skin or the wires lie",
			"measure the inside and add [skin] floor = … (depth below the outer skin that nothing may pass), or solid = true")
		return
	}
	if !(s.w.Floor > s.w.Thickness) {
		s.stop("skin.floor", "floor-high", fmt.Sprintf("the floor at %.2f mm lies within the skin of %.2f mm", s.w.Floor, s.w.Thickness), "give a floor below the skin")
		return
	}
	s.farSkin = far
	if far == nil && !math.IsInf(s.w.Floor, 1) {
		s.farSkin = skin.FarDeclared(s.w.Floor)
	}
}

// heightModel makes the model of the skin; nil comes with a finding.
func (s *state) heightModel(k *Skin) (skin.Model, skin.Far) {
	m := s.w.Machine
	var touches []skin.Touch
	if count(k.Heights != "", len(k.Plane) > 0, k.Height != nil) > 1 || k.Loft != nil && k.Height != nil {
		s.stop("skin", "heights-twice", "the job says the height of the skin more than once: height, plane, heights and sections do not go together", "leave one of them; sections are laid on heights or on plane")
		return nil, nil
	}
	switch {
	case k.Heights != "":
		src, err := s.readFile("heights", k.Heights)
		if err != nil {
			s.stop("skin.heights", "heights-missing", fmt.Sprintf("cannot read heights %q: %s", k.Heights, plainError(err)), "check the name; it is looked for beside the job file")
			return nil, nil
		}
		var l diag.List
		touches, l = skin.ReadMeasured(bytes.NewReader(src), k.Heights, s.inch(), func(string) bool { return false })
		s.add(l...)
		if stops(l) {
			return nil, nil
		}
		for _, t := range touches {
			if isDatumRow(t.Name) {
				s.add(diag.Finding{Code: "heights-datum", Severity: diag.Stop, Input: true, Subject: k.Heights,
					Message: fmt.Sprintf("%q is the touch of a datum, no height of the skin", t.Name),
					Help:    "read the list back with sparclear measure JOB --read, or take the row out"}.AtLine(k.Heights, t.Line, 1))
				return nil, nil
			}
		}
	case len(k.Plane) > 0:
		for i, p := range k.Plane {
			if len(p) != 3 {
				s.stop("skin.plane", "plane-broken", fmt.Sprintf("point %d of plane has %d numbers, 3 needed", i+1, len(p)), "write [x, y, z] for each touched point")
				return nil, nil
			}
			touches = append(touches, skin.Tch(float64(p[0]), float64(p[1]), float64(p[2])))
		}
	}
	var model skin.Model
	var far skin.Far
	var l diag.List
	switch {
	case k.Loft != nil:
		var wing *skin.Wing
		loft := s.loft(k.Loft)
		if loft == nil {
			return nil, nil
		}
		if wing, l = loft.Lay(touches, skin.LoftOptions{Options: skin.Options{TouchU: s.heightU()}, Over: s.cutsBox()}); wing != nil {
			model, far = wing.Skin, wing.Far
		}
	case k.Heights != "":
		model, l = skin.Points(touches, skin.Options{TouchU: s.heightU()})
	case len(k.Plane) > 0:
		model, l = skin.Plane(touches, s.heightU())
	case k.Height != nil || s.w.Zero == "skin":
		if s.w.Hollow {
			line, col := s.pos.Of("skin")
			s.add(diag.Finding{Code: "heights-single", Severity: diag.Confirm, Subject: s.req.Name,
				Message: "one height stands for the whole skin: where it slopes or bends, cuts go deeper below it than their limits say",
				Help:    "touch the skin around the cuts and name the list under [skin] heights (sparclear measure says where); or, where it is level, accept = [\"heights-single\"] at the head of the job"}.AtLine(s.req.Name, line, col))
		}
		return skin.FlatWithin(lengthOr(k.Height, 0), s.heightU(), m.ReversalZ), nil
	default:
		s.stop("skin", "height-missing", "zero is the table and no height of the skin is given",
			"add [skin] height, plane or heights, or set zero = \"skin\" and touch off on the skin at the opening")
		return nil, nil
	}
	s.add(l...)
	if stops(l) || model == nil {
		return nil, nil
	}
	return skin.WithError(model, s.heightU(), m.ReversalZ), far // each cutter's length is one more touch
}

// heightU is the standard uncertainty of one touched height: what the job says,
// or the worse of hand and machine.
func (s *state) heightU() float64 {
	return lengthOr(s.file.TouchUZ, math.Max(skin.DefaultTouchU, s.w.Machine.RepeatZ))
}

// designation tells a section by its digits from a coordinate file.
var designation = regexp.MustCompile(`^(NACA\s*)?[0-9]{4,5}$`)

// loft makes the wing of the sections and places it by the drawing.
func (s *state) loft(k *Loft) *skin.Loft {
	root, ok := s.foil("skin.loft.root", k.Root, k.Closed)
	if !ok {
		return nil
	}
	tip := root
	if k.Tip != "" {
		if tip, ok = s.foil("skin.loft.tip", k.Tip, k.Closed); !ok {
			return nil
		}
	}
	lead, ok := s.point("skin.loft.lead", k.Lead)
	if !ok {
		return nil
	}
	if !s.positive("skin.loft.span", "span", lengthOr(k.Span, 0)) || !s.positive("skin.loft.chord", "chord", lengthOr(k.Chord, 0)) {
		return nil
	}
	if k.TipTo != "left" && k.TipTo != "right" {
		s.stop("skin.loft.tip_to", "word-unknown", fmt.Sprintf("tip_to = %q is not known", k.TipTo), "say \"left\" or \"right\": where the tip lies when one looks from nose to tail on the drawing")
		return nil
	}
	const deg = math.Pi / 180
	place := geom.Rigid{Turn: k.AftDeg * deg, Shift: lead, Mirror: k.TipTo == "right"}
	sections := skin.Panel(root, tip, float64(*k.Span), float64(*k.Chord), numberOr(k.Taper, 1), k.SweepDeg*deg, k.DihedralDeg*deg, k.WashoutDeg*deg)
	loft, l := skin.NewLoft(sections, place.Then(s.w.Frame), s.file.SideUp == "lower")
	s.addInput(l)
	return loft
}

// foil finds a section by its digits or reads its coordinate file.
func (s *state) foil(key, name string, closed bool) (skin.Airfoil, bool) {
	if name == "" {
		s.stop(key, "foil-unknown", "no section is named", "give four or five digits, such as \"2412\", or a coordinate file")
		return skin.Airfoil{}, false
	}
	if designation.MatchString(strings.ToUpper(strings.TrimSpace(name))) {
		f, l := skin.Naca(name, closed)
		s.addInput(l)
		return f, !stops(l)
	}
	src, err := s.readFile("section", name)
	if err != nil {
		s.stop(key, "foil-unknown", fmt.Sprintf("cannot read section %q: %s", name, plainError(err)), "check the name; it is looked for beside the job file")
		return skin.Airfoil{}, false
	}
	f, l := skin.ReadAirfoil(bytes.NewReader(src), name)
	s.addInput(l)
	return f, !stops(l)
}

// cutsBox bounds what the job cuts, program coordinates, before the cuts are
// resolved.
func (s *state) cutsBox() geom.Box {
	if s.cutBox == nil {
		b := s.boundCuts()
		s.cutBox = &b
	}
	return *s.cutBox
}

func (s *state) boundCuts() geom.Box {
	b := geom.EmptyBox()
	d := s.wingDrawing()
	for i, c := range s.file.Cuts {
		told := len(s.res.Findings)
		sh, ok := s.shape(fmt.Sprintf("cut.%d", i), c, d)
		if !ok {
			continue // nothing is resolved after this stop, so it is said here
		}
		s.res.Findings = s.res.Findings[:told] // said when the cut is resolved
		b = b.Union(boxOf(sh.regions, sh.chains, sh.points))
	}
	if b.Empty() {
		return b
	}
	out := geom.EmptyBox()
	for _, p := range []geom.Point{b.Min, b.Max, {X: b.Min.X, Y: b.Max.Y}, {X: b.Max.X, Y: b.Min.Y}} {
		out = out.Extend(s.w.Frame.Apply(p))
	}
	return out.Grow(cutterReach)
}

// cutterReach is how far beyond an outline a cutter's footprint may reach, mm.
const cutterReach = 10.0

// knownHeights asks for touches where a cut has none within a cutter's radius: a
// kept layer depends on them, a through cut can be accepted.
func (s *state) knownHeights(key string, out *work.Cut) bool {
	if s.w.Sheet {
		return true
	}
	if k := s.file.Skin; (out.Kind == work.Rebate || out.Kind == work.Score) && k.Heights == "" && len(k.Plane) == 0 && k.Loft == nil {
		line, col := s.pos.Of("skin")
		s.add(diag.Finding{Code: "heights-single", Severity: diag.Stop, Input: true, Subject: s.req.Name, Cut: out.Name,
			Message: fmt.Sprintf("%s keeps a layer of the skin, but one height stands for the whole of it", out.Name),
			Help:    "touch the skin around the cut and name the list under [skin] heights; sparclear measure says where"}.AtLine(s.req.Name, line, col))
		return false
	}
	r := s.w.Cutters[out.Cutter].Radius()
	for _, p := range edgePoints(out) {
		if skin.Covered(s.w.Skin, p, r) {
			continue
		}
		at := out.Frame.Inverse().Apply(p)
		line, col := s.pos.Of(key)
		f := diag.Finding{Code: "heights-unknown", Severity: diag.Confirm, Subject: s.req.Name, Cut: out.Name,
			Message: fmt.Sprintf("%s: no height is touched within a cutter's radius of this place", out.Name),
			Help:    "touch the skin around the cut (sparclear measure says where), or accept = [\"heights-unknown\"] for a through cut"}.On(at.X, at.Y).AtLine(s.req.Name, line, col)
		if !out.Through {
			f.Severity, f.Help = diag.Stop, "touch the skin around the cut; sparclear measure says where"
		}
		s.add(f)
		return !stops(diag.List{f})
	}
	return true
}

// edgePoints are places along a cut, every 5 mm or less.
func edgePoints(c *work.Cut) []geom.Point {
	out := append([]geom.Point(nil), c.Points...)
	along := func(segs []geom.Seg) {
		for _, g := range segs {
			n := 1 + int(g.Length()/5)
			for i := range n {
				out = append(out, g.At(float64(i)/float64(n)))
			}
		}
	}
	for _, g := range c.Regions {
		for _, k := range g.Contours() {
			along(k.Segs())
		}
	}
	for _, ch := range c.Chains {
		along(ch.Segs())
	}
	return out
}

// roomFor holds the height of what goes into a cut against the inside of the wing.
func (s *state) roomFor(key string, c Cut, out *work.Cut) {
	if c.Room == nil || s.farSkin == nil {
		return
	}
	b := boxOf(out.Regions, nil, nil)
	if b.Empty() {
		return
	}
	thick := 0.0
	if s.file.Skin.Loft != nil {
		thick = s.w.Thickness + s.w.ThickTol
	}
	left := skin.Room(s.farSkin, b, float64(*c.Room), thick)
	line, col := s.pos.Of(key + ".room")
	f := diag.Finding{Code: "room-left", Severity: diag.Note, Subject: s.req.Name, Cut: c.Name,
		Message: fmt.Sprintf("%s: %.2f mm are left below what goes in", c.Name, left)}
	if left < 0 {
		f = diag.Finding{Code: "room-short", Severity: diag.Confirm, Subject: s.req.Name, Cut: c.Name,
			Message: fmt.Sprintf("%s: what goes in is %.2f mm too high for the wing here", c.Name, -left),
			Help:    "move it to where the wing is thicker, or accept = [\"room-short\"]"}
	}
	s.add(f.With(left, 0, "mm").AtLine(s.req.Name, line, col))
}
