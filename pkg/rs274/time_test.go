package rs274_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
)

func plainMachine(accel float64) shop.Machine {
	return shop.Machine{Accel: accel, AccelZ: accel}
}

func TestTimeOfOneBlockFromRestToRest(t *testing.T) {
	// L/v + v/a when L ≥ v²/a, else 2√(L/a): Biagiotti, Melchiorri, Trajectory
	// Planning for Automatic Machines and Robots, Springer 2008, ch. 3; values in
	// closed form.
	for _, tc := range []struct{ length, feed, accel, want float64 }{
		{100, 1000, 300, 6.05556},
		{0.5, 1000, 300, 0.08165},
		{100, 3000, 200, 2.25},
		{10, 3000, 200, 0.447213595},
		{1, 600, 500, 0.12},
		{12.5, 3000, 200, 0.5}, // exactly L = v²/a
	} {
		r := read(t, fmt.Sprintf("g61.1\ng1 x%g f%g\nm2", tc.length, tc.feed), rs274.Options{})
		low, high := rs274.Time(r, plainMachine(tc.accel))
		assert.InDelta(t, tc.want, high, 1e-5, "%+v, s", tc)
		assert.InDelta(t, tc.want, low, 1e-5, "%+v, s", tc)
	}
}

func TestArcsAreNoFasterThanTheirRadiusAllows(t *testing.T) {
	// √(a·R), closed form: a 300 mm/s², R 1 mm → 1039.2 mm/min; R 0.5 → 734.8.
	for _, tc := range []struct{ radius, want float64 }{{1, 1039.2305}, {0.5, 734.8469}} {
		var b strings.Builder
		fmt.Fprintf(&b, "g64 p0.01\nf100000\n")
		for range 200 {
			fmt.Fprintf(&b, "g2 x0 i%g\n", tc.radius)
		}
		b.WriteString("m2")
		r := read(t, b.String(), rs274.Options{})
		length := 200 * 2 * math.Pi * tc.radius
		low, _ := rs274.Time(r, plainMachine(300))
		v := tc.want / 60
		assert.InDelta(t, length/v+v/300, low, 1e-4, "R %g, s", tc.radius)
	}
}

func TestCornerSpeed(t *testing.T) {
	// √(a·R) of a circle that touches both legs and passes the corner at d; closed
	// form: a 300, d 0.01, corner of 90° → 2.6912 mm/s; a 300, d 0.05 → 361.06
	// mm/min; a 500, d 0.02, turn of 45° → 11.016838 mm/s; turn of 120° → 3.162278.
	for _, tc := range []struct{ accel, d, turn, want float64 }{
		{300, 0.01, 90, 2.6912},
		{300, 0.05, 90, 361.06 / 60},
		{500, 0.02, 45, 11.016838},
		{500, 0.02, 120, 3.162278},
		{500, 0.02, 150, 1.868685},
		{300, 0.01, 120, 103.92 / 60}, // interior angle of 60°
	} {
		a := tc.turn * math.Pi / 180
		text := fmt.Sprintf("g64 p%g\nf6000\ng1 x100\nx%.9f y%.9f\nm2", tc.d, 100+100*math.Cos(a), 100*math.Sin(a))
		// Each axis has its own acceleration, so the second leg, which two axes
		// share, speeds up faster than one axis could; the corner takes the lesser.
		r := read(t, text, rs274.Options{})
		low, _ := rs274.Time(r, shop.Machine{Accel: tc.accel, AccelZ: tc.accel})
		// From rest to v, along, down to the corner and back up, to rest.
		accel2 := tc.accel / math.Max(math.Abs(math.Cos(a)), math.Abs(math.Sin(a)))
		v, c := 100.0, tc.want
		leg := func(acc float64) float64 {
			return 100/v + (v-c)*(v-c)/(2*acc*v) + v/(2*acc)
		}
		assert.InDelta(t, leg(tc.accel)+leg(accel2), low, 2e-4, "%+v, s", tc)
	}
}

// A change of speed with limited jerk: dv/a + a/j where the full acceleration is
// reached, else 2√(dv/j); rest to rest over a short way 4·∛(L/2j). Biagiotti,
// Melchiorri, Trajectory Planning for Automatic Machines and Robots, Springer 2008,
// section 3.4; closed form.
func TestLimitedJerkRoundsTheTrapezoid(t *testing.T) {
	m := plainMachine(200)
	m.Jerk = 2000
	for _, tc := range []struct {
		length, want float64
	}{
		{100, 2*(50.0/200+200.0/2000) + (100-2*25*0.35)/50}, // 2.35 s at 50 mm/s
		{1, 4 * math.Cbrt(1.0/4000)},                        // 0.25198 s
		{17.5, 2 * 0.35},                                    // just reaches 50 mm/s
		{4, 4 * math.Cbrt(4.0/4000)},                        // just reaches 200 mm/s²: 20 mm/s
	} {
		r := read(t, fmt.Sprintf("g61.1\ng1 x%g f3000\nm2", tc.length), rs274.Options{})
		low, high := rs274.Time(r, m)
		assert.InDelta(t, tc.want, high, 1e-6, "%g mm, s", tc.length)
		assert.InDelta(t, tc.want, low, 1e-6, "%g mm, s", tc.length)
	}
	// Two collinear blocks are one; a jerk without end is none; less jerk is slower.
	one, _ := rs274.Time(read(t, "g64\nf3000\ng1 x20\nm2", rs274.Options{}), m)
	two, _ := rs274.Time(read(t, "g64\nf3000\ng1 x7\nx20\nm2", rs274.Options{}), m)
	assert.InDelta(t, one, two, 0.1*one, "s: a block boundary within a ramp may cost, never win")
	assert.GreaterOrEqual(t, two, one-1e-9)
	hard := m
	hard.Jerk = 1e12
	plain, _ := rs274.Time(read(t, "g64\nf3000\ng1 x20\ny9\nm2", rs274.Options{}), plainMachine(200))
	stiff, _ := rs274.Time(read(t, "g64\nf3000\ng1 x20\ny9\nm2", rs274.Options{}), hard)
	assert.InDelta(t, plain, stiff, 1e-4)
	soft, _ := rs274.Time(read(t, "g64\nf3000\ng1 x20\ny9\nm2", rs274.Options{}), m)
	assert.Greater(t, soft, plain)
	for _, odd := range []shop.Machine{{Jerk: 2000}, {Jerk: 2000, Accel: 200}, {Jerk: 1e-9, Accel: 1e9, AccelZ: 1e9}} {
		low, high := rs274.Time(read(t, "g64\nf3000\ng1 x20\ny9 z3\ng0 z9\nx0\nm2", rs274.Options{}), odd)
		assert.False(t, math.IsNaN(low) || math.IsInf(low, 0) || low < 0 || math.IsNaN(high) || high < low-1e-9, "%+v: %g %g", odd, low, high)
	}
}

func TestExactStopIsTheUpperBound(t *testing.T) {
	text := "%s\nf3000\ng1 x1\nx2\nx3\nm2"
	blend, _ := rs274.Time(read(t, fmt.Sprintf(text, "g64"), rs274.Options{}), plainMachine(200))
	path, _ := rs274.Time(read(t, fmt.Sprintf(text, "g61"), rs274.Options{}), plainMachine(200))
	stop, high := rs274.Time(read(t, fmt.Sprintf(text, "g61.1"), rs274.Options{}), plainMachine(200))
	assert.InDelta(t, 2*math.Sqrt(3.0/200), blend, 1e-9, "one straight line, closed form, s")
	assert.InDelta(t, blend, path, 1e-9, "exact path goes straight on without a stop")
	assert.InDelta(t, 3*2*math.Sqrt(1.0/200), stop, 1e-9, "closed form, s")
	assert.InDelta(t, stop, high, 1e-9)
}

func TestWaitsAreAdded(t *testing.T) {
	m := plainMachine(0)
	m.SpinUp = 5
	r := read(t, "m3 s100\ng4 p7\nm5\nm3\nm0\nm2", rs274.Options{})
	times := rs274.TimesOf(r, m)
	assert.InDelta(t, 7+5, times.Wait, 1e-9, "a dwell behind M3 is the wait for the spindle")
	assert.Equal(t, 1, times.Stops)
	assert.InDelta(t, 12, times.Low, 1e-9)
}

func TestTimeOfNothing(t *testing.T) {
	low, high := rs274.Time(&rs274.Replay{}, shop.Machine{})
	assert.Zero(t, low)
	assert.Zero(t, high)
	r := read(t, "g0 x1\ng1 x1 f10\nm2", rs274.Options{})
	low, high = rs274.Time(r, shop.Machine{})
	assert.Zero(t, low)
	assert.Zero(t, high)
}

func TestAxesLimitTheSpeedAlongTheirPart(t *testing.T) {
	m := shop.Machine{FeedXY: 600, FeedZ: 60, RapidXY: 6000, RapidZ: 60}
	r := read(t, "g1 x10 f6000\nz-1\ng0 z0\nx0\nm2", rs274.Options{})
	times := rs274.TimesOf(r, m)
	assert.InDelta(t, 1, times.Moves[0], 1e-6, "s")
	assert.InDelta(t, 1, times.Moves[1], 1e-6)
	assert.InDelta(t, 1, times.Moves[2], 1e-6)
	assert.InDelta(t, 0.1, times.Moves[3], 1e-6)
}

func TestTheFeedThatShortBlocksReach(t *testing.T) {
	// Blocks of 0.5 mm at F1000 with 300 mm/s², rest to rest: peak √(a·L), closed
	// form 734.85 mm/min, mean half of it.
	r := read(t, "g61.1\ng1 x0.5 f1000\nx1\nm2", rs274.Options{})
	times := rs274.TimesOf(r, plainMachine(300))
	for i := range r.Moves {
		mean := r.Moves[i].Length() / float64(times.Quick[i]) * 60
		assert.InDelta(t, 734.85/2, mean, 0.01, "mm/min")
	}
}

func TestTimesOfMovesAddUp(t *testing.T) {
	prog, w := spiral(400)
	text, _ := rs274.Write(prog, w)
	r, _ := rs274.Read("p", text, rs274.Options{})
	times := rs274.TimesOf(r, w.Machine)
	slow, quick := times.Wait, times.Wait
	for i := range r.Moves {
		slow += float64(times.Moves[i])
		quick += float64(times.Quick[i])
		assert.LessOrEqual(t, times.Quick[i], times.Moves[i]*1.00001)
	}
	assert.InDelta(t, times.High, slow, 1e-3)
	assert.InDelta(t, times.Low, quick, 1e-3)
	assert.Less(t, times.Low, times.High)
}

func TestExactPathPassesJointsThatRoundingBends(t *testing.T) {
	// A line runs into an arc; the joint is smooth but for the third decimal.
	r := read(t, "g61\nf3000\ng1 x20.0004 y10.0003\ng3 x20.0004 y50.7217 i-9.1053 j20.3602\nm2", rs274.Options{})
	low, high := rs274.Time(r, plainMachine(200))
	assert.Greater(t, high-low, 0.9*2*50.0/200/2, "one stop less, s: v/a to brake and to start again, less what it takes to pass")
	corner := read(t, "g61\nf3000\ng1 x100\ny100\nm2", rs274.Options{})
	low, high = rs274.Time(corner, plainMachine(200))
	assert.InDelta(t, high, low, 0.02, "a corner is as good as a stop, s")
}
