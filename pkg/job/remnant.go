package job

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/picture"
)

const (
	// leastRemnant is the narrowest strip that is worth keeping beyond the margins
	// of the next job, mm; common practice, no source.
	leastRemnant = 20.0
	// leastShare is the smallest area that is worth keeping, in squares of the least
	// width.
	leastShare = 1.5
	// mostRemnants is how many pieces of one sheet are kept; the rest is waste.
	mostRemnants = 9
	remnantTol   = 0.01 // of its outline, mm
)

// findRemnants finds what is left of a sheet when its parts are cut out along
// their kerfs, less flaws, and less what is narrower than is kept: an opening by
// half the width (erosion, then dilation; J. Serra, Image Analysis and
// Mathematical Morphology, 1982, chapter II). The largest comes first. Slugs of
// large holes count. None where it cannot be told for certain.
func (r *Result) findRemnants() {
	w := r.Work
	kerf := 0.0
	for _, c := range w.Cutters {
		kerf = math.Max(kerf, c.Diameter+c.DiameterTol+w.Machine.Runout)
	}
	var gone []geom.Region
	for _, p := range w.Parts {
		grown, err := p.Region.Offset(kerf, remnantTol)
		if err != nil {
			return
		}
		gone = append(gone, grown...)
	}
	for _, m := range w.Members {
		gone = append(gone, m.Footprint...)
	}
	rest, err := geom.Subtract(w.Stock, gone)
	if err != nil {
		return
	}
	var out []geom.Region
	for _, g := range rest {
		core, err := g.Offset(-r.keep/2, remnantTol)
		if err != nil {
			return
		}
		for _, c := range core {
			// Grown by more than was taken, and cut by what there is, so that square
			// corners stay.
			whole, err := c.Offset(r.keep/2*math.Sqrt2, remnantTol)
			if err == nil {
				whole, err = geom.Intersect([]geom.Region{g}, whole)
			}
			if err != nil {
				return
			}
			for _, w := range whole {
				if w.ContainsInterior(c.Outer[0].Point) && w.Area() >= leastShare*r.keep*r.keep {
					out = append(out, w)
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b geom.Region) int { return cmp.Compare(b.Area(), a.Area()) })
	r.Remnants = out[:min(len(out), mostRemnants)]
}

// keepFrom settles how narrow a remnant may be that is kept.
func (s *state) keepFrom() {
	s.res.keep = 2*s.blanks[s.sheet].margin + leastRemnant
	if n := s.file.Nest; n != nil && n.Remnant != nil && s.positive("nest.remnant", "width of a remnant", float64(*n.Remnant)) {
		s.res.keep = float64(*n.Remnant)
	}
}

// stockFiles renders what is kept of a sheet job beside programs: labels for the
// parts, remnants as drawings, and remnants.toml with their tables for the next job.
func stockFiles(r *Result) ([]Output, diag.List) {
	var outs []Output
	var tables strings.Builder
	for _, p := range r.Pieces() {
		if p.Remnants == nil {
			p.findRemnants()
		}
		labels, err := picture.Labels(p.Scene())
		if err != nil {
			return nil, layoutFailed("the labels cannot be drawn", err)
		}
		outs = append(outs, Output{"labels" + p.suffix + ".pdf", labels})
		for k, g := range p.Remnants {
			l := drawing.Layout{}
			l.Add("SHEET", g.Transform(geom.Rigid{Shift: g.Bounds().Min.Mul(-1)}))
			dxf, err := dxfOf(l)
			if err != nil {
				return nil, layoutFailed("the remnant cannot be written as DXF", err)
			}
			name := "remnant" + p.suffix
			if k > 0 {
				name += fmt.Sprintf("-%d", k+1)
			}
			outs = append(outs, Output{name + ".dxf", dxf})
			p.remnantTable(&tables, r.Job, name, k, g)
		}
	}
	if tables.Len() > 0 {
		head := "# What is left, as sheets for the next job: copy a table there, beside its drawing.\n# Measure the thickness again; mark the fibre on the piece before it leaves the machine.\n"
		outs = append(outs, Output{"remnants.toml", []byte(head + tables.String())})
	}
	return outs, nil
}

// remnantTable writes the [[sheet]] of one remnant. Its cost is its share of what
// the sheet cost, by area; the parts have paid for nothing that is kept.
func (r *Result) remnantTable(b *strings.Builder, f *File, name string, k int, g geom.Region) {
	w := r.Work
	size := g.Bounds().Size()
	fmt.Fprintf(b, "\n[[sheet]] # %.0f by %.0f mm, %.0f cm²\nname = %q\ndrawing = %q\nlayer = \"SHEET\"\n", size.X, size.Y, g.Area()/100, fmt.Sprintf("rest %d of %s", k+1, pieceName(r)), name+".dxf")
	if f.Sheets[r.sheet].Material != nil {
		fmt.Fprintf(b, "material = %q\n", w.Material.Name)
	}
	fmt.Fprintf(b, "thickness = %s\n", figure(w.Thickness, 4))
	if w.ThickTol > 0 {
		fmt.Fprintf(b, "thickness_tol = %s\n", figure(w.ThickTol, 4))
	}
	if w.Fibre != nil {
		fmt.Fprintf(b, "fibre_deg = %s\n", figure(*w.Fibre*180/math.Pi, 6))
	}
	if w.Blank.Cost != nil {
		fmt.Fprintf(b, "cost = %s\n", figure(*w.Blank.Cost*g.Area()/areaOf(w.Stock), 2))
	}
}
