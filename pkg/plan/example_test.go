package plan_test

import (
	"context"
	"fmt"
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/plan"
	"sparclear/pkg/shop"
	"sparclear/pkg/skin"
	"sparclear/pkg/work"
)

// A servo opening in a flat skin of 1.8 mm, cut by a 2 mm end mill.
func ExamplePlan() {
	w := &work.Work{
		Name: "servo", Skin: skin.Flat(0), Thickness: 1.8, Floor: 14, Hollow: true, SafeZ: 5, HeightTol: 0.005, ChordTol: 0.002,
		Cutters: []shop.Cutter{{Name: "endmill-2", Kind: shop.Flat, Diameter: 2, FluteLength: 8, StickOut: 18, CentreCutting: true}},
		Cuts: []work.Cut{{
			Name: "flap servo", Kind: work.Opening, Part: -1, Regions: []geom.Region{geom.NewRegion(geom.RoundRect(0, 0, 30, 12, 2))},
			Through: true, Depth: 2, Overcut: 0.2, Limit: 3, Step: 0.7, RPM: 18000, Feed: 600, Plunge: 150, Ramp: 3 * math.Pi / 180,
			Tabs: work.Tabs{Count: 2, Width: 3, Height: 0.5}, Tol: 0.1,
		}},
	}
	programs, findings := plan.Plan(context.Background(), w)
	fmt.Println(len(findings), "findings")
	for _, p := range programs[0].Paths {
		fmt.Println(p.Cut, p.Op, p.Notes[0])
	}
	// Output:
	// 0 findings
	// flap servo contour 3 passes to 2.000 mm, 2 tabs 3.00 x 0.50 mm
}

// The way through four holes of a plate.
func ExampleTour() {
	fmt.Println(plan.Tour([]geom.Point{geom.Pt(0, 0), geom.Pt(50, 30), geom.Pt(50, 0), geom.Pt(0, 30)}))
	// Output: [0 2 1 3]
}

// The letters of a part number as strokes of the cutter.
func ExampleStrokes() {
	c := work.Cut{Name: "number", Kind: work.Mark, Text: "L1", Points: []geom.Point{geom.Pt(10, 10)}, Options: map[string]float64{"height": 6}}
	strokes, err := plan.Strokes(&c)
	fmt.Println(err)
	for _, s := range strokes {
		for i, v := range s {
			if i > 0 {
				fmt.Print(" ")
			}
			fmt.Printf("(%g,%g)", v.X, v.Y)
		}
		fmt.Println()
	}
	// Output:
	// <nil>
	// (10,16) (10,10) (14,10)
	// (17,15) (18,16) (18,10)
	// (17,10) (19,10)
}
