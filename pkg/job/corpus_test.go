package job_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/job"
)

// withJob adds a job file to a folder of drawings.
type withJob struct {
	job.Dir
	text string
}

func (w withJob) ReadFile(name string) ([]byte, error) {
	if name == "job.toml" {
		return []byte(w.text), nil
	}
	return w.Dir.ReadFile(name)
}

// Drawings that nobody here made (corpus/dxf/MANIFEST.md names their origin),
// from the file to a proven program.
func TestRealDrawingsAreCutFromSheet(t *testing.T) {
	corpus := os.Getenv("SPARCLEAR_CORPUS")
	if corpus == "" {
		t.Skip("SPARCLEAR_CORPUS is not set")
	}
	for _, tc := range []struct {
		fact, file, layer, units string
		cutter, hole             string
		size                     [2]float64
		cuts                     int
	}{
		{"a carbon plate with 19 holes far from the origin", "quad_bottom_plate_r2004.dxf", "2", "", "carbide-2", "carbide-1", [2]float64{120, 60}, 5},
		{"a wing rib of short straight edges, units said by the job", "rib_lightened_r14.dxf", "profile", "mm", "carbide-2", "carbide-1", [2]float64{200, 60}, 8},
		{"a ring plate of arcs and lines", "cradle_outer_mm_r2000.dxf", "0", "", "carbide-2", "carbide-1", [2]float64{180, 180}, 2},
		{"a plate drawn in inches", "plate_inch_small_r2007.dxf", "vector", "", "carbide-2", "carbide-1", [2]float64{100, 80}, 2},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			text := fmt.Sprintf(`title = "real"
material = "carbon-plate-2"
machine = "small-router-metric"
zero = "table"
no_clamps = true
accept = ["life-exceeded"] # how many cutters lie ready is not the drawing's affair
[[sheet]]
size = [%g, %g]
thickness = 2
[[part]]
name = "part"
drawing = %q
units = %q
layer = %q
cutter = %q
hole_cutter = %q
accept = ["edge-distance"] # holes of 3 mm 1.3 diameters from an edge stand where the owner drew them
turns_deg = [0, 90, 180, 270]
[nest]
budget = 20000
`, tc.size[0], tc.size[1], tc.file, tc.units, tc.layer, tc.cutter, tc.hole)
			res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Goal: job.Prove, Check: true,
				Files: withJob{job.Dir(filepath.Join(corpus, "corpus", "dxf")), text}})
			require.NoError(t, err)
			for _, f := range res.Findings {
				assert.Falsef(t, f.Blocks(), "%v at %v", f, f.At)
			}
			require.NotNil(t, res.Certificate)
			assert.True(t, res.Certificate.OK)
			assert.GreaterOrEqual(t, len(res.Work.Cuts), tc.cuts)
			t.Logf("%d cuts, %d moves", len(res.Work.Cuts), res.Certificate.Programs[0].Moves)
		})
	}
}
