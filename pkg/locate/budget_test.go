package locate_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"sparclear/pkg/locate"
)

func TestEndGaugeOfTheGUM(t *testing.T) {
	// JCGM 100:2008, Annex H.1, table H.1: contributions in nm, here as mm. The
	// comparison has three parts; the difference of temperature counts with the
	// length of 50 mm and 11.5e-6 per degree, printed as 16.6 nm.
	const nm = 1e-6
	b := locate.Budget{
		{Name: "standard", Random: 25 * nm, Dof: 18},
		{Name: "comparison", Random: math.Sqrt(5.8*5.8+3.9*3.9+6.7*6.7) * nm, Dof: 25.6},
		{Name: "difference of expansion", Random: 2.9 * nm, Dof: 50},
		{Name: "difference of temperature", Random: 0.029 * 11.5e-6 * 50, Dof: 2},
	}
	assert.InDelta(t, 31.71, b.Combined()/nm, 0.01, "nm; published as 32")
	assert.Equal(t, 16.0, math.Floor(b.Dof()), "published as 16")
	assert.InDelta(t, 16.66, b.Dof(), 0.02)
	assert.InDelta(t, 92.6, 2.92*b.Combined()/nm, 0.1, "nm; published as 93 with t = 2.92")
}

func TestBudgetAddsBoundsAndCombinesTheRest(t *testing.T) {
	b := locate.Budget{{Name: "registration", Random: 0.03}, {Name: "heights", Random: 0.04}, {Name: "runout", Bound: 0.02}, {Name: "cutter", Bound: 0.01}}
	assert.InDelta(t, 0.05, b.Combined(), 1e-15, "3-4-5; closed form")
	assert.InDelta(t, 0.03, b.Bounds(), 1e-15)
	assert.InDelta(t, 0.13, b.Total(), 1e-15)
	assert.True(t, math.IsInf(b.Dof(), 1))
	assert.Zero(t, locate.Budget{}.Total())
	// JCGM 100:2008, 4.3.7 and 4.3.9
	assert.InDelta(t, 0.0577350269, locate.Rectangular(0.1), 1e-9)
	assert.InDelta(t, 0.0408248290, locate.Triangular(0.1), 1e-9)
}

func TestSharesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b locate.Budget
		for range rapid.IntRange(0, 6).Draw(t, "n") {
			b = append(b, locate.Contribution{Random: rapid.Float64Range(0, 1).Draw(t, "u"), Bound: rapid.Float64Range(0, 1).Draw(t, "e")})
		}
		var sum float64
		for _, s := range b.Shares() {
			assert.GreaterOrEqual(t, s.Millimetres, 0.0)
			sum += s.Millimetres
		}
		assert.InDelta(t, b.Total(), sum, 1e-12)
	})
}

func ExampleBudget() {
	b := locate.Budget{
		{Name: "place of the drawing", Random: 0.06},
		{Name: "runout", Bound: 0.01},
		{Name: "cutter diameter", Bound: 0.02},
	}
	for _, s := range b.Shares() {
		fmt.Printf("%-20s %.2f mm\n", s.Name, s.Millimetres)
	}
	fmt.Printf("%-20s %.2f mm\n", "kept clear", b.Total())
	// Output:
	// place of the drawing 0.12 mm
	// runout               0.01 mm
	// cutter diameter      0.02 mm
	// kept clear           0.15 mm
}
