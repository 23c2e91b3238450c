package job

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"path"
	"slices"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/skin"
)

// Reading is a filled-in list or the log of a touch-off.
type Reading struct {
	Name string // of the file, for findings
	Data []byte
	// Limit asks how well the height must be known at the cuts, mm; 0 = not asked.
	Limit float64
	// Add keeps the heights that the job has; otherwise the new ones take their
	// place, since a wing that was laid down anew lies elsewhere.
	Add bool
}

// ReadMeasured takes a reading back into the job. The Edits of the result are the
// file of heights that the job names and the job file with its datums as touched,
// all else in it as it was; the Outputs are both as they were before, so that
// nothing is lost, and touch-more.csv, a list of what more to touch. It checks how well repeated touches agree, the fit of the datums
// and the heights, and returns what more to touch so that the height is known
// within the limit. When a finding blocks there are no edits.
func ReadMeasured(ctx context.Context, req Request, r Reading) (*Result, []geom.Point, error) {
	s := &state{req: req, lib: req.Library, res: &Result{}}
	s.begin()
	more, err := s.takes(ctx, r)
	s.acceptAll()
	if s.res.Findings.Blocks() {
		s.res.Outputs, s.res.Edits = nil, nil
	}
	s.res.Findings = s.res.Findings.Sorted()
	return s.res, more, err
}

func (s *state) takes(ctx context.Context, r Reading) ([]geom.Point, error) {
	readJob(ctx, s)
	if !s.proceeds() {
		return nil, ctx.Err()
	}
	if s.w.Sheet || s.file.Skin == nil {
		s.stop("", "not-a-wing-job", "a sheet is measured with a caliper at four corners", "measure is for jobs with [skin]")
		return nil, nil
	}
	rows, l := skin.ReadMeasured(bytes.NewReader(r.Data), r.Name, s.inch(), isDatumRow)
	s.add(l...)
	if stops(l) {
		return nil, nil
	}
	fresh, datums, edges := s.sorted(rows, r.Name)
	edits := s.datumEdits(datums, edges)
	sq, dof := skin.Repeatability(fresh)
	s.repeats("heights", agreement{sq: float64(sq*sq) * float64(dof), dof: dof}, s.heightU(), "touch_uncertainty_z")
	heights, file := s.freshHeights(fresh, r.Add)
	if len(fresh) > 0 && s.file.Skin.Heights == "" {
		edits = append(edits, edit{"skin", "heights", []string{fmt.Sprintf("%q", file)}})
	}
	if stops(s.res.Findings) {
		return nil, nil
	}
	before, err := s.req.Files.ReadFile(s.req.Name)
	if err != nil {
		s.stop("", "job-missing", "cannot read the job again: "+plainError(err), "try again")
		return nil, nil
	}
	text, err := editJob(before, edits)
	if err != nil {
		s.stop("", "job-uneditable", "the measurements cannot be written into the job: "+err.Error(), "give each [[datum]], each [[edge]] and [skin] a table of its own")
		return nil, nil
	}
	after := overlay{s.req.Files, map[string][]byte{s.req.Name: text}}
	if !bytes.Equal(text, before) {
		s.res.Edits = append(s.res.Edits, Output{s.req.Name, text})
		s.res.Outputs = append(s.res.Outputs, Output{besides(s.req.Name), before})
	}
	if len(fresh) > 0 {
		after.files[file] = heightsText(s.oldHeights(file), heights, s.inch())
		s.res.Edits = append(s.res.Edits, Output{file, after.files[file]})
		if old, err := s.req.Files.ReadFile(file); err == nil {
			s.res.Outputs = append(s.res.Outputs, Output{besides(file), old})
		}
	}
	// The job comes last: it names what is there by then.
	slices.Reverse(s.res.Edits)
	more, err := s.judges(ctx, after, r, heights)
	if len(more) > 0 {
		s.res.Outputs = append(s.res.Outputs, Output{"touch-more.csv", s.touchList(heightTouches(more, Measuring{}), false)})
	}
	return more, err
}

// besides is the name under which what was before is kept among the outputs.
func besides(file string) string {
	base := path.Base(strings.ReplaceAll(file, "\\", "/"))
	ext := path.Ext(base)
	return strings.TrimSuffix(base, ext) + "-before" + ext
}

// inch tells whether the display of the machine shows inches.
func (s *state) inch() bool { return s.w.Machine.Controller.Units == "inch" }

// overlay is files of which some are replaced.
type overlay struct {
	Files
	files map[string][]byte
}

// ReadFile reads what stands in the place of the file, or the file.
func (o overlay) ReadFile(name string) ([]byte, error) {
	if b, ok := o.files[name]; ok {
		return b, nil
	}
	return o.Files.ReadFile(name)
}

// freshHeights returns the heights that the job is to have, and the file for them.
func (s *state) freshHeights(fresh []skin.Touch, add bool) ([]skin.Touch, string) {
	file := s.file.Skin.Heights
	if file == "" {
		file = "heights.csv"
	}
	if !add || s.file.Skin.Heights == "" {
		return fresh, file
	}
	old, l := skin.ReadMeasured(bytes.NewReader(s.oldHeights(file)), file, s.inch(), func(string) bool { return false })
	if s.add(l...); stops(l) {
		return nil, file
	}
	return merged(old, fresh), file
}

func (s *state) oldHeights(file string) []byte {
	b, err := s.req.Files.ReadFile(file)
	if err != nil {
		return nil
	}
	return b
}

// heightsText writes heights in mm under the remarks that stood in the file before,
// with the unit in the head where the machine shows another one.
func heightsText(old []byte, heights []skin.Touch, inch bool) []byte {
	var b strings.Builder
	for line := range strings.Lines(string(old)) {
		if strings.HasPrefix(strings.TrimSpace(line), "#") {
			b.WriteString(strings.TrimRight(line, "\r\n") + "\n")
		}
	}
	if inch {
		b.WriteString("x_mm,y_mm,z_mm,name\n")
	} else {
		b.WriteString("x,y,z,name\n")
	}
	for _, t := range heights {
		fmt.Fprintf(&b, "%.3f,%.3f,%.3f,%s\n", t.X, t.Y, t.Z, strings.Map(func(r rune) rune {
			if strings.ContainsRune(",;\t\"", r) {
				return ' '
			}
			return r
		}, t.Name))
	}
	return []byte(b.String())
}

// judges locates the work anew by the job as it will be, and says how well its
// skin is known.
func (s *state) judges(ctx context.Context, after overlay, r Reading, heights []skin.Touch) (more []geom.Point, err error) {
	t := &state{req: s.req, lib: s.lib, res: &Result{}}
	t.req.Files = after
	t.begin()
	readJob(ctx, t)
	if !t.proceeds() {
		s.add(t.res.Findings...)
		return nil, ctx.Err()
	}
	t.res.Findings = nil // said before
	if t.untouched() != nil {
		s.add(diag.Finding{Code: "datums-first", Severity: diag.Note, Subject: s.req.Name, Message: "some datums are not touched yet"})
		return nil, ctx.Err()
	}
	defer func() {
		t.acceptAll()
		s.add(t.res.Findings...)
	}()
	regions, ok := t.measurable(ctx)
	if err := ctx.Err(); err != nil || !ok {
		return nil, err
	}
	if moved := farthest(s.file, t.file); moved > movedMuch && len(heights) == 0 && t.file.Skin.Heights != "" {
		t.add(diag.Finding{Code: "heights-stale", Severity: diag.Warn, Subject: s.req.Name,
			Message: fmt.Sprintf("the datums lie up to %.2f mm from where they were, and the heights were touched before", moved),
			Help:    "touch the heights again if the wing was moved"}.With(moved, movedMuch, "mm"))
	}
	if len(heights) == 0 {
		return nil, nil
	}
	t.w.Thickness = lengthOr(t.file.Skin.Thickness, 0)
	model, _ := t.heightModel(t.file.Skin)
	if model == nil || !(r.Limit > 0) || math.IsInf(r.Limit, 0) {
		return nil, nil
	}
	more, l := skin.MoreTouches(model, regions, r.Limit, t.widest(), t.touchPlan(0))
	t.add(l...)
	if len(more) == 0 {
		t.add(s.enough(r.Limit))
	}
	return more, nil
}

// movedMuch is how far datums may change until the heights are asked about, mm.
const movedMuch = 1.0
