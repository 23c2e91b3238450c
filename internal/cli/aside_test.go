package cli

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/job"
)

// The disk fails at every step of writing a trace: afterwards there is never a new
// program without its certificate, nor a mix of two runs under current names.
func TestATraceIsWrittenWholeOrNotAtAll(t *testing.T) {
	outs := []job.Output{
		{Name: "job-trace.nc", Data: []byte("(sparclear 1)\nnew\n")},
		{Name: "trace-certificate.json", Data: []byte(`{"programs":[{"file":"job-trace.nc"}],"run":"new"}`)},
	}
	for n := 0; ; n++ {
		require.Less(t, n, 20)
		dir := t.TempDir()
		put := func(name, text string) {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
		}
		put("old-trace.nc", "(sparclear 1)\nold\n")
		put("trace-certificate.json", `{"programs":[{"file":"old-trace.nc"}],"run":"old"}`)
		put("job.nc", "(sparclear 1)\ncut\n")
		put("mine.nc", "(by hand)\n")
		left := n
		err := writeBeside(failing{left: &left}, dir, "trace", outs)
		get := func(name string) string {
			b, err := os.ReadFile(filepath.Join(dir, name))
			if err != nil {
				return ""
			}
			return string(b)
		}
		assert.Equal(t, "(by hand)\n", get("mine.nc"), "step %d", n)
		assert.Equal(t, "(sparclear 1)\ncut\n", get("job.nc"), "step %d: the cut stays", n)
		cert, fresh := get("trace-certificate.json"), get("job-trace.nc")
		if err == nil {
			assert.Contains(t, cert, "new")
			assert.NotEmpty(t, fresh)
			assert.Empty(t, get("old-trace.nc"))
			assert.NotEmpty(t, get("NOT-CURRENT-old-trace.nc.old"))
			return
		}
		assert.Empty(t, fresh, "step %d: no new program without its certificate", n)
		assert.NotContains(t, cert, "new", "step %d", n)
		if get("old-trace.nc") == "" {
			assert.NotEmpty(t, get("NOT-CURRENT-old-trace.nc.old"), "step %d: nothing is lost", n)
		}
	}
}

func TestFilesOfAnotherKindAreTold(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"a.DXF", "a.nc", "a.toml", "a.txt", "a.csv"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), nil, 0o644))
	}
	for name, wants := range map[string]map[string]bool{
		"a.DXF":  {"job": true, "drawing": false, "program": true},
		"a.nc":   {"job": true, "drawing": true, "program": false},
		"a.toml": {"job": false, "drawing": true, "program": true},
		"a.txt":  {"job": false, "drawing": false, "program": false},
		"a.csv":  {"job": true, "drawing": true, "program": true},
		".":      {"job": true, "drawing": true, "program": true},
		"none":   {"job": false},
	} {
		for want, told := range wants {
			f := mistaken(filepath.Join(dir, name), want)
			assert.Equal(t, told, f != nil, "%s for a %s", name, want)
			if f != nil {
				assert.NotEmpty(t, f.Help)
				assert.True(t, f.Input)
			}
		}
	}
}
