package nest_test

import (
	"context"
	"fmt"
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/nest"
)

func ExampleNest() {
	rib := geom.Region{Outer: geom.Polygon(geom.Pt(0, 0), geom.Pt(180, 0), geom.Pt(180, 12), geom.Pt(60, 40), geom.Pt(0, 30))}
	parts := []nest.Part{
		{Name: "rib", Region: rib, Quantity: 8, Turns: []float64{0, math.Pi}},
		{Name: "washer", Region: geom.NewRegion(geom.Circle(geom.Pt(0, 0), 9), geom.Circle(geom.Pt(0, 0), 3)), Quantity: 6},
	}
	sheets := []nest.Sheet{{Name: "plate", Region: geom.Region{Outer: geom.Rect(0, 0, 400, 250)}, Margin: 10, Quantity: nest.Unlimited}}
	layout, findings := nest.Nest(context.Background(), parts, sheets, nest.Options{Spacing: 4, Budget: 500_000, Seed: 1})
	fmt.Println(len(findings), "findings,", len(layout.Placements), "copies on", len(layout.Used), "sheet")
	fmt.Println("proven again:", len(nest.Verify(parts, sheets, layout, nest.Options{Spacing: 4})) == 0)
	// Output:
	// 0 findings, 14 copies on 1 sheet
	// proven again: true
}
