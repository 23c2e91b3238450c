package job

import (
	"context"
	"fmt"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/proof"
)

// each lists the states that the next stage runs on: one for every piece of
// stock, or this one.
func (s *state) each() []*state {
	if len(s.children) > 0 {
		return s.children
	}
	return []*state{s}
}

func (s *state) stopped() bool {
	for _, t := range s.each() {
		if stops(t.res.Findings) {
			return true
		}
	}
	return false
}

// gather brings the results of the pieces together. Where anything blocks, no
// piece hands anything out.
func (s *state) gather() {
	r := s.res
	for _, t := range s.children {
		for _, f := range t.res.Findings[t.known:] {
			if f.Severity == diag.Note && s.said(f) {
				continue
			}
			s.add(f)
		}
		r.Sheets = append(r.Sheets, t.res)
		r.Programs = append(r.Programs, t.res.Programs...)
		r.Paths = append(r.Paths, t.res.Paths...)
		r.Outputs = append(r.Outputs, t.res.Outputs...)
		r.Certificate = summed(r.Certificate, t.res.Certificate)
		t.res.Findings = t.res.Findings.Sorted()
	}
	if len(s.children) > 0 {
		r.Work = s.children[0].w
	}
	if s.req.Goal >= Draw && s.w != nil && s.w.Sheet && !r.Findings.Blocks() {
		if s.file.Layout == "" {
			r.Outputs = append(r.Outputs, Output{"layout.toml", layoutText(r)})
		}
		outs, l := stockFiles(r)
		s.add(l...)
		r.Outputs = append(r.Outputs, outs...)
	}
	if r.Findings.Blocks() {
		r.Outputs = nil
		for _, t := range r.Sheets {
			t.Outputs = nil
		}
	}
}

// summed adds what a certificate says to the sum of others. The sum holds when
// each of them does.
func summed(all, c *proof.Certificate) *proof.Certificate {
	if c == nil {
		return all
	}
	if all == nil {
		one := *c
		return &one
	}
	all.OK = all.OK && c.OK
	all.Programs = append(all.Programs[:len(all.Programs):len(all.Programs)], c.Programs...)
	all.Margins = append(all.Margins[:len(all.Margins):len(all.Margins)], c.Margins...)
	all.Leftovers = append(all.Leftovers[:len(all.Leftovers):len(all.Leftovers)], c.Leftovers...)
	all.Findings = append(all.Findings[:len(all.Findings):len(all.Findings)], c.Findings...)
	return all
}

// Pieces lists the results of the pieces of stock that the job uses: of a wing
// or a single sheet the result itself.
func (r *Result) Pieces() []*Result {
	if len(r.Sheets) > 0 {
		return r.Sheets
	}
	return []*Result{r}
}

// Suffix is what stands behind the names of the outputs of one piece of stock where
// the job uses several, like "-plate-2"; empty otherwise.
func (r *Result) Suffix() string { return r.suffix }

// Piece returns the result of one piece of stock by the name of its sheet, with
// " 2" and so on behind it for further pieces of it. The empty name is enough where
// the job uses only one; otherwise a finding lists the names.
func (r *Result) Piece(name string) (*Result, diag.List) {
	var names []string
	for _, p := range r.Pieces() {
		if len(r.Sheets) == 0 && name == "" {
			return p, nil
		}
		if name != "" && p.Work != nil && pieceName(p) == name {
			return p, nil
		}
		if p.Work != nil {
			names = append(names, fmt.Sprintf("%q", pieceName(p)))
		}
	}
	f := diag.Finding{Code: "sheet-unsaid", Severity: diag.Stop, Input: true, Message: "the job uses several sheets", Help: "name one of them: " + strings.Join(names, ", ")}
	if name != "" {
		f.Code, f.Message = "sheet-unknown", fmt.Sprintf("the job cuts nothing from a sheet %q", name)
	}
	return nil, diag.List{f}
}

func pieceName(r *Result) string {
	b := r.Work.Blank
	if b.Pieces > 1 {
		return fmt.Sprintf("%s %d", b.Name, b.Piece)
	}
	return b.Name
}

// resolvePiece resolves a job as far as the work of the piece of stock that the
// request names.
func resolvePiece(ctx context.Context, req Request) (*Result, error) {
	req.Goal = Resolve
	res, err := Run(ctx, req)
	if err != nil || res.Findings.Blocks() {
		return res, err
	}
	p, l := res.Piece(req.Sheet)
	if p == nil {
		res.Findings = append(res.Findings, l...)
		return res, nil
	}
	return p, nil
}
