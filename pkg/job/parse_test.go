package job_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/job"
)

func TestPositionsOfKeys(t *testing.T) {
	src := "title = \"x\"\n\n[[cut]]\nname = \"a\"\n\n[[cut]]\n  layer = \"B\"\n"
	_, pos, l := job.Parse("job.toml", []byte(src))
	assert.Empty(t, l)
	for _, tc := range []struct {
		key       string
		line, col int
	}{
		{"title", 1, 1}, {"cut.0.name", 4, 1}, {"cut.1", 6, 3}, {"cut.1.layer", 7, 3},
		{"cut.1.depth", 6, 3}, // absent: the table it belongs to
	} {
		line, col := pos.Of(tc.key)
		assert.Equal(t, [2]int{tc.line, tc.col}, [2]int{line, col}, tc.key)
	}
	line, col := (*job.Positions)(nil).Of("x")
	assert.Zero(t, line+col)
}

func TestUnknownKeysAreNamedWithTheNearest(t *testing.T) {
	_, _, l := job.Parse("job.toml", []byte("[skin]\nthicknes = 1\n[[cut]]\nlimitt = 2\n"))
	if assert.Len(t, l, 2) {
		assert.Contains(t, l[0].Help, "did you mean thickness?")
		assert.Equal(t, 2, l[0].At[0].Line)
		assert.Contains(t, l[1].Help, "did you mean limit?")
		assert.Equal(t, 4, l[1].At[0].Line)
	}
	assert.Equal(t, 2, l.ExitCode())
}

func TestLengthsTakeUnits(t *testing.T) {
	f, _, l := job.Parse("job.toml", []byte("[skin]\nthickness = \"1/8 in\"\nfloor = 14\n[[cut]]\nsizes = { length = \"1 in\", width = 4 }\n"))
	assert.Empty(t, l)
	assert.InDelta(t, 3.175, float64(*f.Skin.Thickness), 1e-12) // 25.4/8, closed form
	assert.InDelta(t, 14, float64(*f.Skin.Floor), 0)
	assert.InDelta(t, 25.4, float64(f.Cuts[0].Sizes["length"]), 1e-12)
	_, _, l = job.Parse("job.toml", []byte("[skin]\nthickness = \"1.8 furlong\"\n"))
	assert.True(t, l.Has("job-broken"), "%v", l)
}

// Nothing in a job file may cause a panic.
func FuzzParse(f *testing.F) {
	f.Add([]byte("title = \"x\"\n[[cut]]\nname = \"a\"\ntabs = { count = 3 }\n"))
	f.Add([]byte("[skin\n"))
	f.Add([]byte("machine = { like = \"small-router-metric\" }\n[[datum]]\ndrawn = [0, nan]\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		file, pos, _ := job.Parse("job.toml", src)
		if file == nil || pos == nil {
			t.Fatal("nothing came back")
		}
	})
}
