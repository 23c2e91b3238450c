package plan

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

func resumable() *work.Work {
	o := through("opening", work.Opening, region(geom.RoundRect(0, 0, 60, 30, 4)))
	o.Tabs, o.Finish = work.Tabs{Count: 3, Width: 3, Height: 0.6}, 0.1
	k := through("pocket", work.Pocket, geom.NewRegion(geom.RoundRect(100, 0, 150, 30, 4), geom.Circle(geom.Pt(120, 15), 5)))
	k.Through, k.Depth, k.Finish = false, 1.5, 0.1
	b := through("hole", work.Bore)
	b.Points, b.Diameter = []geom.Point{geom.Pt(30, 60)}, 5
	g := through("groove", work.Score)
	g.Through, g.Depth, g.Chains = false, 1.2, []geom.Chain{{{Point: geom.Pt(0, 80)}, {Point: geom.Pt(90, 80)}}}
	return sheet([]shop.Cutter{burr2()}, o, k, b, g)
}

func TestResumingAtTheFirstStageIsTheWholeJob(t *testing.T) {
	w := resumable()
	whole := mustPlan(t, w)
	ps, l := Resume(context.Background(), w, 0)
	require.True(t, l.Has("resumed"))
	require.Len(t, ps, 1)
	assert.Equal(t, whole[0].Paths, ps[0].Paths)
	assert.NotEqual(t, whole[0].Name, ps[0].Name, "never the name of the program it replaces")
}

func TestResumingComesDownThroughWhatIsCutAndCutsTheRest(t *testing.T) {
	w := resumable()
	stages, l := Stages(context.Background(), w)
	require.False(t, l.Blocks(), "%v", l)
	require.Greater(t, len(stages), 10)
	whole := replay(mustPlan(t, w))
	for i, s := range stages {
		ps, l := Resume(context.Background(), w, i)
		require.False(t, l.Blocks(), "%v", l)
		assertSafe(t, w, ps)
		ms := replay(ps)
		done, l := Until(context.Background(), w, i)
		require.False(t, l.Blocks(), "%v", l)
		assert.Equal(t, i == 0, len(done) == 0)
		if i > 0 { // what was cut before is the beginning of the whole, but for the last way up
			before := replay(done)
			for k := range len(before) - 1 {
				require.Equal(t, whole[k].Move, before[k].Move)
			}
		}
		assert.Equal(t, s.Cut, ps[0].Paths[0].Cut)
		require.LessOrEqual(t, len(ms), len(whole)+8)
		// the end of the job is the same
		for k := 1; k <= 3 && k <= len(ms)-4; k++ {
			assert.Equal(t, whole[len(whole)-k].Move, ms[len(ms)-k].Move)
		}
		// a burr goes down by ramps alone
		for _, m := range ms {
			if m.Kind == toolpath.Rapid || m.Z >= m.from[2] || m.Z > -1e-9 {
				continue
			}
			run := m.seg().Length()
			require.LessOrEqual(t, (m.from[2]-m.Z)/math.Max(run, 1e-12), math.Tan(10*math.Pi/180)+1e-6, "stage %d of %s: from %v to %+v", i, s.Cut, m.from, m.Move)
		}
	}
}

func TestResumingWhereThereIsNoStage(t *testing.T) {
	for _, n := range []int{-1, 1000} {
		ps, l := Resume(context.Background(), resumable(), n)
		assert.Empty(t, ps)
		assert.True(t, l.Has("stage-unknown"))
		ps, l = Until(context.Background(), resumable(), n)
		assert.Empty(t, ps)
		assert.True(t, l.Has("stage-unknown"))
		assert.Equal(t, 2, l.ExitCode())
	}
}
