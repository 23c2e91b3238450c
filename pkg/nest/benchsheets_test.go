package nest

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

// BenchmarkSheets nests instances of the two sets of E. López-Camacho et al.
// ("An effective heuristic for the two-dimensional irregular bin packing
// problem", 2013), squares cut up without waste, and counts the bins used against
// the known optimum, at which every bin is full. SPARCLEAR_NEST_INSTANCES (default
// 4) instances spread over each set, SPARCLEAR_NEST_BUDGET (default 500 000)
// positions each, no spacing and no margin. Touching counts as a collision, so
// the bins are 0.1 of 1000 units wider than published, the share by which Gardeyn
// et al. widen strips in the same case.
func BenchmarkSheets(b *testing.B) {
	root := os.Getenv("SPARCLEAR_CORPUS")
	if root == "" {
		b.Skip("SPARCLEAR_CORPUS is not set")
	}
	const widen = 0.1
	count, err := strconv.Atoi(env("SPARCLEAR_NEST_INSTANCES", "4"))
	require.NoError(b, err)
	budget, err := strconv.ParseFloat(env("SPARCLEAR_NEST_BUDGET", "5e5"), 64)
	require.NoError(b, err)
	for _, set := range []string{"terashima1", "terashima2"} {
		f, err := os.Open(filepath.Join(root, "datasets", "nesting", "bin", set+".jsonl"))
		require.NoError(b, err)
		var known []binInstance
		lines := bufio.NewScanner(f)
		lines.Buffer(nil, 1<<20)
		for lines.Scan() {
			var in binInstance
			require.NoError(b, json.Unmarshal(lines.Bytes(), &in))
			if in.Optimal != nil {
				known = append(known, in)
			}
		}
		require.NoError(b, lines.Err())
		require.NoError(b, f.Close())
		start := time.Now()
		over := map[int]int{}
		ran, bins, optimal := 0, 0, 0
		for k := 0; k < count; k++ {
			in := known[k*len(known)/count]
			s := Sheet{Name: "bin", Region: geom.Region{Outer: geom.Rect(0, 0, in.Width+widen, in.Height+widen)}, Quantity: Unlimited}
			l, fs := Nest(context.Background(), in.parts(), []Sheet{s}, Options{Budget: int64(budget), Seed: 1})
			require.Empty(b, fs, in.Name)
			ran++
			bins += len(l.Used)
			optimal += *in.Optimal
			over[len(l.Used)-*in.Optimal]++
			row(b, ".runs", fmt.Sprintf("%s %s: %d bins, %d at the optimum, %.1f s so far", set, in.Name, len(l.Used), *in.Optimal, time.Since(start).Seconds()))
		}
		row(b, "", fmt.Sprintf("%s: %d instances, %d bins used, %d at the optimum (%.3f); at the optimum %d, one over %d, two over %d, more %d; %.2f s each",
			set, ran, bins, optimal, float64(bins)/float64(optimal), over[0], over[1], over[2], ran-over[0]-over[1]-over[2],
			time.Since(start).Seconds()/float64(ran)))
	}
}

type binInstance struct {
	instance
	Width   float64 `json:"bin_width"`
	Height  float64 `json:"bin_height"`
	Optimal *int    `json:"optimal_bins"`
}
