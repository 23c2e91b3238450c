package drawing

import (
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/geom"
)

// The cases of the corpus, with the numbers of its manifest (worked out there
// by hand, closed form). All are in drawing units; u is the unit in mm.
func TestEveryCaseOfTheCorpusIsReadAsItsManifestSays(t *testing.T) {
	dir := corpusDir(t, "dxf-cases")
	box := func(x0, y0, x1, y1 float64) *geom.Box { return &geom.Box{Min: geom.Pt(x0, y0), Max: geom.Pt(x1, y1)} }
	for _, tc := range []struct {
		file   string
		o      Options
		areas  []float64 // of all contours, largest first
		open   int
		box    *geom.Box
		length float64 // 0 = not checked
		codes  []string
		tol    float64 // of areas, mm²; 0 = 1e-5
	}{
		{file: "c01_bulge_slot.dxf", areas: []float64{226.265482}, box: box(-15, -4, 15, 4), length: 69.132741},
		{file: "c02_bulge_over_one.dxf", areas: []float64{420.984}, box: box(-2.5, -20, 22.5, 0), length: 75.357436, tol: 1e-3},
		{file: "c03_flag_129.dxf", areas: []float64{600}, length: 100},
		{file: "c04_insert_mirror_arc.dxf", areas: []float64{378.539816}, box: box(80, 0, 100, 20), length: 75.707963},
		{file: "c05_negative_extrusion.dxf", areas: []float64{50, 28.274334}, open: 2, box: box(-80, 0, 10, 8), length: 71.415927},
		{file: "c06_ellipse_negative_extrusion.dxf", open: 1, box: box(0, -5, 10, 0), length: 12.110560},
		{file: "c08_spline_closed_flag_clamped.dxf", areas: []float64{314.159265}, length: 62.831853},
		{file: "c10_spline_fit_points_only.dxf", areas: []float64{125}, box: box(0, 0, 20, 10), codes: []string{"spline-by-points"}, tol: 0.05},
		{file: "c11_block_base_point.dxf", areas: []float64{4 * math.Pi}, box: box(98, 68, 102, 72)},
		{file: "c12_insert_array.dxf", areas: rep(6, 4*math.Pi), box: box(-22, -2, 2, 22)},
		{file: "c13_insert_nonuniform.dxf", areas: []float64{50 * math.Pi}, box: box(-10, -5, 10, 5), length: 48.442241, tol: 0.05},
		{file: "c15_block_cycle.dxf", codes: []string{"block-cycle"}},
		{file: "c16_missing_endsec_eof.dxf", areas: []float64{600, 4 * math.Pi}, codes: []string{"drawing-no-end"}},
		{file: "c16b_missing_endsec_with_eof.dxf", areas: []float64{600}, codes: []string{"section-unclosed"}},
		{file: "c17_after_eof.dxf", areas: []float64{25 * math.Pi}},
		{file: "c18_padding_crlf.dxf", areas: []float64{600}, open: 1},
		{file: "c19_cr_only.dxf", areas: []float64{600}},
		{file: "c20_comments_999.dxf", areas: []float64{25 * math.Pi}, open: 1},
		{file: "c22_units_contradict.dxf", areas: []float64{1290.32}, box: box(0, 0, 50.8, 25.4), codes: []string{"units-contradict"}},
		{file: "c23_r12_polyline.dxf", areas: []float64{226.265482}, box: box(-15, -4, 15, 4)},
		{file: "c24_spline_fit_polyline.dxf", open: 1, box: box(0, 0, 20, 4), length: 21.859943},
		{file: "c26_wide_polyline.dxf", areas: []float64{600}, open: 1, length: 100 + 5*math.Pi, codes: []string{"polyline-wide"}},
		{file: "c27_codepage_layer.dxf", areas: []float64{600, 19.634954}},
		{file: "c29_long_line.dxf", areas: []float64{25 * math.Pi}},
		{file: "c30_unknown_entity.dxf", areas: []float64{600}, codes: []string{"entity-unread"}},
		{file: "c31_bad_radius.dxf", areas: []float64{25 * math.Pi}, codes: []string{"entity-broken"}},
		{file: "c32_arc_angles.dxf", areas: []float64{25 * math.Pi}, open: 2, codes: []string{"arc-without-sweep"}},
		{file: "c33_visibility.dxf", areas: []float64{600}},
		{file: "c34_huge_offset.dxf", areas: []float64{50}, codes: []string{"gaps-closed"}, tol: 0.01},
		{file: "c35_number_forms.dxf", areas: []float64{37.5}},
		{file: "c36_hatch_beside_outline.dxf", areas: []float64{12.5 * math.Pi}, box: box(-5, 0, 5, 5), codes: []string{"hatch-ignored"}},
		{file: "c37_duplicates.dxf", areas: []float64{600, 12.566371}, codes: []string{"drawn-twice", "drawn-over"}},
		{file: "c38_gaps.dxf", o: Options{JoinTol: 0.05}, areas: []float64{600}, open: 1, codes: []string{"gaps-closed", "outline-open"}, tol: 0.5},
		{file: "c39_binary_r2000.dxf", areas: []float64{226.265482, math.Pi * 2.25}},
		{file: "c44_xdata_and_102.dxf", areas: []float64{600}},
		{file: "c45_dimension_block.dxf", areas: []float64{600}, box: box(0, 0, 30, 20), codes: []string{"entity-ignored"}},
		{file: "c47_figure_eight.dxf", codes: []string{"contour-crosses"}},
		{file: "c48_tiny_and_zero.dxf", areas: []float64{600}, codes: []string{"pieces-dropped"}, tol: 0.01},
	} {
		t.Run(tc.file, func(t *testing.T) {
			d, found := readFile(t, filepath.Join(dir, tc.file), tc.o)
			areas := loopAreas(d)
			tol := tc.tol
			if tol == 0 {
				tol = 1e-5
			}
			if assert.Len(t, areas, len(tc.areas), "closed contours; findings %v", found) {
				for i := range areas {
					assert.InDelta(t, tc.areas[i], areas[i], tol, "area %d, mm²", i)
				}
			}
			assert.Len(t, d.Open, tc.open, "open chains")
			if tc.box != nil {
				assert.InDelta(t, 0, tc.box.Min.Dist(d.Bounds.Min), 0.003, "lower corner, got %v", d.Bounds.Min)
				assert.InDelta(t, 0, tc.box.Max.Dist(d.Bounds.Max), 0.003, "upper corner, got %v", d.Bounds.Max)
			}
			if tc.length > 0 {
				assert.InEpsilon(t, tc.length, d.Length, 2e-4, "length, mm")
			}
			for _, c := range tc.codes {
				assert.True(t, found.Has(c), "finding %s; got %v", c, found)
			}
			for _, f := range found {
				assert.NotEmpty(t, f.Message)
			}
		})
	}
}

func rep(n int, v float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}
