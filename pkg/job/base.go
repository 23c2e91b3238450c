package job

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// Defaults, common practice unless said; every one can be set in the job.
const (
	defaultSafe      = 5.0   // rapids above the highest thing on the table, mm
	defaultHeightTol = 0.005 // how far a draped path strays from its depth, mm
	defaultChordTol  = 0.002 // short lines from an arc, mm
	defaultTolerance = 0.1   // finished edge from the drawn one on sheet, mm
	wingTolerance    = 0.3   // likewise in a wing, place of the wing included, mm
	defaultOvercut   = 0.1   // below the lower face of a through cut, errors of height added, mm
	defaultRampDeg   = 3.0
)

func readJob(_ context.Context, s *state) {
	s.w = &work.Work{HeightTol: defaultHeightTol, ChordTol: defaultChordTol}
	s.res.Work = s.w
	s.cutters = map[string]int{}
	src, err := s.readFile("job", s.req.Name)
	if err != nil {
		s.add(diag.Finding{Code: "job-missing", Severity: diag.Stop, Input: true, Subject: s.req.Name,
			Message: "cannot read the job: " + plainError(err), Help: "check the name, or run sparclear demo DIR to get jobs to start from"})
		return
	}
	f, pos, l := Parse(s.req.Name, src)
	s.file, s.pos, s.res.Job = f, pos, f
	s.add(l...)
	if stops(l) {
		return
	}
	if s.takeOver(); stops(s.res.Findings) {
		return
	}
	s.w.Title, s.w.Name, s.w.Panel, s.w.SideUp, s.w.Zero = f.Title, f.Name, f.Panel, f.SideUp, f.Zero
	s.w.Sheet = len(f.Sheets) > 0 || len(f.Parts) > 0
	if s.w.Name == "" {
		s.w.Name = f.Title
	}
	s.w.Name = slug(s.w.Name) // it becomes the name of files
	if f.HeightTol != nil {
		s.w.HeightTol = float64(*f.HeightTol)
	}
	s.frameOfJob()
	for i, v := range []*Length{f.TouchU, f.TouchUZ} {
		if key := []string{"touch_uncertainty", "touch_uncertainty_z"}[i]; v != nil {
			s.positive(key, key, float64(*v))
		}
	}
	s.oneOf("panel", f.Panel, "", "port", "starboard")
	s.oneOf("side_up", f.SideUp, "", "upper", "lower")
	s.oneOf("zero", f.Zero, "skin", "table")
	if s.w.Sheet && f.Zero == "" {
		s.stop("zero", "zero-missing", "the job does not say where Z zero is", "add zero = \"table\" (top of the spoilboard) or zero = \"skin\" (top of the sheet)")
	}
	s.resolveShop()
}

// frameOfJob checks that the job is of one kind, and whole.
func (s *state) frameOfJob() {
	f := s.file
	switch {
	case s.w.Sheet && f.Skin != nil:
		s.stop("skin", "job-mixed", "the job has [skin] and [[sheet]] or [[part]]", "make two jobs: a wing is cut in place, parts are cut from sheet")
	case s.w.Sheet && len(f.Sheets) == 0:
		s.stop("part", "sheet-missing", "parts are asked for, but no sheet is given", "add a [[sheet]] with size and thickness")
	case s.w.Sheet && len(f.Parts) == 0:
		s.stop("sheet", "parts-missing", "a sheet is given, but no part to cut from it", "add a [[part]] with drawing and layer")
	case !s.w.Sheet && f.Drawing == nil:
		s.stop("", "drawing-missing", "the job names no drawing", "add [drawing] file = \"panel.dxf\"")
	case !s.w.Sheet && len(f.Cuts) == 0:
		s.stop("", "cuts-missing", "the job asks for no cut", "add a [[cut]] with name, kind, layer and cutter")
	}
	if s.w.Sheet {
		s.sheetAlone()
	}
	if len(f.Origin) == 3 {
		s.w.Origin = &[3]float64{float64(f.Origin[0]), float64(f.Origin[1]), float64(f.Origin[2])}
	} else if len(f.Origin) > 0 {
		s.stop("origin", "origin-broken", "origin needs three numbers", "write origin = [x, y, z]: the machine coordinates of the program's zero")
	}
}

// sheetAlone refuses what stands in a sheet job and would be passed over: a sheet
// lies where at says and is never mirrored, and every cut belongs to a part.
func (s *state) sheetAlone() {
	f := s.file
	if len(f.Datums)+len(f.Edges) > 0 {
		s.stop("datum", "job-mixed", "the job has [[datum]] or [[edge]] and [[sheet]]", "say where the lower left corner of the sheet lies by at = [x, y]; datums locate wings")
	}
	if f.Drawing != nil && f.Drawing.Mirrored {
		s.stop("drawing.mirrored", "job-mixed", "the job has mirrored = true and [[sheet]]", "turn single parts over by may_flip = true, or draw them as they are to lie")
	}
	names := map[string]bool{}
	var all []string
	for i, p := range f.Parts {
		name := p.Name
		if name == "" {
			name = fmt.Sprintf("part %d", i+1)
		}
		names[name] = true
		all = append(all, name)
	}
	for i, c := range f.Cuts {
		if c.Part == "" || !names[c.Part] {
			s.stop(fmt.Sprintf("cut.%d", i), "part-unknown", fmt.Sprintf("cut %q belongs to no part of the job: part = %q", c.Name, c.Part), diag.DidYouMean(c.Part, all))
		}
	}
}

func (s *state) oneOf(key, got string, words ...string) {
	if has(words, got) || s.w.Sheet && got == "" {
		return
	}
	s.stop(key, "word-unknown", fmt.Sprintf("%s = %q is not known", key, got), diag.DidYouMean(got, words))
}

// resolveShop finds machine and material, profiles of the job itself first.
func (s *state) resolveShop() {
	f := s.file
	s.ownCutters = map[string]shop.Cutter{}
	for i, t := range f.Cutters {
		name, rest := s.ownProfile(fmt.Sprintf("cutter.%d", i), t)
		c, l := s.lib.CutterFrom(name, rest, s.placeOf(fmt.Sprintf("cutter.%d", i)))
		s.addInput(l)
		if _, twice := s.ownCutters[name]; twice {
			s.stop(fmt.Sprintf("cutter.%d.name", i), "name-twice", fmt.Sprintf("two cutters of the job are named %q", name), "give each cutter a name of its own: the name decides which diameter is cut with")
		}
		s.ownCutters[name] = c
	}
	if f.Machine == nil {
		s.stop("machine", "machine-missing", "no machine is named", "add machine = …; sparclear shop lists them")
	} else {
		m, l := s.lib.MachineFrom("", f.Machine, s.placeOf("machine"))
		s.addInput(l)
		s.w.Machine = m
		s.filesOfJob()
	}
	if f.Material == nil {
		s.stop("material", "material-missing", "no material is named", "add material = …; sparclear shop lists them")
	} else {
		m, l := s.lib.MaterialFrom("", f.Material, s.placeOf("material"))
		s.addInput(l)
		s.w.Material = m
	}
}

// filesOfJob settles whether the programs of several cutters stand in one file. A
// controller that cannot change cutters within a program has no choice.
func (s *state) filesOfJob() {
	s.oneOf("programs", s.file.Programs, "", "one", "per-cutter")
	c := &s.w.Machine.Controller
	switch s.file.Programs {
	case "per-cutter":
		c.ToolChange = shop.ChangeFiles
	case "one":
		if c.ToolChange == shop.ChangeFiles {
			s.stop("programs", "programs-one", "the controller of this machine cannot change cutters within a program", "leave programs out, or change tool_change of its profile if it can")
		}
	}
}

// ownProfile splits the name off a table of the job.
func (s *state) ownProfile(key string, t map[string]any) (string, map[string]any) {
	name, _ := t["name"].(string)
	if name == "" {
		s.stop(key, "profile-name", "a cutter of the job has no name", "add name = …, and use it under [[cut]]")
	}
	rest := map[string]any{}
	for k, v := range t {
		if k != "name" {
			rest[k] = v
		}
	}
	return name, rest
}

func (s *state) placeOf(key string) diag.Place {
	line, col := s.pos.Of(key)
	return diag.Place{File: s.req.Name, Line: line, Col: col}
}

// addInput adds findings about what stands in the job file.
func (s *state) addInput(l diag.List) {
	for _, f := range l {
		if f.Subject == "" {
			f.Subject = s.req.Name
		}
		f.Input = true
		s.add(f)
	}
}

// cutter returns the index of a cutter in the work, adding it on first use.
func (s *state) cutter(key, name string) (int, bool) {
	if i, ok := s.cutters[name]; ok {
		return i, true
	}
	c, ok := s.knownCutter(key, name)
	if !ok {
		return 0, false
	}
	used := map[int]bool{}
	for _, o := range s.w.Cutters {
		used[o.Number] = true
	}
	if n, ok := s.numbers[name]; ok {
		c.Number = n
	}
	if c.Number <= 0 || used[c.Number] {
		for c.Number = 1; used[c.Number]; c.Number++ {
		}
	}
	s.cutters[name] = len(s.w.Cutters)
	s.w.Cutters = append(s.w.Cutters, c)
	return len(s.w.Cutters) - 1, true
}

// knownCutter finds a cutter by its name, those of the job itself first.
func (s *state) knownCutter(key, name string) (shop.Cutter, bool) {
	if name == "" {
		s.stop(key, "cutter-missing", "no cutter is named", "add cutter = …; sparclear shop lists them")
		return shop.Cutter{}, false
	}
	if c, own := s.ownCutters[name]; own {
		return c, true
	}
	c, bad := s.lib.Cutter(name)
	if bad != nil {
		s.fault(key, *bad)
		return c, false
	}
	return c, true
}

// cuttingData asks the shop for speed, feeds and depth per pass.
func (s *state) cuttingData(cutName string, cutter int, e shop.Engagement) (shop.CuttingData, bool) {
	d, l := shop.Data(s.w.Machine, s.w.Cutters[cutter], s.w.Material, e)
	for _, f := range l {
		if f.Blocks() || f.Severity == diag.Confirm {
			f.Cut = cutName // to be accepted under that cut
		} else if s.said(f) {
			continue
		}
		s.add(f)
	}
	return d, !stops(l)
}

// said tells whether the very same remark was made before: many cuts share a
// cutter and a material.
func (s *state) said(f diag.Finding) bool {
	for _, old := range s.res.Findings {
		if old.Code == f.Code && old.Subject == f.Subject && old.Message == f.Message {
			return true
		}
	}
	return false
}

func (s *state) point(key string, p []Length) (geom.Point, bool) {
	if len(p) != 2 {
		s.stop(key, "point-broken", fmt.Sprintf("%d numbers where a point needs two", len(p)), "write [x, y]")
		return geom.Point{}, false
	}
	return geom.Pt(float64(p[0]), float64(p[1])), true
}

func (s *state) positive(key, what string, v float64) bool {
	if v > 0 && !math.IsInf(v, 0) {
		return true
	}
	s.stop(key, "not-positive", fmt.Sprintf("%s is %g mm", what, v), "give a length above 0")
	return false
}

// geomFault hands on a finding from geom with the name of what it concerns.
func (s *state) geomFault(key, subject string, err error) {
	var f diag.Finding
	if !errors.As(err, &f) {
		f = diag.Finding{Code: "geometry-failed", Severity: diag.Stop, Message: err.Error(), Help: "simplify the outline at that place and report the drawing"}
	}
	f.Subject = subject
	s.fault(key, f)
}

func lengthOr(p *Length, other float64) float64 {
	if p == nil {
		return other
	}
	return float64(*p)
}

// plainError leaves out the operating system's wording where there is a plainer one.
func plainError(err error) string {
	var pe *fs.PathError
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "there is no such file"
	case errors.Is(err, fs.ErrPermission):
		return "no permission to read it"
	case errors.As(err, &pe):
		return pe.Err.Error()
	}
	return err.Error()
}

// slug makes a file name of a title: lower case letters, digits and dashes.
func slug(title string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(title) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() >= 40 {
			break
		}
	}
	out := strings.Trim(b.String(), "-")
	if out == "" {
		return "job"
	}
	return out
}
