package nest

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

// A search that finds nothing better says all the same, ten times a second, that it
// is still there.
func TestProgressIsToldWhileNothingIsFound(t *testing.T) {
	disc := Part{Name: "disc", Quantity: 8, Region: geom.NewRegion(geom.Circle(geom.Pt(0, 0), 15))}
	var now time.Duration
	told := map[string]int{}
	l, fs := Nest(context.Background(), []Part{disc}, []Sheet{board(200, 150)}, Options{Spacing: 4, Budget: 300_000,
		Elapsed:  func() time.Duration { now += 50 * time.Millisecond; return now }, // a clock that is looked at
		Progress: func(p Progress) { told[p.Phase]++ }})
	require.NotNil(t, l, "%v", fs)
	for _, phase := range []string{"explore", "compress"} {
		assert.Greater(t, told[phase], 10, phase)
	}
}
