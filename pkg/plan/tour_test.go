package plan

import (
	"bufio"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
)

func closedLength(pts []geom.Point, order []int) float64 {
	l := 0.0
	for i, a := range order {
		l += pts[a].Dist(pts[order[(i+1)%len(order)]])
	}
	return l
}

func TestTourVisitsEveryPointOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 60).Draw(t, "n")
		grid := rapid.Bool().Draw(t, "grid")
		pts := make([]geom.Point, n)
		for i := range pts {
			x, y := rapid.Float64Range(-50, 50).Draw(t, "x"), rapid.Float64Range(-50, 50).Draw(t, "y")
			if grid {
				x, y = math.Round(x/20), math.Round(y/20) // many points in one place
			}
			pts[i] = geom.Pt(x, y)
		}
		order := quickTour(pts)
		again := quickTour(pts)
		assert.Equal(t, order, again, "the same points give the same tour")
		seen := append([]int(nil), order...)
		sort.Ints(seen)
		for i, v := range seen {
			if i != v {
				t.Fatalf("not every point once: %v", order)
			}
		}
		if len(seen) != n {
			t.Fatalf("%d of %d points", len(seen), n)
		}
	})
}

func TestTourOfFewPointsIsShortest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 8).Draw(t, "n")
		pts := make([]geom.Point, n)
		for i := range pts {
			pts[i] = geom.Pt(rapid.Float64Range(0, 100).Draw(t, "x"), rapid.Float64Range(0, 100).Draw(t, "y"))
		}
		best := math.Inf(1)
		rest := make([]int, n)
		for i := range rest {
			rest[i] = i
		}
		var try func(k int)
		try = func(k int) {
			if k == n {
				best = math.Min(best, closedLength(pts, rest))
				return
			}
			for i := k; i < n; i++ {
				rest[k], rest[i] = rest[i], rest[k]
				try(k + 1)
				rest[k], rest[i] = rest[i], rest[k]
			}
		}
		try(1)
		if got := closedLength(pts, Tour(pts)); got > best*1.03+1e-9 {
			t.Fatalf("tour of %d points is %.4f long, shortest is %.4f", n, got, best)
		}
	})
}

// TestToursAgainstPublishedOptima: TSPLIB95 (G. Reinelt, ORSA Journal on
// Computing 3(4), 1991), EUC_2D distances rounded to whole numbers.
func TestToursAgainstPublishedOptima(t *testing.T) {
	root := os.Getenv("SPARCLEAR_CORPUS")
	if root == "" {
		t.Skip("SPARCLEAR_CORPUS is not set")
	}
	dir := filepath.Join(root, "datasets", "tsplib")
	f, err := os.Open(filepath.Join(dir, "optima.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	for _, row := range rows[1:] {
		optimum, err := strconv.ParseFloat(row[3], 64)
		require.NoError(t, err)
		pts := readTSP(t, filepath.Join(dir, row[0]+".tsp"))
		if len(pts) > 200 && os.Getenv("SPARCLEAR_LONG") == "" && row[0] != "pcb1173" {
			continue
		}
		began := time.Now()
		order := Tour(pts)
		took := time.Since(began)
		l := 0.0
		for i, a := range order {
			l += math.Floor(pts[a].Dist(pts[order[(i+1)%len(order)]]) + 0.5)
		}
		over := 100 * (l/optimum - 1)
		t.Logf("%-8s %5d points  %8.0f  optimum %8.0f  %+.2f %%  %v", row[0], len(pts), l, optimum, over, took.Round(time.Millisecond))
		assert.LessOrEqual(t, over, 3.0, row[0])
	}
}

func readTSP(t *testing.T, name string) []geom.Point {
	f, err := os.Open(name)
	require.NoError(t, err)
	defer f.Close()
	var pts []geom.Point
	s := bufio.NewScanner(f)
	coords := false
	for s.Scan() {
		w := strings.Fields(s.Text())
		switch {
		case len(w) == 0:
		case w[0] == "NODE_COORD_SECTION":
			coords = true
		case w[0] == "EOF":
			coords = false
		case coords:
			x, err := strconv.ParseFloat(w[1], 64)
			require.NoError(t, err)
			y, err := strconv.ParseFloat(w[2], 64)
			require.NoError(t, err)
			pts = append(pts, geom.Pt(x, y))
		}
	}
	return pts
}
