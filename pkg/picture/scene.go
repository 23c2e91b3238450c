// Package picture draws what a job will do, before it runs: a plan view (SVG), a
// run sheet for the wall beside the machine (PDF) and a film in which the
// operator scrubs through the program (one HTML file, no network). It reads the
// work, the program text and the certificate and changes nothing. Nothing that
// is cut comes from here.
//
//	svg, err := picture.Plan(picture.Scene{Work: w, Programs: programs, Certificate: cert})
//
// Pictures are deterministic: the same job gives the same bytes.
package picture

import (
	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/proof"
	"sparclear/pkg/work"
)

// Scene is all that a picture may show.
type Scene struct {
	Work        *work.Work
	Programs    []proof.Source
	Certificate *proof.Certificate
	Findings    diag.List     // warnings and acceptances for the run sheet
	Remnants    []geom.Region // of a sheet: what is worth keeping
}
