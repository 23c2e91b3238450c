package nest

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

func TestBadInputGivesAFinding(t *testing.T) {
	bow := geom.Region{Outer: geom.Polygon(geom.Pt(0, 0), geom.Pt(40, 40), geom.Pt(40, 0), geom.Pt(0, 30))}
	var wheel []geom.Point
	var manyTurns []float64
	for k := range 1000 {
		wheel = append(wheel, geom.Polar(geom.Pt(0, 0), 50, 2*math.Pi*float64(k)/1000))
		manyTurns = append(manyTurns, float64(k%300)/100)
	}
	fine := geom.Region{Outer: geom.Polygon(wheel...)}
	manyTurns = manyTurns[:300]
	good := Part{Name: "good", Region: disc(15), Quantity: 1}
	for _, tc := range []struct {
		fact   string
		part   Part
		sheet  Sheet
		o      Options
		want   string
		blocks bool
	}{
		{"a part larger than any sheet", Part{Name: "p", Region: disc(300), Quantity: 1}, board(400, 250), Options{}, "part-too-large", true},
		{"no copy asked for", Part{Name: "p", Region: disc(15)}, board(400, 250), Options{}, "quantity-zero", false},
		{"a quantity that means nothing", Part{Name: "p", Region: disc(15), Quantity: -2}, board(400, 250), Options{}, "quantity-wrong", true},
		{"more copies than there can be", Part{Name: "p", Region: disc(15), Quantity: math.MaxInt}, board(400, 250), Options{}, "too-many-copies", true},
		{"any turn and only some turns", Part{Name: "p", Region: disc(15), Quantity: 1, Free: true, Turns: halfTurns}, board(400, 250), Options{}, "turns-contradict", true},
		{"a turn that is not a number", Part{Name: "p", Region: disc(15), Quantity: 1, Turns: []float64{math.NaN()}}, board(400, 250), Options{}, "turns-wrong", true},
		{"more turns than so fine an outline can be tried in", Part{Name: "p", Region: fine, Quantity: 1, Turns: manyTurns}, board(400, 250), Options{}, "turns-wrong", true},
		{"an outline that crosses itself", Part{Name: "p", Region: bow, Quantity: 1}, board(400, 250), Options{}, "contour-crosses", true},
		{"an empty outline", Part{Name: "p", Quantity: 1}, board(400, 250), Options{}, "outline-empty", true},
		{"an outline with a coordinate that is not a number", Part{Name: "p", Region: disc(math.NaN()), Quantity: 1}, board(400, 250), Options{}, "outline-wrong", true},
		{"a spacing that is not a number", good, board(400, 250), Options{Spacing: math.NaN()}, "spacing-wrong", true},
		{"a margin larger than the sheet", good, Sheet{Name: "s", Region: geom.Region{Outer: geom.Rect(0, 0, 100, 100)}, Margin: 60, Quantity: 1}, Options{}, "part-too-large", true},
		{"no piece at hand", good, Sheet{Name: "s", Region: geom.Region{Outer: geom.Rect(0, 0, 100, 100)}}, Options{}, "quantity-zero", true},
		{"more copies than the stock holds", Part{Name: "p", Region: geom.Region{Outer: geom.Rect(0, 0, 100, 100)}, Quantity: 30}, board(400, 250), Options{}, "no-room", true},
		{"laid by hand off the sheet", Part{Name: "p", Region: disc(15), Quantity: 1, Locked: []Lock{{Frame: geom.Rigid{Shift: geom.Pt(-50, 50)}}}}, board(400, 250), Options{}, "part-off-sheet", true},
		{"laid by hand on a sheet that is not there", Part{Name: "p", Region: disc(15), Quantity: 1, Locked: []Lock{{Sheet: 3}}}, board(400, 250), Options{}, "locked-nowhere", true},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			tc.o.Budget = 30_000
			_, fs := Nest(context.Background(), []Part{tc.part}, []Sheet{tc.sheet}, tc.o)
			assert.True(t, fs.Has(tc.want), "%v", fs)
			assert.Equal(t, tc.blocks, fs.Blocks(), "%v", fs)
		})
	}
}

func TestTenThousandPartsEnd(t *testing.T) {
	parts := []Part{{Name: "tag", Region: geom.Region{Outer: geom.Rect(0, 0, 8, 5)}, Quantity: 10_000}}
	start := time.Now()
	l, fs := Nest(context.Background(), parts, []Sheet{{Name: "s", Region: geom.Region{Outer: geom.Rect(0, 0, 1500, 1500)}, Margin: 10, Quantity: 1}}, Options{Spacing: 5, Budget: 100_000})
	t.Log(time.Since(start), fs)
	require.NotNil(t, l)
}
