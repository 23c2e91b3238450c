package job_test

import (
	"context"
	"testing"

	"sparclear/pkg/job"
)

// The whole demo wing job, drawing to certificate, without pictures.
func BenchmarkWingJob(b *testing.B) { benchmarkJob(b, "wing", job.Prove) }

// The same with plan view, run sheet and film.
func BenchmarkWingJobWithPictures(b *testing.B) { benchmarkJob(b, "wing", job.Draw) }

// The demo sheet job, nesting included.
func BenchmarkSheetJob(b *testing.B) { benchmarkJob(b, "sheet", job.Prove) }

func benchmarkJob(b *testing.B, name string, goal job.Goal) {
	moves := 0
	for b.Loop() {
		res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: files(name), Goal: goal})
		if err != nil || res.Findings.Blocks() {
			b.Fatalf("%v %v", err, res.Findings)
		}
		moves = 0
		for _, p := range res.Certificate.Programs {
			moves += p.Moves
		}
	}
	b.ReportMetric(float64(moves), "moves/job")
}
