package shop

import (
	"fmt"
	"math"
	"slices"
	"strconv"
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

// gradeLetters are the classes that follow from their grade alone (ISO 286-1,
// section 4.3): H and h begin at the nominal size, JS and js lie evenly about it.
var gradeLetters = [...]string{"H", "JS", "h", "js"}

// isoClass holds the upper and lower deviation in µm by range.
type isoClass struct {
	name         string
	upper, lower [6]float64
}

var isoClasses = [...]isoClass{
	{"F7", [6]float64{16, 22, 28, 34, 41, 50}, [6]float64{6, 10, 13, 16, 20, 25}},
	{"G7", [6]float64{12, 16, 20, 24, 28, 34}, [6]float64{2, 4, 5, 6, 7, 9}},
	{"K7", [6]float64{0, 3, 5, 6, 6, 7}, [6]float64{-10, -9, -10, -12, -15, -18}},
	{"N7", [6]float64{-4, -4, -4, -5, -7, -8}, [6]float64{-14, -16, -19, -23, -28, -33}},
	{"P7", [6]float64{-6, -8, -9, -11, -14, -17}, [6]float64{-16, -20, -24, -29, -35, -42}},
	{"R7", [6]float64{-10, -11, -13, -16, -20, -25}, [6]float64{-20, -23, -28, -34, -41, -50}},
	{"f7", [6]float64{-6, -10, -13, -16, -20, -25}, [6]float64{-16, -22, -28, -34, -41, -50}},
	{"g6", [6]float64{-2, -4, -5, -6, -7, -9}, [6]float64{-8, -12, -14, -17, -20, -25}},
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
	var holes, shafts []string
	for it := 6; it <= 14; it++ {
		for _, l := range gradeLetters {
			if name := fmt.Sprintf("%s%d", l, it); IsHoleClass(name) {
				holes = append(holes, name)
			} else {
				shafts = append(shafts, name)
			}
		}
	}
	for _, c := range isoClasses {
		if IsHoleClass(c.name) {
			holes = append(holes, c.name)
		} else {
			shafts = append(shafts, c.name)
		}
	}
	return append(holes, shafts...)
}

// byGrade returns the deviations in µm of a class that follows from its grade.
func byGrade(class string, r int) (upper, lower float64, ok bool) {
	for _, l := range gradeLetters {
		rest, found := strings.CutPrefix(class, l)
		it, err := strconv.Atoi(rest)
		if !found || err != nil || it < 6 || it > 14 || rest != strconv.Itoa(it) {
			continue
		}
		w := isoGrades[it-6][r]
		switch l {
		case "H":
			return w, 0, true
		case "h":
			return 0, -w, true
		}
		return w / 2, -w / 2, true
	}
	return 0, 0, false
}

// Deviations returns the upper and lower deviation in mm of a tolerance class,
// "H7" for a hole or "g6" for a shaft, at a nominal size. The finding has the
// code "fit-unknown".
func Deviations(class string, nominal float64) (upper, lower float64, f *diag.Finding) {
	i := slices.IndexFunc(isoClasses[:], func(c isoClass) bool { return c.name == class })
	r := isoRange(nominal)
	graded := false
	if i < 0 {
		upper, lower, graded = byGrade(class, max(r, 0))
	}
	switch {
	case i < 0 && !graded:
		return 0, 0, &diag.Finding{Code: "fit-unknown", Severity: diag.Stop, Input: true,
			Message: fmt.Sprintf("tolerance class %q is not in the table", clip(class)), Help: diag.DidYouMean(class, Classes())}
	case r < 0:
		f := diag.Finding{Code: "fit-unknown", Severity: diag.Stop, Input: true,
			Message: fmt.Sprintf("nominal size %.4g mm is outside the table of 0 to 50 mm", nominal), Help: "give the allowance as a number"}.With(nominal, 50, "mm")
		return 0, 0, &f
	case graded:
		return upper / 1000, lower / 1000, nil
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
// diameter add to a routed size, mm, where they are not known: common practice,
// no source.
const routedSpread = 0.02

// Held is the width of the tolerance that a routed size keeps to, by what it is
// made of, mm. The parts are bounds and add up.
type Held struct {
	Reversal float64 // lost motion of X and Y: once across the size
	Runout   float64 // total indicated runout: the cut is wider by up to it
	Cutter   float64 // tolerance of the cutter's diameter, both ways
	Bend     float64 // bend of the blunt cutter at both walls
}

// Width returns the whole width, mm.
func (h Held) Width() float64 { return h.Reversal + h.Runout + h.Cutter + h.Bend }

// String names the parts in µm.
func (h Held) String() string {
	return fmt.Sprintf("lost motion %.0f, runout %.0f, cutter %.0f, bend %.0f", h.Reversal*1000, h.Runout*1000, h.Cutter*1000, h.Bend*1000)
}

// HeldWith returns what a machine holds with a cutter that bends by bend mm at
// the wall when it is blunt; 0 where that is not known.
func (m Machine) HeldWith(c Cutter, bend float64) Held {
	return Held{Reversal: m.Reversal, Runout: m.Runout, Cutter: 2 * c.DiameterTol, Bend: 2 * bend}
}

// Holds returns the width in mm of the tolerance that the machine holds on a
// routed size with a cutter that nothing is known of: its reversal value, its
// runout, and 0.02 mm for the cutter. Common practice: a reversal value of 0.05 to
// 0.15 mm gives IT11 to IT13.
func (m Machine) Holds() float64 { return m.Reversal + m.Runout + routedSpread }

// JudgeClass warns when a class is finer than the machine holds (code
// "fit-too-fine"). The honest way is to cut undersize and to ream or sand to size.
func JudgeClass(m Machine, class string, nominal float64) diag.List {
	return JudgeSize(Held{Reversal: m.Reversal, Runout: m.Runout, Cutter: routedSpread}, class, nominal)
}

// JudgeSize warns when a class is finer than what is held (code "fit-too-fine"),
// with what that is made of.
func JudgeSize(h Held, class string, nominal float64) diag.List {
	u, l, f := Deviations(class, nominal)
	if f != nil {
		return diag.List{*f}
	}
	width, holds := u-l, h.Width()
	if width >= holds*(1-1e-9) {
		return nil
	}
	held := "coarser than IT14"
	if it, ok := GradeHeld(holds, nominal); ok {
		held = fmt.Sprintf("about IT%d", it)
	}
	help := "cut %.2f mm undersize and drill or ream to size, or take a wider class"
	if !IsHoleClass(class) {
		help = "leave %.2f mm and sand to size, or take a wider class"
	}
	return diag.List{diag.Finding{Code: "fit-too-fine", Severity: diag.Warn,
		Message: fmt.Sprintf("%.4g %s allows %.0f µm, the machine holds %.0f µm, %s (%s µm)", nominal, class, width*1000, holds*1000, held, h),
		Help:    fmt.Sprintf(help, math.Ceil(holds*100-1e-9)/100)}.With(width, holds, "mm")}
}

// JudgeFit warns of a fit finer than the machine holds, and of an interference
// fit in a laminate: JudgeClass of the hole and JudgePress.
func JudgeFit(m Machine, mat Material, hole, shaft string, nominal float64) diag.List {
	least, _, f := Fit(hole, shaft, nominal)
	if f != nil {
		return diag.List{*f}
	}
	list := JudgeClass(m, hole, nominal)
	list.Add(JudgePress(mat, fmt.Sprintf("%.4g %s/%s", nominal, hole, shaft), least)...)
	return list
}

// JudgePress asks about a fit whose least clearance in mm is negative in a
// laminate: it can delaminate it (MIL-HDBK-17-3F, volume 3, chapter 12). Code
// "fit-press", to be confirmed.
func JudgePress(mat Material, fit string, least float64) diag.List {
	if !(least < 0) || !mat.Laminate() {
		return nil
	}
	return diag.List{diag.Finding{Code: "fit-press", Severity: diag.Confirm,
		Message: fmt.Sprintf("%s may press by %.0f µm into a laminate", fit, -least*1000),
		Help:    "take a clearance fit, or bond in a loose sleeve first"}.With(least, 0, "mm")}
}

// Laminate tells whether the material is fibre composite or has faces of it.
func (m Material) Laminate() bool {
	return m.Family == "cfrp" || m.Family == "gfrp" || m.Family == "sandwich"
}
