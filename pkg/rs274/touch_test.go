package rs274_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
)

func TestATouchRoutineIsReadBack(t *testing.T) {
	touches := []rs274.Touch{{Name: "root 1", At: geom.Pt(12.5, -3), Top: 6, Low: -4}, {Name: "root 2", At: geom.Pt(80, 7.25), Top: 9, Low: -1}}
	for _, units := range []string{"mm", "inch"} {
		c := metric
		c.Units, c.Decimals, c.Probe, c.Percent = units, 4, true, true
		w := workFor(c)
		w.SafeZ = 20
		text, fs := rs274.WriteTouch("heights", touches, w, rs274.UsualTouch())
		require.Empty(t, fs)
		r, faults := rs274.Read("touch.nc", text, rs274.Options{Start: [3]float64{0, 0, 20}})
		require.Empty(t, faults, "%s", text)
		assert.True(t, r.Ended)
		probes := 0
		for i := range r.Moves {
			m := &r.Moves[i]
			s := &r.States[m.State]
			assert.Zero(t, s.Spindle, "the spindle never turns")
			across := m.To[0] != m.From[0] || m.To[1] != m.From[1]
			assert.False(t, across && (m.To[2] != m.From[2] || m.From[2] < 19.99), "goes across at safe height alone, line %d", m.Line)
			if m.Motion == rs274.Probe {
				at := touches[probes/2]
				assert.InDelta(t, at.At.X, m.To[0], 0.002)
				assert.InDelta(t, at.At.Y, m.To[1], 0.002)
				assert.InDelta(t, at.Low, m.To[2], 0.002)
				probes++
			}
			if m.Motion == rs274.Rapid && m.To[2] < m.From[2] {
				assert.GreaterOrEqual(t, m.To[2], 5.99, "no rapid below the top of a touch")
			}
		}
		assert.Equal(t, 2*len(touches), probes, "each place is touched twice")
		down := strings.Index(string(text), "G38.2")
		look := strings.Index(string(text), "before the rapid down)\nM0\n")
		require.Positive(t, look, "%s", text)
		assert.Less(t, look, down, "nothing has been touched yet: the operator looks first")
		assert.Equal(t, 1, strings.Count(string(text), "before the rapid down"))
		assert.False(t, r.Final.Relative)
	}
}

func TestTouchesThatCannotBeMadeAreRefused(t *testing.T) {
	good := rs274.Touch{Name: "a", Top: 6, Low: -4}
	run := func(c shop.Controller, p rs274.Touch) string {
		w := workFor(c)
		w.SafeZ = 20
		_, fs := rs274.WriteTouch("t", []rs274.Touch{p}, w, rs274.UsualTouch())
		require.Len(t, fs, 1)
		assert.True(t, fs.Blocks())
		return fs[0].Code
	}
	assert.Equal(t, "touch-no-probe", run(metric, good))
	c := metric
	c.Probe = true
	for _, p := range []rs274.Touch{{Top: 20.1, Low: 0}, {Top: 5, Low: 5}, {Top: 5, Low: 6}, {At: geom.Pt(1e9, 0), Top: 6}} {
		assert.Equal(t, "touch-order", run(c, p), "%+v", p)
	}
}

func TestATouchFromTheSideGoesBackTheWayItCame(t *testing.T) {
	c := metric
	c.Probe = true
	w := workFor(c)
	w.SafeZ = 20
	touch := rs274.Touch{Name: "pin toward +X", At: geom.Pt(40, 50), Top: 8, Low: 2.5, Side: rs274.Side{Axis: 'X', To: 49}}
	text, fs := rs274.WriteTouch("datums", []rs274.Touch{touch}, w, rs274.UsualTouch())
	require.Empty(t, fs)
	r, faults := rs274.Read("touch.nc", text, rs274.Options{Start: [3]float64{0, 0, 20}})
	require.Empty(t, faults, "%s", text)
	var got []string
	for i := range r.Moves {
		m := &r.Moves[i]
		got = append(got, fmt.Sprintf("%d X%.3f Y%.3f Z%.3f F%.0f", m.Motion, m.To[0], m.To[1], m.To[2], m.Feed))
	}
	assert.Equal(t, []string{
		fmt.Sprintf("%d X0.000 Y0.000 Z20.000 F0", rs274.Rapid),
		fmt.Sprintf("%d X40.000 Y50.000 Z20.000 F0", rs274.Rapid),
		fmt.Sprintf("%d X40.000 Y50.000 Z8.000 F0", rs274.Rapid),
		fmt.Sprintf("%d X40.000 Y50.000 Z2.500 F100", rs274.Feed),
		fmt.Sprintf("%d X49.000 Y50.000 Z2.500 F100", rs274.Probe),
		fmt.Sprintf("%d X48.000 Y50.000 Z2.500 F100", rs274.Feed), // the short way back, under G91
		fmt.Sprintf("%d X49.000 Y50.000 Z2.500 F25", rs274.Probe),
		fmt.Sprintf("%d X40.000 Y50.000 Z2.500 F100", rs274.Feed),
		fmt.Sprintf("%d X40.000 Y50.000 Z20.000 F0", rs274.Rapid),
	}, got, "%s", text)
	for _, bad := range []rs274.Side{{Axis: 'Z', To: 49}, {Axis: 'X', To: 41.9}, {Axis: 'Y', To: 50}, {Axis: 'X', To: math.NaN()}} {
		touch.Side = bad
		_, fs := rs274.WriteTouch("datums", []rs274.Touch{touch}, w, rs274.UsualTouch())
		require.Len(t, fs, 1, "%v", bad)
		assert.Equal(t, "touch-order", fs[0].Code)
	}
}
