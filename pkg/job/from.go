package job

import (
	"fmt"
	"path"
	"reflect"
	"slices"

	"sparclear/pkg/diag"
)

// takeOver adds the parts of other jobs that the job names, with their own cutters
// and with the cuts that belong to them: a cutting list. What a part was bound to
// there (thickness, material, tolerance) binds it here; where it lay there does not.
func (s *state) takeOver() {
	seen := map[string]bool{}
	for i, from := range s.file.From {
		key := fmt.Sprintf("from.%d", i)
		name := path.Clean(from.Job)
		if from.Job == "" {
			s.stop(key, "from-missing", "the job that parts are taken from is not named", "add job = \"…\": the file of a sheet job")
			continue
		}
		if seen[name] {
			s.stop(key+".job", "from-twice", fmt.Sprintf("parts are taken from %q twice", from.Job), "name it once; times = 2 makes its parts twice, and parts = [ … ] chooses among them")
			continue
		}
		seen[name] = true
		if from.Times < 0 {
			s.stop(key+".times", "quantity-wrong", fmt.Sprintf("%s is made %d times", from.Job, from.Times), "give 1 or more, or leave it out")
			continue
		}
		src, err := s.readFile("job", from.Job)
		if err != nil {
			s.stop(key+".job", "job-missing", fmt.Sprintf("cannot read job %q: %s", from.Job, plainError(err)), "check the name; it is looked for beside this job")
			continue
		}
		f, _, l := Parse(from.Job, src)
		s.add(l...)
		if stops(l) {
			continue
		}
		switch {
		case len(f.From) > 0:
			s.stop(key+".job", "from-chain", fmt.Sprintf("%s takes parts from other jobs itself", from.Job), "name those jobs here")
		case len(f.Parts) == 0:
			s.stop(key+".job", "from-empty", from.Job+" makes no parts from sheet", "name a job with [[part]]")
		default:
			s.partsOf(key, from, f)
		}
	}
}

// partsOf takes over the parts of one job.
func (s *state) partsOf(key string, from From, f *File) {
	dir := path.Dir(path.Clean(from.Job))
	title := f.Name
	if title == "" {
		title = f.Title
	}
	if title == "" {
		title = dir
	}
	for _, p := range s.file.Parts { // two jobs of one title
		if p.job == title {
			title = fmt.Sprintf("%s (%s)", title, from.Job)
			break
		}
	}
	s.cuttersOf(key, from, f)
	wanted := slices.Clone(from.Parts)
	var names []string
	for n, p := range f.Parts {
		if p.Name == "" {
			p.Name = fmt.Sprintf("part %d", n+1)
		}
		names = append(names, p.Name)
		if len(from.Parts) > 0 {
			k := slices.Index(wanted, p.Name)
			if k < 0 {
				continue
			}
			wanted = slices.Delete(wanted, k, k+1)
		}
		old := p.Name
		p.Name, p.job = old+" of "+slug(title), title
		s.bindTo(&p, f)
		if p.Drawing != "" && !path.IsAbs(p.Drawing) {
			p.Drawing = path.Join(dir, p.Drawing)
		}
		if len(p.Place) > 0 {
			s.add(diag.Finding{Code: "place-left", Severity: diag.Note, Subject: s.req.Name, Message: fmt.Sprintf("where %s lies by hand in %s is not taken over", old, from.Job)})
			if p.Quantity == nil {
				n := Count(len(p.Place))
				p.Quantity = &n
			}
			p.Place = nil
		}
		if from.Times > 1 {
			n := Count(1)
			if p.Quantity != nil {
				n = *p.Quantity
			}
			if n != Many {
				n *= Count(from.Times)
			}
			p.Quantity = &n
		}
		s.pos.like(fmt.Sprintf("part.%d", len(s.file.Parts)), key)
		s.file.Parts = append(s.file.Parts, p)
		for _, c := range f.Cuts {
			if c.Part == old {
				c.Part = p.Name
				s.pos.like(fmt.Sprintf("cut.%d", len(s.file.Cuts)), key)
				s.file.Cuts = append(s.file.Cuts, c)
			}
		}
	}
	for _, w := range wanted {
		s.stop(key+".parts", "part-unknown", fmt.Sprintf("%s makes no part %q", from.Job, w), diag.DidYouMean(w, names))
	}
}

// bindTo binds a part to what its own job cuts it from.
func (s *state) bindTo(p *Part, f *File) {
	if p.Tol == nil && f.Tolerance != nil {
		p.Tol = &Tolerance{Length: *f.Tolerance}
	}
	var of []Sheet
	for _, sh := range f.Sheets {
		if p.Sheet == "" || p.Sheet == sh.Name {
			of = append(of, sh)
		}
	}
	p.Sheet = ""
	same := func(a, b Sheet) bool {
		return lengthOr(thicknessOf(a), 0) == lengthOr(thicknessOf(b), 0) && reflect.DeepEqual(a.Material, b.Material)
	}
	if len(of) == 0 || slices.ContainsFunc(of, func(sh Sheet) bool { return !same(sh, of[0]) }) {
		return // the part itself says which it wants, or is asked
	}
	if p.Thick == nil {
		p.Thick = thicknessOf(of[0])
	}
	if name, ok := of[0].Material.(string); ok && p.Material == "" {
		p.Material = name
	} else if name, ok := f.Material.(string); ok && p.Material == "" && of[0].Material == nil {
		p.Material = name
	}
}

// thicknessOf is the thickness that a sheet of another job gives, nil none.
func thicknessOf(sh Sheet) *Length {
	if sh.Thickness != nil || len(sh.Measured) == 0 {
		return sh.Thickness
	}
	lo, hi := slices.Min(sh.Measured), slices.Max(sh.Measured)
	mid := (lo + hi) / 2
	return &mid
}

// cuttersOf takes over the cutters that stand in another job.
func (s *state) cuttersOf(key string, from From, f *File) {
	for _, c := range f.Cutters {
		k := slices.IndexFunc(s.file.Cutters, func(o map[string]any) bool { return o["name"] == c["name"] })
		switch {
		case k < 0:
			s.pos.like(fmt.Sprintf("cutter.%d", len(s.file.Cutters)), key)
			s.file.Cutters = append(s.file.Cutters, c)
		case !reflect.DeepEqual(s.file.Cutters[k], c):
			s.stop(key+".job", "cutter-twice", fmt.Sprintf("cutter %q of %s is another one than that of this job or of one named before", c["name"], from.Job), "give one of them another name")
		}
	}
}

// like gives a key that stands in no file the place of another one.
func (p *Positions) like(key, other string) {
	if p != nil {
		if at, ok := p.at[other]; ok {
			p.at[key] = at
		}
	}
}
