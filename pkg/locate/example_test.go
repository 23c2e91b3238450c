package locate_test

import (
	"fmt"
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/locate"
)

func ExampleFit() {
	r, found := locate.Fit([]locate.Pair{
		{Name: "root pin", Drawn: geom.Pt(0, 0), Touched: geom.Pt(112.43, 58.07)},
		{Name: "tip pin", Drawn: geom.Pt(400, 0), Touched: geom.Pt(512.36, 66.11)},
		{Name: "hinge pin", Drawn: geom.Pt(200, 150), Touched: geom.Pt(309.36, 212.02)},
	}, nil, locate.Options{})
	fmt.Println(len(found), "findings")
	fmt.Printf("turn %.3f°, RMS %.3f mm, worst %q %.3f mm\n", r.Turn*180/math.Pi, r.RMS, r.WorstName, r.Worst)
	u := r.Uncertainty(0.05, 0.02)
	fmt.Printf("known to %.2f mm in the middle, %.2f mm at 600 mm\n", u.Bound(u.Centroid), u.Bound(u.Centroid.Add(geom.Pt(600, 0))))
	// Output:
	// 0 findings
	// turn 1.153°, RMS 0.021 mm, worst "hinge pin" 0.029 mm
	// known to 0.10 mm in the middle, 0.23 mm at 600 mm
}
