package job

import (
	"fmt"
	"path"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"sparclear/pkg/diag"
)

// takeOver adds the parts of other jobs that the job names, with their own cutters
// and with the cuts that belong to them: a cutting list. What a part was bound to
// there (thickness, material, tolerance) binds it here; where it lay there does not.
func (s *state) takeOver() {
	s.takeInto(s.file, "", "", []string{path.Base(filepath.ToSlash(s.req.Name))}, map[string]bool{})
}

// takeInto adds to one job, in folder dir as seen from this job, what it takes from
// others. Those may take parts from others in turn; chain holds the jobs on the way
// here, seen all that were read. Findings stand at key, or at the job's own keys.
func (s *state) takeInto(into *File, dir, key string, chain []string, seen map[string]bool) {
	for i, from := range into.From {
		at := key
		if at == "" {
			at = fmt.Sprintf("from.%d", i)
		}
		if from.Job == "" {
			s.stop(at, "from-missing", "the job that parts are taken from is not named", "add job = \"…\": the file of a sheet job")
			continue
		}
		if !path.IsAbs(from.Job) {
			from.Job = path.Join(dir, from.Job)
		}
		name := path.Clean(from.Job)
		if slices.Contains(chain, name) {
			s.stop(at+".job", "from-chain", fmt.Sprintf("%s takes parts from itself, by way of %s", from.Job, strings.Join(append(chain, name), ", ")), "take one of these jobs out of the circle")
			continue
		}
		if seen[name] {
			s.stop(at+".job", "from-twice", fmt.Sprintf("parts are taken from %q twice", from.Job), "name it once; times = 2 makes its parts twice, and parts = [ … ] chooses among them")
			continue
		}
		seen[name] = true
		if from.Times < 0 {
			s.stop(at+".times", "quantity-wrong", fmt.Sprintf("%s is made %d times", from.Job, from.Times), "give 1 or more, or leave it out")
			continue
		}
		src, err := s.readFile("job", from.Job)
		if err != nil {
			s.stop(at+".job", "job-missing", fmt.Sprintf("cannot read job %q: %s", from.Job, plainError(err)), "check the name; it is looked for beside the job that names it")
			continue
		}
		f, _, l := Parse(from.Job, src)
		s.add(l...)
		if stops(l) {
			continue
		}
		s.takeInto(f, path.Dir(name), at, append(slices.Clone(chain), name), seen)
		if len(f.Parts) == 0 {
			if len(f.From) == 0 {
				s.stop(at+".job", "from-empty", from.Job+" makes no parts from sheet", "name a job with [[part]]")
			}
			continue
		}
		s.partsOf(into, at, from, f)
	}
}

// partsOf takes over the parts of one job.
func (s *state) partsOf(into *File, key string, from From, f *File) {
	dir := path.Dir(path.Clean(from.Job))
	title := f.Name
	if title == "" {
		title = f.Title
	}
	if title == "" {
		title = dir
	}
	for _, p := range into.Parts { // two jobs of one title
		if p.job == title {
			title = fmt.Sprintf("%s (%s)", title, from.Job)
			break
		}
	}
	s.cuttersOf(into, key, from, f)
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
		if p.job == "" { // its own, not taken from another job in turn
			p.Name, p.job = old+" of "+slug(title), title
			if p.Drawing != "" && !path.IsAbs(p.Drawing) {
				p.Drawing = path.Join(dir, p.Drawing)
			}
		}
		s.bindTo(&p, f)
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
		root := into == s.file
		if root {
			s.pos.like(fmt.Sprintf("part.%d", len(into.Parts)), key)
		}
		into.Parts = append(into.Parts, p)
		for _, c := range f.Cuts {
			if c.Part == old {
				c.Part = p.Name
				if root {
					s.pos.like(fmt.Sprintf("cut.%d", len(into.Cuts)), key)
				}
				into.Cuts = append(into.Cuts, c)
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
func (s *state) cuttersOf(into *File, key string, from From, f *File) {
	for _, c := range f.Cutters {
		k := slices.IndexFunc(into.Cutters, func(o map[string]any) bool { return o["name"] == c["name"] })
		switch {
		case k < 0:
			if into == s.file {
				s.pos.like(fmt.Sprintf("cutter.%d", len(into.Cutters)), key)
			}
			into.Cutters = append(into.Cutters, c)
		case !reflect.DeepEqual(into.Cutters[k], c):
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
