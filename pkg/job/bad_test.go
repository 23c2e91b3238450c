package job_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/demo"
	"sparclear/pkg/diag"
	"sparclear/pkg/job"
)

// kindJob runs a small demo job in which lines of its first cut are replaced, or
// added where they are not there.
func kindJob(t *testing.T, kind string, lines ...string) *job.Result {
	t.Helper()
	files, ok := demo.Kind(kind)
	require.True(t, ok)
	m := memory{}
	for name, b := range files {
		m[name] = string(b)
	}
	text := m["job.toml"]
	head, cut, ok := strings.Cut(text, "[[cut]]\n")
	require.True(t, ok)
	for _, l := range lines {
		k, _, _ := strings.Cut(l, " ")
		var out []string
		for _, old := range strings.Split(cut, "\n") {
			if !strings.HasPrefix(old, k+" ") {
				out = append(out, old)
			}
		}
		cut = l + "\n" + strings.Join(out, "\n")
	}
	m["job.toml"] = head + "[[cut]]\n" + cut
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: m, Goal: job.Prove})
	require.NoError(t, err)
	return res
}

// Every impossible number or combination under a cut has a finding that names it,
// and leaves no program.
func TestImpossibleCutsOfAJob(t *testing.T) {
	for _, tc := range []struct{ kind, line, code string }{
		{"opening", "rpm = 0", "not-positive"},
		{"opening", "rpm = -5", "not-positive"},
		{"opening", "rpm = nan", "number-bad"},
		{"opening", "rpm = 1e9", "rpm-high"},
		{"opening", "rpm = 100", "rpm-low"},
		{"opening", "feed_mm_min = 0", "not-positive"},
		{"opening", "feed_mm_min = inf", "number-bad"},
		{"opening", "feed_mm_min = 1e6", "feed-limit"},
		{"opening", "plunge_mm_min = 0", "not-positive"},
		{"opening", "plunge_mm_min = 1e6", "speed-out-of-range"},
		{"opening", "step = 0", "not-positive"},
		{"opening", "step = 50", "flute-short"},
		{"opening", "step = 1e-9", "number-bad"},
		{"opening", "ramp_deg = 0", "speed-out-of-range"},
		{"opening", "ramp_deg = 95", "speed-out-of-range"},
		{"opening", "overcut = -0.05", "not-positive"},
		{"opening", "overcut = 20", "flute-short"},
		{"opening", "limit = -1", "not-positive"},
		{"opening", "limit = 1.5", "limit-passed"},
		{"opening", "onion = 5", "not-positive"},
		{"opening", "onion = -1", "not-positive"},
		{"opening", "tolerance = 0", "not-positive"},
		{"opening", "finish = -1", "not-positive"},
		{"opening", "finish = 9", "allowance-vanishes"},
		{"opening", "fit = -11", "outline-vanishes"},
		{"opening", "relief = \"dog\"", "relief-unknown"},
		{"opening", "room = -3", "not-positive"},
		{"opening", "depth = 1", "depth-twice"},
		{"opening", "through = false", "depth-missing"},
		{"opening", "layer = \"SERV\"", "layer-missing"},
		{"opening", "cutter = \"carbid-2\"", "cutter-unknown"},
		{"opening", "cutter = \"drill-1.6\"", "drill-sideways"},
		{"opening", "kind = \"hole\"", "kind-unknown"},
		{"opening", "options = { overlap = -3 }", "option-wrong"},
		{"opening", "options = { finish_passes = 11 }", "option-wrong"},
		{"opening", "options = { start_x = 5 }", "option-wrong"},
		{"opening", "options = { overlp = 3 }", "option-unknown"},
		{"opening", "options = { overlap = nan }", "number-bad"},
		{"opening", "tabs = { count = 3, width = 0, height = 0.5 }", "tabs-broken"},
		{"opening", "tabs = { count = -1, width = 4, height = 0.5 }", "tabs-broken"},
		{"opening", "tabs = { count = 3, width = 4, height = 1.8 }", "tabs-broken"},
		{"opening", "tabs = { count = 1, width = 130, height = 0.5 }", "tab-too-wide"},
		{"opening", "tabs = { count = 100000, width = 4, height = 0.5 }", "not-positive"},
		{"bore", "diameter = 0", "not-positive"},
		{"bore", "diameter = 1.9", "cutter-too-wide"},
		{"drill", "peck = -1", "not-positive"},
		{"drill", "peck = 0.001", "passes-too-many"},
		{"slot", "options = { width = 1.5 }", "cutter-too-wide"},
		{"mark", "options = { x = 76, height = 8 }", "option-wrong"},
		{"mark", "options = { x = 76, y = 88, height = 0 }", "not-positive"},
		{"score", "depth = 1.9", "layer-gone"},
		{"chamfer", "depth = 0", "not-positive"},
	} {
		res := kindJob(t, tc.kind, tc.line)
		if assert.True(t, res.Findings.Has(tc.code), "%s, %s: %v", tc.kind, tc.line, res.Findings) {
			assert.True(t, res.Findings.Blocks(), "%s", tc.line)
		}
		assert.Empty(t, res.Outputs, tc.line)
		for _, f := range res.Findings {
			if f.Severity == diag.Stop {
				assert.NotEmpty(t, f.Help, "%s: %s says what to do", tc.line, f.Code)
			}
		}
	}
}

func TestKeysThatDoNothingAreSaid(t *testing.T) {
	for _, line := range []string{"diameter = 3", "peck = 1", "text = \"A\"", "nominal = 8", "turn_deg = 5", "center = [1, 2]", "sizes = { length = 3 }"} {
		res := kindJob(t, "opening", line)
		assert.True(t, res.Findings.Has("key-useless"), "%s: %v", line, res.Findings)
		assert.False(t, res.Findings.Blocks(), line)
	}
	assert.False(t, kindJob(t, "opening", "fit = \"H13\"", "nominal = 20").Findings.Has("key-useless"))
	for _, kind := range demo.Kinds() {
		if kind != "part" && kind != "corners" && kind != "fit" {
			assert.False(t, kindJob(t, kind).Findings.Has("key-useless"), kind)
		}
	}
}

// Both sides of a limit that the job itself holds.
func TestLimitsOfKeys(t *testing.T) {
	for _, tc := range []struct{ good, bad string }{
		{"tabs = { count = 3, width = 4, height = 1.7 }", "tabs = { count = 3, width = 4, height = 1.8 }"},
		{"options = { finish_passes = 10 }", "options = { finish_passes = 11 }"},
		{"rpm = 24000", "rpm = 24001"},
		{"rpm = 8000", "rpm = 7999"},
		{"feed_mm_min = 3000", "feed_mm_min = 3001"},
	} {
		assert.False(t, kindJob(t, "opening", tc.good).Findings.Blocks(), tc.good)
		assert.True(t, kindJob(t, "opening", tc.bad).Findings.Blocks(), tc.bad)
	}
}

// runMemory proves a job of files in memory.
func runMemory(t *testing.T, m memory) *job.Result {
	t.Helper()
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: m, Goal: job.Prove})
	require.NoError(t, err)
	require.False(t, res.Findings.Blocks(), "%v", res.Findings)
	return res
}

// finding returns the first finding of a code.
func finding(t *testing.T, res *job.Result, code string) diag.Finding {
	t.Helper()
	for _, f := range res.Findings {
		if f.Code == code {
			return f
		}
	}
	require.Fail(t, "no "+code, "%v", res.Findings)
	return diag.Finding{}
}
