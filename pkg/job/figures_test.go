package job_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/demo"
	"sparclear/pkg/job"
	"sparclear/pkg/picture"
)

// The fibre of a skin lies on the drawing and is turned with it; the edges of a
// rectangle across and along it are not against it, those of a door at 45° are.
func TestASkinMayStateItsFibre(t *testing.T) {
	for _, tc := range []struct {
		deg     string
		against bool
	}{{"0", false}, {"90", false}, {"45", true}, {"-45", true}} {
		res := kindSkin(t, "opening", "fibre_deg = "+tc.deg)
		require.True(t, res.Certificate != nil && res.Certificate.OK, "%v", res.Findings)
		f := res.Work.Cuts[0].Fibre
		require.NotNil(t, f)
		// four sides of 34, 14 mm and corners of 3 mm, straight parts only where along or across
		straight := 2 * (34.0 + 14)
		if !tc.against {
			assert.Less(t, f.Against, f.Length-straight, "corners alone, mm")
			continue
		}
		assert.Greater(t, f.Against, 2*14.0, "mm")
		assert.True(t, res.Findings.Has("fibre-against"))
		require.Len(t, res.Certificate.Fibre, 1)
		assert.Equal(t, "servo", res.Certificate.Fibre[0].Of)
		assert.NotEmpty(t, res.Certificate.Fibre[0].Stretches)
	}
	assert.Nil(t, kindSkin(t, "opening", "").Work.Cuts[0].Fibre, "not stated")
}

// kindSkin adds a line under [skin] of a small demo job.
func kindSkin(t *testing.T, kind, line string) *job.Result {
	t.Helper()
	files, ok := demo.Kind(kind)
	require.True(t, ok)
	m := memory{}
	for name, b := range files {
		m[name] = string(b)
	}
	m["job.toml"] = strings.Replace(m["job.toml"], "[skin]\n", "[skin]\n"+line+"\n", 1)
	return runMemory(t, m)
}

func TestAPlateThatStatesNoFibreIsNoted(t *testing.T) {
	res := plate(t, job.Resolve, "carbon-plate-2", "thickness = 2", "")
	assert.True(t, res.Findings.Has("fibre-unstated"), "%v", res.Findings)
	res = plate(t, job.Resolve, "carbon-plate-2", "thickness = 2\nfibre_deg = 30", "")
	assert.False(t, res.Findings.Has("fibre-unstated"))
	require.NotNil(t, res.Work.Parts[0].Fibre)
	assert.Positive(t, res.Work.Parts[0].Fibre.Against)
	res = plate(t, job.Resolve, "birch-ply-3", "thickness = 2", "")
	assert.False(t, res.Findings.Has("fibre-unstated"), "%v", res.Findings)
}

// e/D ≥ 3 and pitch ≥ 4 D in composites: MIL-HDBK-17-3F and airframe design texts,
// from memory. The hole of the plate has 6 mm and stands 10 mm from both edges.
func TestScrewHolesNearAnEdgeOfALaminate(t *testing.T) {
	res := plate(t, job.Resolve, "carbon-plate-2", "thickness = 2", "")
	f := finding(t, res, "edge-distance")
	assert.InDelta(t, 10.0/6, *f.Value, 1e-6, "D")
	assert.Equal(t, "warn", f.Severity.String())
	assert.False(t, plate(t, job.Resolve, "birch-ply-3", "thickness = 2", "").Findings.Has("edge-distance"), "no laminate")
}

// The same sources: holes of 3 mm that stand 3 and 4 diameters apart.
func TestScrewHolesOfALaminateStandApart(t *testing.T) {
	for _, tc := range []struct {
		apart float64
		warn  bool
	}{{9, true}, {12, false}} {
		drawn := fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80"><g id="PLATE">
<rect x="10" y="30" width="60" height="40"/><circle cx="30" cy="50" r="1.5"/><circle cx="%g" cy="50" r="1.5"/></g></svg>`, 30+tc.apart)
		text := strings.Replace(fmt.Sprintf(plateJob, "carbon-plate-2", "thickness = 2", ""), "plate.dxf", "plate.svg", 1)
		res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Goal: job.Resolve, Files: memory{"job.toml": text, "plate.svg": drawn}})
		require.NoError(t, err)
		require.Equal(t, tc.warn, res.Findings.Has("hole-pitch"), "%g mm: %v", tc.apart, res.Findings)
		if tc.warn {
			f := finding(t, res, "hole-pitch")
			assert.InDelta(t, 3, *f.Value, 1e-6, "D")
			assert.InDelta(t, 4, *f.Limit, 1e-12, "D")
		}
	}
}

// √2·v²/(8·a) is cut off a right corner where one axis slows while the other speeds
// up (closed form); the machine of the plate has 1000 mm/s² and may blend by 0.02 mm.
func TestCornersThatTheMachineRoundsAreHeldAgainstTheTolerance(t *testing.T) {
	res := plate(t, job.Resolve, "carbon-plate-2", "thickness = 2", "")
	require.NotEmpty(t, res.Work.Cuts)
	v := res.Work.Cuts[0].Feed / 60
	e := math.Min(0.02, math.Sqrt2*v*v/(8*1000))
	res = plate(t, job.Resolve, "carbon-plate-2", "thickness = 2", fmt.Sprintf("tolerance = %.5f", 1.9*e))
	f := finding(t, res, "corners-rounded")
	assert.InDelta(t, e, *f.Value, 1e-9, "mm")
	res = plate(t, job.Resolve, "carbon-plate-2", "thickness = 2", fmt.Sprintf("tolerance = %.5f", 2.1*e))
	assert.False(t, res.Findings.Has("corners-rounded"), "%v", res.Findings)
}

func TestAMeasuredForceTakesThePlaceOfTheEstimate(t *testing.T) {
	files, _ := demo.Kind("part")
	m := memory{}
	for name, b := range files {
		m[name] = string(b)
	}
	before := runMemory(t, m).Work.Cuts[0].Data
	m["job.toml"] = strings.Replace(m["job.toml"], `material = "carbon-plate-2"`, `material = { like = "carbon-plate-2", kc_n_mm2 = 1000 }`, 1)
	after := runMemory(t, m).Work.Cuts[0].Data
	assert.InDelta(t, before.ForceSharp*1000/800, after.ForceSharp, 1e-9, "N")
	assert.Equal(t, 1000.0, after.Kc)
	for _, r := range after.Rows() {
		if r.Symbol == "k_c" {
			assert.NotEqual(t, "CFRP frame article", r.Source, "the mark of the estimate does not stand beside a value of the job's own")
		}
	}
}

// The feed that a program reaches is never above the one asked for; on long
// straight sides it is nearly that.
func TestTheFeedThatIsReached(t *testing.T) {
	files, _ := demo.Kind("door")
	m := memory{}
	for name, b := range files {
		m[name] = string(b)
	}
	res := runMemory(t, m)
	reach, err := picture.Reached(res.Scene())
	require.NoError(t, err)
	require.Len(t, reach, 1)
	r := reach[0]
	assert.Equal(t, "bay door", r.Cut)
	assert.LessOrEqual(t, r.Mean, r.Asked)
	assert.Greater(t, r.Mean, 0.7*r.Asked)
	// The path runs round the outline in passes of equal depth, tabs and ramps included.
	g := res.Work.Cuts[0].Regions[0]
	assert.Greater(t, r.Path, 2*g.Outer.Length())
	require.Len(t, res.Work.Wear, 1)
	assert.InDelta(t, r.Path/1000, res.Work.Wear[0].Metres, 0.05*r.Path/1000, "metres cut by the plan and by the text")
}
