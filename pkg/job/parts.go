package job

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
)

// piece is one piece of stock: which sheet of the job, and which of those, from 0.
type piece struct{ sheet, no int }

// placement is one copy of a part on a piece, in program coordinates.
type placement struct {
	part   int
	copy   int
	at     piece
	frame  geom.Rigid
	byHand bool
}

// thicknessSlack is how far a measured sheet may lie from the thickness that a
// part asks for, mm: plate of one nominal thickness varies that much. Common
// practice, no source.
const thicknessSlack = 0.15

// placeParts lays every part on a piece of stock, by hand or by nesting, and asks
// for its cuts there.
func placeParts(ctx context.Context, s *state) {
	if !s.w.Sheet || !s.readBlanks() {
		return
	}
	s.clampsKnown()
	s.fibreSaid()
	s.shapes = make([]geom.Region, len(s.file.Parts))
	names := map[string]bool{}
	for i := range s.file.Parts {
		p := &s.file.Parts[i]
		if p.Name == "" {
			p.Name = fmt.Sprintf("part %d", i+1)
		}
		if names[p.Name] {
			s.stop(fmt.Sprintf("part.%d.name", i), "name-twice", fmt.Sprintf("two parts are named %q", p.Name), "give each part a name of its own")
		}
		names[p.Name] = true
		s.shapes[i], _ = s.partShape(i)
		s.partRules(i)
		s.allowed = append(s.allowed, s.sheetsFor(i))
	}
	if stops(s.res.Findings) || !s.laidByHand() || !s.spread(ctx) {
		return
	}
	s.takePieces()
}

// partShape reads the outline of a part from its drawing.
func (s *state) partShape(i int) (geom.Region, bool) {
	p := s.file.Parts[i]
	key := fmt.Sprintf("part.%d", i)
	if p.Outline != "" {
		return s.regionMade(key, made{name: p.Name, outline: p.Outline, sizes: p.Sizes}, "a part")
	}
	d := s.drawings[p.Drawing+"|"+p.Units]
	ly, ok := s.layer(key+".layer", d, p.Layer)
	if !ok {
		return geom.Region{}, false
	}
	if len(ly.Outlines) != 1 {
		s.stop(key+".layer", "part-outline", fmt.Sprintf("layer %s holds %d separate outlines, a part has one", p.Layer, len(ly.Outlines)), "put each part on a layer of its own")
		return geom.Region{}, false
	}
	return ly.Outlines[0].Region, true
}

// partRules refuses rules that contradict each other or mean nothing.
func (s *state) partRules(i int) {
	p := s.file.Parts[i]
	key := fmt.Sprintf("part.%d", i)
	if q := p.Quantity; q != nil && *q != Many && *q < 1 {
		code := "quantity-wrong"
		if *q == 0 {
			code = "quantity-zero"
		}
		s.stop(key+".quantity", code, fmt.Sprintf("%s: quantity is %d", p.Name, *q), "give at least 1, or \"fill\" for as many as fit, or leave the part out")
	}
	if n := len(p.Place); p.Quantity != nil && *p.Quantity != Many && n > int(*p.Quantity) {
		s.stop(key+".place", "place-too-many", fmt.Sprintf("%s: %d copies are placed by hand, %d asked for", p.Name, n, *p.Quantity), "raise the quantity or take a place out")
	}
	switch {
	case p.AnyTurn && (len(p.TurnsDeg) > 0 || p.TurnTol != 0):
		s.stop(key+".any_turn", "turns-contradict", p.Name+" may lie in any direction and also only in the turns named", "name turns_deg, with turn_tol_deg if you like, or any_turn = true, not both")
	case p.TurnTol < 0 || p.TurnTol > 180:
		s.stop(key+".turn_tol_deg", "turns-wrong", fmt.Sprintf("%s: turns may be off by %g°", p.Name, p.TurnTol), "give degrees to either side of each turn, 0 to 180")
	}
}

// sheetsFor lists the sheets that a part may be cut from: all of its thickness
// and material. Where sheets differ, a part that does not say which it wants is
// refused rather than guessed at.
func (s *state) sheetsFor(i int) []int {
	p := s.file.Parts[i]
	key := fmt.Sprintf("part.%d", i)
	var all, out []int
	var names []string
	for n, b := range s.blanks {
		names = append(names, b.name)
		if p.Sheet != "" && p.Sheet != b.name {
			continue
		}
		all = append(all, n)
		if p.Thick != nil && math.Abs(float64(*p.Thick)-b.thickness) > math.Max(thicknessSlack, b.thickTol) ||
			p.Material != "" && p.Material != b.material.Name {
			continue
		}
		out = append(out, n)
	}
	switch {
	case len(all) == 0:
		s.stop(key+".sheet", "sheet-unknown", fmt.Sprintf("%s is bound to sheet %q, which the job does not have", p.Name, p.Sheet), "the sheets are: "+strings.Join(names, ", "))
		return nil
	case len(out) == 0:
		s.stop(key, "sheet-unmatched", fmt.Sprintf("%s asks for %s, and no sheet is of that", p.Name, wanted(p)), "add a sheet of it, or correct thickness and material of the part or of the sheet")
		return nil
	}
	for _, n := range out[1:] {
		a, b := s.blanks[out[0]], s.blanks[n]
		if p.Thick == nil && math.Abs(a.thickness-b.thickness) > math.Max(thicknessSlack, math.Max(a.thickTol, b.thickTol)) {
			s.stop(key, "thickness-unsaid", fmt.Sprintf("%s does not say its thickness, and sheets of %g and %g mm are given", p.Name, a.thickness, b.thickness), "add thickness = …, or sheet = … under the part")
			return nil
		}
		if p.Material == "" && a.material.Name != b.material.Name {
			s.stop(key, "material-unsaid", fmt.Sprintf("%s does not say its material, and sheets of %s and %s are given", p.Name, a.material.Name, b.material.Name), "add material = …, or sheet = … under the part")
			return nil
		}
	}
	return out
}

func wanted(p Part) string {
	var w []string
	if p.Thick != nil {
		w = append(w, fmt.Sprintf("%g mm", float64(*p.Thick)))
	}
	if p.Material != "" {
		w = append(w, p.Material)
	}
	return strings.Join(w, " of ")
}

// laidByHand collects the copies that the layout file or the job itself places.
func (s *state) laidByHand() bool {
	laid, ok := s.readLayout()
	if !ok {
		return false
	}
	for i, p := range s.file.Parts {
		key := fmt.Sprintf("part.%d", i)
		if at := laid[p.Name]; len(at) > 0 {
			if p.Quantity != nil && *p.Quantity == Many {
				n := Count(len(at)) // what the layout says is all that fits
				s.file.Parts[i].Quantity = &n
			}
			if len(at) > countOf(s.file.Parts[i].Quantity) {
				s.stop("layout", "place-too-many", fmt.Sprintf("layout %q places %d of %s, %d asked for", s.file.Layout, len(at), p.Name, countOf(p.Quantity)), "raise the quantity of the part or take places out of the layout")
				return false
			}
			for n, pl := range at {
				pl.part, pl.copy = i, n
				s.layout = append(s.layout, pl)
			}
			continue
		}
		for n, at := range p.Place {
			if len(at) != 2 && len(at) != 3 {
				s.stop(key+".place", "place-broken", fmt.Sprintf("%s: copy %d has %d numbers", p.Name, n+1, len(at)), "write [x, y] or [x, y, turn in degrees]")
				return false
			}
			on := piece{sheet: s.allowed[i][0]}
			f := geom.Rigid{Shift: geom.Pt(float64(at[0]), float64(at[1])).Add(s.sheetAt(s.file.Sheets[on.sheet]))}
			if len(at) == 3 {
				f.Turn = float64(at[2]) * math.Pi / 180
			}
			s.layout = append(s.layout, placement{part: i, copy: n, at: on, frame: f, byHand: true})
		}
		if len(p.Place) > 0 && p.Quantity == nil {
			n := Count(len(p.Place))
			s.file.Parts[i].Quantity = &n
		}
	}
	return true
}

// takePieces goes on with one work for every piece in use: with this one when
// there is but one.
func (s *state) takePieces() {
	slices.SortStableFunc(s.layout, func(a, b placement) int {
		return cmp.Or(cmp.Compare(a.at.sheet, b.at.sheet), cmp.Compare(a.at.no, b.at.no), cmp.Compare(a.part, b.part), cmp.Compare(a.copy, b.copy))
	})
	var used []piece
	of := map[int]int{}
	for _, p := range s.layout {
		if len(used) == 0 || used[len(used)-1] != p.at {
			used = append(used, p.at)
			of[p.at.sheet]++
		}
	}
	if len(used) == 1 {
		s.takePiece(used[0], 1, 1, 1)
		return
	}
	for _, p := range s.file.Parts { // cutters have one number on all sheets
		for _, name := range []string{p.Hole, p.Cutter} {
			if name != "" {
				s.cutter("part", name)
			}
		}
	}
	suffixes := map[string]bool{}
	for k, at := range used {
		t := s.child()
		t.res.suffix = "-" + slug(s.blanks[at.sheet].name)
		if of[at.sheet] > 1 {
			t.res.suffix += fmt.Sprintf("-%d", at.no+1)
		}
		if suffixes[t.res.suffix] { // names that differ in other letters only
			t.res.suffix += fmt.Sprintf("-sheet-%d", k+1)
		}
		suffixes[t.res.suffix] = true
		t.w.Name += t.res.suffix
		t.takePiece(at, k+1, len(used), of[at.sheet])
		s.children = append(s.children, t)
	}
}

// clampsKnown refuses clamps on sheets that the job does not have.
func (s *state) clampsKnown() {
	var names []string
	for _, b := range s.blanks {
		names = append(names, b.name)
	}
	for i, c := range s.file.Clamps {
		for _, name := range c.Sheets {
			if s.sheetNamed(name) < 0 {
				s.stop(fmt.Sprintf("clamp.%d.sheets", i), "sheet-unknown", fmt.Sprintf("clamp %d stands on sheet %q, which the job does not have", i+1, name), diag.DidYouMean(name, names))
			}
		}
	}
}

// clampsOf lists the clamps that stand on a sheet.
func (s *state) clampsOf(n int) []keepout.Volume {
	var out []keepout.Volume
	for k, c := range s.w.Clamps {
		if k >= len(s.clampOn) || len(s.clampOn[k]) == 0 || slices.Contains(s.clampOn[k], s.blanks[n].name) {
			out = append(out, c)
		}
	}
	return out
}

// takePiece makes this the state of one piece with the parts that lie on it.
func (s *state) takePiece(at piece, number, of, alike int) {
	s.useSheet(at.sheet)
	s.w.Clamps = s.clampsOf(at.sheet)
	s.keepFrom()
	b := &s.w.Blank
	b.Piece, b.Pieces, b.Number, b.Of = at.no+1, alike, number, of
	s.res.sheet = at.sheet
	s.layout = slices.DeleteFunc(slices.Clone(s.layout), func(p placement) bool { return p.at != at })
	for _, p := range s.layout {
		s.partCuts(p, s.shapes[p.part])
	}
}

// child is a state for one piece of several: it shares what was read and adds to
// nothing of the parent's.
func (s *state) child() *state {
	t, w := *s, *s.w
	w.Cuts, w.Parts, w.Cutters, w.Members = nil, nil, nil, nil
	w.Accepted, w.Inputs = slices.Clone(w.Accepted), slices.Clone(w.Inputs)
	t.w = &w
	t.numbers = map[string]int{}
	for name, i := range s.cutters {
		t.numbers[name] = s.w.Cutters[i].Number
	}
	t.cutters, t.life = map[string]int{}, map[int]float64{}
	t.res = &Result{Job: s.file, Work: t.w, Findings: slices.Clone(s.res.Findings)}
	t.known = len(t.res.Findings)
	return &t
}
