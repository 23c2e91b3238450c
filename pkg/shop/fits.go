package shop

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sparclear/pkg/diag"
)

// ISO 286 tolerance grades and classes for nominal sizes up to 50 mm. Grades:
// ISO 286-1:2010, table 1. Classes: JIS B 0401:1999, whose values are those of
// ISO 286-2; rows up to 3 mm of F7 and G7 and all of P7 from memory.

// isoSteps are the upper ends of the ranges of nominal size, mm; a size that is
// an upper end belongs to the range below it ("over 3 up to 6").
var isoSteps = [...]float64{3, 6, 10, 18, 30, 50}

// isoGrades are the tolerances of IT6 to IT14 in µm by range.
var isoGrades = [9][6]float64{
	{6, 8, 9, 11, 13, 16},
	{10, 12, 15, 18, 21, 25},
	{14, 18, 22, 27, 33, 39},
	{25, 30, 36, 43, 52, 62},
	{40, 48, 58, 70, 84, 100},
	{60, 75, 90, 110, 130, 160},
	{100, 120, 150, 180, 210, 250},
	{140, 180, 220, 270, 330, 390},
	{250, 300, 360, 430, 520, 620},
}

// isoClass holds the upper and lower deviation in µm by range.
type isoClass struct {
	name         string
	upper, lower [6]float64
}

var isoClasses = [...]isoClass{
	{"F7", [6]float64{16, 22, 28, 34, 41, 50}, [6]float64{6, 10, 13, 16, 20, 25}},
	{"G7", [6]float64{12, 16, 20, 24, 28, 34}, [6]float64{2, 4, 5, 6, 7, 9}},
	{"H7", [6]float64{10, 12, 15, 18, 21, 25}, [6]float64{}},
	{"H8", [6]float64{14, 18, 22, 27, 33, 39}, [6]float64{}},
	{"H9", [6]float64{25, 30, 36, 43, 52, 62}, [6]float64{}},
	{"H11", [6]float64{60, 75, 90, 110, 130, 160}, [6]float64{}},
	{"H12", [6]float64{100, 120, 150, 180, 210, 250}, [6]float64{}},
	{"H13", [6]float64{140, 180, 220, 270, 330, 390}, [6]float64{}},
	{"JS7", [6]float64{5, 6, 7.5, 9, 10.5, 12.5}, [6]float64{-5, -6, -7.5, -9, -10.5, -12.5}},
	{"K7", [6]float64{0, 3, 5, 6, 6, 7}, [6]float64{-10, -9, -10, -12, -15, -18}},
	{"N7", [6]float64{-4, -4, -4, -5, -7, -8}, [6]float64{-14, -16, -19, -23, -28, -33}},
	{"P7", [6]float64{-6, -8, -9, -11, -14, -17}, [6]float64{-16, -20, -24, -29, -35, -42}},
	{"R7", [6]float64{-10, -11, -13, -16, -20, -25}, [6]float64{-20, -23, -28, -34, -41, -50}},
	{"f7", [6]float64{-6, -10, -13, -16, -20, -25}, [6]float64{-16, -22, -28, -34, -41, -50}},
	{"g6", [6]float64{-2, -4, -5, -6, -7, -9}, [6]float64{-8, -12, -14, -17, -20, -25}},
	{"h6", [6]float64{}, [6]float64{-6, -8, -9, -11, -13, -16}},
	{"h7", [6]float64{}, [6]float64{-10, -12, -15, -18, -21, -25}},
	{"js6", [6]float64{3, 4, 4.5, 5.5, 6.5, 8}, [6]float64{-3, -4, -4.5, -5.5, -6.5, -8}},
	{"k6", [6]float64{6, 9, 10, 12, 15, 18}, [6]float64{0, 1, 1, 1, 2, 2}},
	{"n6", [6]float64{10, 16, 19, 23, 28, 33}, [6]float64{4, 8, 10, 12, 15, 17}},
	{"p6", [6]float64{12, 20, 24, 29, 35, 42}, [6]float64{6, 12, 15, 18, 22, 26}},
	{"s6", [6]float64{20, 27, 32, 39, 48, 59}, [6]float64{14, 19, 23, 28, 35, 43}},
}

// isoRange returns the range of a nominal size, -1 outside 0 to 50 mm.
func isoRange(nominal float64) int {
	if !(nominal > 0) {
		return -1
	}
	return slices.IndexFunc(isoSteps[:], func(top float64) bool { return nominal <= top })
}

// Grade returns the width in mm of the tolerance grade IT6 to IT14 at a nominal
// size of 0 to 50 mm; false outside the table.
func Grade(it int, nominal float64) (float64, bool) {
	r := isoRange(nominal)
	if r < 0 || it < 6 || it > 14 {
		return 0, false
	}
	return isoGrades[it-6][r] / 1000, true
}

// GradeHeld returns the finest grade IT6 to IT14 that is at least as wide as
// width mm at the nominal size; false when even IT14 is not, or the size is
// outside the table.
func GradeHeld(width, nominal float64) (int, bool) {
	for it := 6; it <= 14; it++ {
		if w, ok := Grade(it, nominal); ok && width <= w*(1+1e-9) {
			return it, true
		}
	}
	return 0, false
}

// Classes returns the names of the tolerance classes that are known, holes
// (upper case) first.
func Classes() []string {
	out := make([]string, len(isoClasses))
	for i, c := range isoClasses {
		out[i] = c.name
	}
	return out
}

// Deviations returns the upper and lower deviation in mm of a tolerance class,
// "H7" for a hole or "g6" for a shaft, at a nominal size. The finding has the
// code "fit-unknown".
func Deviations(class string, nominal float64) (upper, lower float64, f *diag.Finding) {
	i := slices.IndexFunc(isoClasses[:], func(c isoClass) bool { return c.name == class })
	r := isoRange(nominal)
	switch {
	case i < 0:
		return 0, 0, &diag.Finding{Code: "fit-unknown", Severity: diag.Stop, Input: true,
			Message: fmt.Sprintf("tolerance class %q is not in the table", clip(class)), Help: diag.DidYouMean(class, Classes())}
	case r < 0:
		f := diag.Finding{Code: "fit-unknown", Severity: diag.Stop, Input: true,
			Message: fmt.Sprintf("nominal size %.4g mm is outside the table of 0 to 50 mm", nominal), Help: "give the allowance as a number"}.With(nominal, 50, "mm")
		return 0, 0, &f
	}
	return isoClasses[i].upper[r] / 1000, isoClasses[i].lower[r] / 1000, nil
}

// IsHoleClass tells whether the class is one of a hole (upper case).
func IsHoleClass(class string) bool { return class != "" && class == strings.ToUpper(class) }

// Fit returns the least and the largest clearance in mm of a fit such as 6 H7/g6;
// negative is interference.
func Fit(hole, shaft string, nominal float64) (least, most float64, f *diag.Finding) {
	if !IsHoleClass(hole) || IsHoleClass(shaft) {
		return 0, 0, &diag.Finding{Code: "fit-unknown", Severity: diag.Stop, Input: true,
			Message: fmt.Sprintf("fit %q over %q is not a hole over a shaft", clip(hole), clip(shaft)), Help: "write the hole in upper case, the shaft in lower case, as in H7/g6"}
	}
	hu, hl, f := Deviations(hole, nominal)
	if f != nil {
		return 0, 0, f
	}
	su, sl, f := Deviations(shaft, nominal)
	if f != nil {
		return 0, 0, f
	}
	return hl - su, hu - sl, nil
}

// routedSpread is what bending and wear of the cutter and the change of its
// diameter add to a routed size, mm: common practice, no source.
const routedSpread = 0.02

// Holds returns the width in mm of the tolerance that the machine holds on a
// routed size: its reversal value, its runout, and 0.02 mm for the cutter. Common
// practice: a reversal value of 0.05 to 0.15 mm gives IT11 to IT13.
func (m Machine) Holds() float64 { return m.Reversal + m.Runout + routedSpread }

// JudgeClass warns when a class is finer than the machine holds (code
// "fit-too-fine"). The honest way is to cut undersize and to ream or sand to size.
func JudgeClass(m Machine, class string, nominal float64) diag.List {
	u, l, f := Deviations(class, nominal)
	if f != nil {
		return diag.List{*f}
	}
	width, holds := u-l, m.Holds()
	if width >= holds*(1-1e-9) {
		return nil
	}
	held := "coarser than IT14"
	if it, ok := GradeHeld(holds, nominal); ok {
		held = fmt.Sprintf("about IT%d", it)
	}
	return diag.List{diag.Finding{Code: "fit-too-fine", Severity: diag.Warn,
		Message: fmt.Sprintf("%.4g %s allows %.0f µm, the machine holds %.0f µm, %s", nominal, class, width*1000, holds*1000, held),
		Help:    fmt.Sprintf("cut %.2f mm undersize and drill or ream to size, or take a wider class", math.Ceil(holds*100-1e-9)/100)}.With(width, holds, "mm")}
}

// JudgeFit warns of a fit finer than the machine holds, and of an interference
// fit in a laminate, which can delaminate it (MIL-HDBK-17-3F, volume 3, chapter
// 12): code "fit-press", to be confirmed.
func JudgeFit(m Machine, mat Material, hole, shaft string, nominal float64) diag.List {
	least, _, f := Fit(hole, shaft, nominal)
	if f != nil {
		return diag.List{*f}
	}
	list := JudgeClass(m, hole, nominal)
	if least < 0 && mat.Laminate() {
		list.Add(diag.Finding{Code: "fit-press", Severity: diag.Confirm,
			Message: fmt.Sprintf("%.4g %s/%s may press by %.0f µm into a laminate", nominal, hole, shaft, -least*1000),
			Help:    "take a clearance fit, or bond in a loose sleeve first"}.With(least, 0, "mm"))
	}
	return list
}

// Laminate tells whether the material is fibre composite or has faces of it.
func (m Material) Laminate() bool {
	return m.Family == "cfrp" || m.Family == "gfrp" || m.Family == "sandwich"
}
