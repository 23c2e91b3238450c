//go:build unix

package drawing

import (
	"bytes"
	"fmt"
	"math"
	"syscall"
	"testing"
)

// BenchmarkReadSlope reads whole drawings of 1 k to 1 M entities and reports the
// log-log slope of processor time over entities, fitted to all four sizes, and
// the rate of each, in megabytes of file per second of user processor time of
// all threads: wall time says little where others share the cores. The file
// lies in memory.
func BenchmarkReadSlope(b *testing.B) {
	for _, mixed := range []bool{false, true} {
		b.Run(fmt.Sprintf("mixed=%v", mixed), func(b *testing.B) {
			sizes := []int{1_000, 10_000, 100_000, 1_000_000}
			files := make([][]byte, len(sizes))
			for i, n := range sizes {
				files[i] = generate(n, mixed)
			}
			for b.Loop() {
				var x, y []float64
				for i, n := range sizes {
					runs := max(1, 200_000/n)
					before := userTime(b)
					for range runs {
						Read(bytes.NewReader(files[i]), "bench.dxf", Options{Limit: 1e9})
					}
					s := (userTime(b) - before) / float64(runs)
					b.ReportMetric(float64(len(files[i]))/1e6/s, fmt.Sprintf("MB/cpu-s@%dk", n/1000))
					x, y = append(x, math.Log(float64(n))), append(y, math.Log(s))
				}
				b.ReportMetric(slope(x, y), "slope")
			}
		})
	}
}

// userTime returns the user processor time of this process so far, s.
func userTime(b *testing.B) float64 {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		b.Fatal(err)
	}
	return float64(r.Utime.Sec) + float64(r.Utime.Usec)/1e6
}

// slope returns the slope of the line of least squares.
func slope(x, y []float64) float64 {
	var mx, my, xy, xx float64
	for i := range x {
		mx += x[i] / float64(len(x))
		my += y[i] / float64(len(y))
	}
	for i := range x {
		xy += (x[i] - mx) * (y[i] - my)
		xx += (x[i] - mx) * (x[i] - mx)
	}
	return xy / xx
}
