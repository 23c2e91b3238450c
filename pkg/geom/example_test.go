package geom_test

import (
	"fmt"

	"sparclear/pkg/geom"
)

// A plate grown by the radius of a cutter of 4 mm: where its centre runs.
func ExampleRegion_Offset() {
	plate := geom.NewRegion(geom.Rect(0, 0, 60, 40), geom.Circle(geom.Pt(30, 20), 8))
	path, err := plate.Offset(2, 0.001)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, g := range path {
		fmt.Printf("outer %.3f mm of %d edges, hole %.3f mm\n", g.Outer.Length(), len(g.Outer), g.Holes[0].Length())
	}
	_, err = geom.Region{Outer: geom.Polygon(geom.Pt(0, 0), geom.Pt(10, 10), geom.Pt(10, 0), geom.Pt(0, 10))}.Offset(1, 0)
	fmt.Println(err)
	// Output:
	// outer 212.566 mm of 8 edges, hole 37.699 mm
	// the outline crosses itself or another at X5.0000 Y5.0000 [contour-crosses]
}

// The rings of a pocket share the preparation.
func ExampleOffsetter() {
	o, err := geom.NewOffsetter(geom.Region{Outer: geom.RoundRect(0, 0, 50, 30, 5)})
	if err != nil {
		fmt.Println(err)
		return
	}
	for d := -2.0; ; d -= 3 {
		ring, err := o.Offset(d, 0.001)
		if err != nil || len(ring) == 0 {
			break
		}
		fmt.Printf("%.0f mm in: %.2f mm\n", -d, ring[0].Length())
	}
	// Output:
	// 2 mm in: 138.85 mm
	// 5 mm in: 120.00 mm
	// 8 mm in: 96.00 mm
	// 11 mm in: 72.00 mm
	// 14 mm in: 48.00 mm
}

func ExampleSubtract() {
	panel := []geom.Region{{Outer: geom.Rect(0, 0, 100, 50)}}
	spar := []geom.Region{{Outer: geom.Rect(-10, 20, 110, 30)}}
	left, err := geom.Subtract(panel, spar)
	fmt.Println(len(left), err)
	for _, g := range left {
		fmt.Printf("%.0f mm²\n", g.Area())
	}
	// Output:
	// 2 <nil>
	// 2000 mm²
	// 2000 mm²
}

func ExampleChain_Sweep() {
	score := geom.Chain{{Point: geom.Pt(0, 0)}, {Point: geom.Pt(40, 0)}}
	slot, err := score.Sweep(1.5)
	fmt.Printf("%.3f mm² %v\n", slot[0].Area(), err)
	// Output:
	// 127.069 mm² <nil>
}
