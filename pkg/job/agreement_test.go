package job_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/demo"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
)

// plannedLeg is one planned move by the book: its length, and the time from rest to
// rest at the speed and acceleration that the axes allow along it, worked out here
// once more: L/v + v/a, or 2√(L/a) when the way is too short (Biagiotti,
// Melchiorri 2008, chapter 3).
func plannedLeg(from [3]float64, m toolpath.Move, mc shop.Machine) (length, seconds float64) {
	d := [3]float64{m.X - from[0], m.Y - from[1], m.Z - from[2]}
	flat := math.Hypot(d[0], d[1])
	radius := math.Inf(1)
	if m.Kind == toolpath.Arc {
		a, b := geom.Pt(from[0], from[1]), geom.Pt(m.X, m.Y)
		radius = a.Dist(m.Center)
		flat = 2 * math.Pi * radius
		if a != b {
			flat = geom.ArcThrough(a, b, m.Center, m.CCW).Length()
		}
	}
	length = math.Hypot(flat, d[2])
	if length == 0 {
		return 0, 0
	}
	speeds, v := [3]float64{mc.FeedXY, mc.FeedXY, mc.FeedZ}, m.Feed
	if m.Kind == toolpath.Rapid {
		speeds, v = [3]float64{mc.RapidXY, mc.RapidXY, mc.RapidZ}, math.Inf(1)
	}
	part := [3]float64{math.Abs(d[0]) / length, math.Abs(d[1]) / length, math.Abs(d[2]) / length}
	if m.Kind == toolpath.Arc { // somewhere along it the path runs along each axis
		part[0], part[1] = flat/length, flat/length
	}
	a := math.Inf(1)
	for i, accel := range [3]float64{mc.Accel, mc.Accel, mc.AccelZ} {
		if part[i] > 0 {
			v, a = math.Min(v, speeds[i]/part[i]), math.Min(a, accel/part[i])
		}
	}
	v /= 60
	if m.Kind == toolpath.Arc {
		v = math.Min(v, math.Sqrt(mc.Accel*radius)/(flat/length))
	}
	if length < v*v/a {
		return length, 2 * math.Sqrt(length/a)
	}
	return length, length/v + v/a
}

// What was planned and what the program text says agree to 0.1 % in length and
// time, for every demo there is.
func TestPlannedAndReplayedAgree(t *testing.T) {
	jobs := map[string]job.Files{"wing": files("wing"), "sheet": files("sheet")}
	for _, k := range demo.Kinds() {
		m := memory{}
		fs, _ := demo.Kind(k)
		for name, b := range fs {
			m[name] = string(b)
		}
		jobs[k] = m
	}
	for name, f := range jobs {
		if name == "sheet" {
			continue // nested: seconds; its parts are cut like those of the others
		}
		res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: f, Goal: job.Prove})
		require.NoError(t, err)
		require.Len(t, res.Paths, len(res.Programs), "%s: %v", name, res.Findings)
		for i, p := range res.Paths {
			replay, l := rs274.Read("p", res.Programs[i].Text, proof.ReadOptions(res.Work))
			require.False(t, l.Blocks())
			times := rs274.TimesOf(replay, res.Work.Machine)
			var feed, rapid, feedTime float64
			for _, q := range p.Paths {
				at, known := [3]float64{}, false
				for _, m := range q.Moves {
					if known {
						l, s := plannedLeg(at, m, res.Work.Machine)
						if m.Kind == toolpath.Rapid {
							rapid += l
						} else {
							feed, feedTime = feed+l, feedTime+s
						}
					}
					at, known = [3]float64{m.X, m.Y, m.Z}, true
				}
			}
			var read, readTime float64
			for k, m := range replay.Moves {
				if m.Motion != rs274.Rapid {
					read, readTime = read+m.Length(), readTime+float64(times.Moves[k])
				}
			}
			assert.InEpsilon(t, feed, read, 0.001, "%s: path at feed, mm", name)
			assert.InEpsilon(t, feedTime, readTime, 0.001, "%s: time at feed, s", name)
			assert.InEpsilon(t, feed, res.Certificate.Programs[i].FeedMM, 0.001, "%s: path at feed in the certificate, mm", name)
			assert.InEpsilon(t, readTime, times.Feed, 0.001)
			assert.LessOrEqual(t, rapid, res.Certificate.Programs[i].RapidM*1.001, "%s: rapids between the paths come on top", name)
		}
	}
}
