package shop

import "slices"

// General tolerances of ISO 2768-1:1989, tables 1 to 3. The row c is ±0.2 and
// ±0.3 mm in its first two ranges; pages that print 0.15 and 0.2 there carry the
// older DIN 7168.

var (
	linearSteps = [...]float64{3, 6, 30, 120, 400, 1000, 2000, 4000}
	linearRows  = [...]struct {
		class string
		tol   [8]float64 // mm, 0 where the standard gives none
	}{
		{"f", [8]float64{0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 0}},
		{"m", [8]float64{0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2}},
		{"c", [8]float64{0.2, 0.3, 0.5, 0.8, 1.2, 2, 3, 4}},
		{"v", [8]float64{0, 0.5, 1, 1.5, 2.5, 4, 6, 8}},
	}
	angleSteps = [...]float64{10, 50, 120, 400}
	angleRows  = [...]struct {
		class string
		tol   [5]float64 // minutes of arc
	}{
		{"f", [5]float64{60, 30, 20, 10, 5}},
		{"m", [5]float64{60, 30, 20, 10, 5}},
		{"c", [5]float64{90, 60, 30, 15, 10}},
		{"v", [5]float64{180, 120, 60, 30, 20}},
	}
)

// GeneralLinear returns the ± tolerance in mm of a length of 0.5 to 4000 mm in
// class "f", "m", "c" or "v"; false where ISO 2768-1 gives none.
func GeneralLinear(class string, size float64) (float64, bool) {
	for _, r := range linearRows {
		if r.class != class || !(size >= 0.5) {
			continue
		}
		i := slices.IndexFunc(linearSteps[:], func(top float64) bool { return size <= top })
		if i < 0 || r.tol[i] == 0 {
			return 0, false
		}
		return r.tol[i], true
	}
	return 0, false
}

// GeneralRadius returns the ± tolerance in mm of an outside radius or chamfer of
// 0.5 mm or more in class "f", "m", "c" or "v"; false where there is none.
func GeneralRadius(class string, size float64) (float64, bool) {
	fine := [3]float64{0.2, 0.5, 1}
	switch class {
	case "f", "m":
	case "c", "v":
		fine = [3]float64{0.4, 1, 2}
	default:
		return 0, false
	}
	switch {
	case !(size >= 0.5):
		return 0, false
	case size <= 3:
		return fine[0], true
	case size <= 6:
		return fine[1], true
	}
	return fine[2], true
}

// GeneralAngle returns the ± tolerance in rad of an angle whose shorter leg is leg
// mm in class "f", "m", "c" or "v"; false for another class or no leg.
func GeneralAngle(class string, leg float64) (float64, bool) {
	for _, r := range angleRows {
		if r.class != class || !(leg > 0) {
			continue
		}
		i := slices.IndexFunc(angleSteps[:], func(top float64) bool { return leg <= top })
		if i < 0 {
			i = len(angleSteps)
		}
		return r.tol[i] / 60 * degree, true
	}
	return 0, false
}
