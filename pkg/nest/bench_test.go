package nest

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

type instance struct {
	Name   string  `json:"name"`
	Height float64 `json:"strip_height"`
	Parts  []struct {
		ID        int            `json:"id"`
		Quantity  int            `json:"quantity"`
		Rotations []float64      `json:"rotations_deg"`
		Outline   [][2]float64   `json:"outline"`
		Holes     [][][2]float64 `json:"holes"`
	} `json:"parts"`
}

func (in instance) parts() []Part {
	poly := func(o [][2]float64) geom.Contour {
		var c geom.Contour
		for _, p := range o {
			c = append(c, geom.Vertex{Point: geom.Pt(p[0], p[1])})
		}
		return c
	}
	var out []Part
	for _, p := range in.Parts {
		r := geom.Region{Outer: poly(p.Outline)}
		for _, h := range p.Holes {
			r.Holes = append(r.Holes, poly(h))
		}
		q := Part{Name: strconv.Itoa(p.ID), Quantity: p.Quantity, Region: geom.NewRegion(r.Outer, r.Holes...)}
		for _, a := range p.Rotations {
			q.Turns = append(q.Turns, a*math.Pi/180)
		}
		out = append(out, q)
	}
	return out
}

func readInstance(tb testing.TB, name string) instance {
	root := os.Getenv("SPARCLEAR_CORPUS")
	if root == "" {
		tb.Skip("SPARCLEAR_CORPUS is not set")
	}
	raw, err := os.ReadFile(filepath.Join(root, "datasets", "nesting", name+".json"))
	require.NoError(tb, err)
	var in instance
	require.NoError(tb, json.Unmarshal(raw, &in))
	return in
}

func env(name, def string) string {
	if v := os.Getenv(name); v != "" {
		return v
	}
	return def
}

// published are mean densities in per cent of strip packing by S. C. H. Leung et
// al. 2012, A. Elkeran 2013 and A. K. Sato et al. 2019, and of J. Gardeyn et al.
// 2025, as printed in table 2 of the latter (arXiv 2509.13329v1); 1200 s a run for
// the first three or about that, 3 threads for 20 min for the last.
var published = map[string][4]float64{
	"albano": {87.38, 87.47, 87.55, 89.47}, "dagli": {86.27, 87.06, 87.50, 89.26},
	"fu": {90.00, 90.68, 91.95, 92.24}, "jakobs1": {88.35, 88.90, 89.09, 89.09},
	"jakobs2": {80.97, 81.14, 83.56, 84.77}, "mao": {82.57, 82.93, 83.76, 86.14},
	"marques": {88.32, 89.40, 89.97, 90.93}, "shapes0": {66.85, 67.26, 68.73, 68.60},
	"shapes1": {74.24, 73.79, 75.86, 75.69}, "blaz": {82.55, 82.40, 83.02, 84.68},
	"shirts": {87.20, 87.59, 87.62, 89.66}, "swim": {74.10, 74.49, 74.29, 78.26},
	"trousers": {88.29, 89.02, 90.48, 91.73},
}

// widened are the sets whose strips Gardeyn et al. widen by 0.01 % because their
// best layouts fit exactly; density counts the strip as published.
const widened = ",shapes0,shapes1,blaz,fu,jakobs1,jakobs2,"

// BenchmarkStrip packs the instances of the corpus and prints a row of densities,
// in per cent, as each is done. The environment sets how: SPARCLEAR_NEST_SETS
// (names with commas), the budget of a run as SPARCLEAR_NEST_CPU seconds of
// processor time (both cores together, so that other load does not count),
// SPARCLEAR_NEST_SECONDS by the clock (default 2) or SPARCLEAR_NEST_BUDGET
// positions; SPARCLEAR_NEST_SEEDS runs (default 1) from seed SPARCLEAR_NEST_FIRST
// (default 0), SPARCLEAR_NEST_WORKERS. Rows are also appended to the file
// SPARCLEAR_NEST_TABLE, and every single run to the same name with ".runs", so
// that an interrupted measurement loses nothing. Every layout is verified on the
// outlines as given. Run it with -benchtime 1x.
func BenchmarkStrip(b *testing.B) {
	number := func(name, def string) float64 {
		v, err := strconv.ParseFloat(env(name, def), 64)
		require.NoError(b, err, name)
		return v
	}
	cpu, budget := number("SPARCLEAR_NEST_CPU", "0"), number("SPARCLEAR_NEST_BUDGET", "0")
	seconds := 0.0
	switch {
	case cpu > 0:
		seconds = cpu
	case budget == 0:
		seconds = number("SPARCLEAR_NEST_SECONDS", "2")
	}
	seeds, first := int(number("SPARCLEAR_NEST_SEEDS", "1")), int(number("SPARCLEAR_NEST_FIRST", "0"))
	sets := env("SPARCLEAR_NEST_SETS", "albano,dagli,fu,jakobs1,jakobs2,mao,marques,shapes0,shapes1,blaz,shirts,swim,trousers,dighe1,dighe2")
	row(b, "", fmt.Sprintf("%-9s %2s %6s %6s %6s %6s %6s %6s %6s | %6s %8s %6s %8s", "set", "n", "mean", "q1", "q3", "best", "worst", "M pos", "M/CPUs", "Leung", "Elkeran", "Sato", "Gardeyn"))
	for _, name := range strings.Split(sets, ",") {
		in := readInstance(b, name)
		h := in.Height
		if strings.Contains(widened, ","+name+",") {
			h *= 1.0001
		}
		var ds []float64
		sum, tried, used := 0.0, int64(0), 0.0
		for seed := first; seed < first+seeds; seed++ {
			o := Options{Seed: uint64(seed), Time: time.Duration(seconds * 1e9), Budget: int64(budget), Workers: int(number("SPARCLEAR_NEST_WORKERS", "0"))}
			from, start := processorTime(), time.Now()
			if cpu > 0 {
				o.Elapsed = func() time.Duration { return processorTime() - from }
			}
			out, fs := Strip(context.Background(), in.parts(), h, o)
			require.Empty(b, fs, name)
			spent := (processorTime() - from).Seconds()
			d := 100 * out.Density * h / in.Height
			row(b, ".runs", fmt.Sprintf("%-9s seed %2d %7.3f %% length %10.3f, %7.1f M positions, %6.1f s of the clock, %6.1f s of processors",
				name, seed, d, out.Length, float64(out.Tried)/1e6, time.Since(start).Seconds(), spent))
			ds = append(ds, d)
			sum += d
			tried += out.Tried
			used += spent
		}
		sort.Float64s(ds)
		n := len(ds)
		p := published[name]
		row(b, "", fmt.Sprintf("%-9s %2d %6.2f %6.2f %6.2f %6.2f %6.2f %6.1f %6.2f | %6.2f %8.2f %6.2f %8.2f",
			name, n, sum/float64(n), ds[n/4], ds[(3*n-1)/4], ds[n-1], ds[0], float64(tried)/float64(n)/1e6, float64(tried)/1e6/used, p[0], p[1], p[2], p[3]))
	}
}

// row prints a line of a table and appends it to the file of the measurement, if
// there is one; with a suffix it goes to that file alone.
func row(b *testing.B, suffix, line string) {
	if suffix == "" {
		fmt.Println(line)
	}
	name := os.Getenv("SPARCLEAR_NEST_TABLE")
	if name == "" {
		return
	}
	f, err := os.OpenFile(name+suffix, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	require.NoError(b, err)
	_, err = fmt.Fprintln(f, line)
	require.NoError(b, err)
	require.NoError(b, f.Close())
}
