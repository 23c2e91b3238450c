package job

import (
	"context"
	"fmt"

	"sparclear/pkg/diag"
	"sparclear/pkg/picture"
	"sparclear/pkg/plan"
	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
)

func planPaths(ctx context.Context, s *state) {
	paths, l := plan.Plan(ctx, s.w)
	s.add(l...)
	s.res.Paths = paths
}

func writePrograms(_ context.Context, s *state) {
	for _, p := range s.res.Paths {
		p.Head = append(s.headLines(), p.Head...)
		text, l := rs274.Write(p, s.w)
		s.add(l...)
		if stops(l) {
			return
		}
		s.res.Programs = append(s.res.Programs, proof.Source{File: p.Name + ".nc", Text: text})
	}
}

// headLines are what the operator must see before anything moves; the first also
// marks the file as one of ours, so that a later run can set it aside.
func (s *state) headLines() []string {
	head := []string{"sparclear " + s.req.Version + ": " + s.w.Title}
	if !s.w.Sheet {
		head = append(head, fmt.Sprintf("panel %s, %s side up", orNotSaid(s.w.Panel), orNotSaid(s.w.SideUp)))
	}
	return append(head, "zero: "+s.w.Zero+", rapids at Z "+fmt.Sprintf("%.2f", s.w.SafeZ)+" mm")
}

func orNotSaid(word string) string {
	if word == "" {
		return "not said"
	}
	return word
}

// provePrograms holds the written text against the work. A program that is not
// proven gets no output.
func provePrograms(ctx context.Context, s *state) {
	cert, l := proof.Prove(ctx, s.w, s.res.Programs)
	s.add(l...)
	s.res.Certificate = cert
	if cert == nil {
		return
	}
	s.seal("certificate"+s.res.suffix+".json", "the program is not proven")
}

// seal adds the programs of the result and their certificate, under its name, to
// the outputs, or says why not: a certificate that does not hold must never pass
// silently. Outputs that were there before are the caller's to clear.
func (s *state) seal(name, otherwise string) {
	cert := s.res.Certificate
	cert.Tool = "sparclear " + s.req.Version
	s.acceptAll()
	if !cert.OK && !s.res.Findings.Blocks() {
		s.add(diag.Finding{Code: "not-proven", Severity: diag.Stop, Subject: s.req.Name, Message: otherwise, Help: "see the checks in the certificate"})
	}
	if s.res.Findings.Blocks() {
		return
	}
	b, err := cert.Encode()
	if err != nil { // a figure in it is not finite
		s.add(diag.Finding{Code: "certificate-failed", Severity: diag.Stop, Subject: s.req.Name, Message: "the certificate cannot be written: " + err.Error(), Help: "look for a number in the job that is far out"})
		return
	}
	for _, p := range s.res.Programs {
		s.res.Outputs = append(s.res.Outputs, Output{p.File, p.Text})
	}
	s.res.Outputs = append(s.res.Outputs, Output{name, b})
}

// Scene is what pictures of a run show.
func (r *Result) Scene() picture.Scene {
	return picture.Scene{Work: r.Work, Programs: r.Programs, Certificate: r.Certificate, Findings: r.Findings, Remnants: r.Remnants}
}

func drawPictures(_ context.Context, s *state) {
	if s.res.Findings.Blocks() {
		return
	}
	if s.w.Sheet {
		s.res.findRemnants()
	}
	for _, d := range []struct {
		name, form string
		draw       func(picture.Scene) ([]byte, error)
	}{
		{"plan", ".svg", picture.Plan},
		{"strip", ".svg", picture.Strip},
		{"run-sheet", ".pdf", picture.RunSheet},
		{"film", ".html", picture.Film},
	} {
		name := d.name + s.res.suffix + d.form
		b, err := d.draw(s.res.Scene())
		if err != nil {
			s.add(diag.Finding{Code: "picture-failed", Severity: diag.Stop, Subject: name, Message: "cannot be drawn: " + err.Error(), Help: "report the job; nothing was written"})
			return
		}
		s.res.Outputs = append(s.res.Outputs, Output{name, b})
	}
}
