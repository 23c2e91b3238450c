package drawing

import (
	"encoding/json"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
)

// fact is what the manifest of the corpus says about one file, drawing units.
type fact struct {
	Version  string         `json:"version"`
	Entities map[string]int `json:"entities"`
	BBox     []float64      `json:"bbox"`
	Length   float64        `json:"length"`
	Segments int            `json:"segments"`
	Chain    chainFact      `json:"chain_0_01"`
	Dedup    *chainFact     `json:"deduplicated"`
	Circles  map[string]int `json:"circles"`
}

type chainFact struct {
	Closed   int       `json:"closed"`
	Open     int       `json:"open"`
	Branched int       `json:"branched"`
	Areas    []float64 `json:"areas"`
	Sum      float64   `json:"sum"`
}

func corpusDir(t *testing.T, sub string) string {
	t.Helper()
	root := os.Getenv("SPARCLEAR_CORPUS")
	if root == "" {
		t.Skip("SPARCLEAR_CORPUS is not set")
	}
	return filepath.Join(root, "corpus", sub)
}

func readFacts[T any](t *testing.T, dir string) map[string]T {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, "facts.json"))
	require.NoError(t, err)
	out := map[string]T{}
	require.NoError(t, json.Unmarshal(b, &out))
	return out
}

func readFile(t *testing.T, path string, o Options) (*Drawing, diag.List) {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	return Read(f, filepath.Base(path), o)
}

// loopAreas returns the areas of all contours, the largest first, in mm².
func loopAreas(d *Drawing) []float64 {
	var out []float64
	for _, o := range d.Outlines {
		for _, c := range o.Region.Contours() {
			a := c.Area()
			if a < 0 {
				a = -a
			}
			out = append(out, a)
		}
	}
	sort.Sort(sort.Reverse(sort.Float64Slice(out)))
	return out
}

func TestCorpusSurvey(t *testing.T) {
	dir := corpusDir(t, "dxf")
	facts := readFacts[fact](t, dir)
	var names []string
	for n := range facts {
		names = append(names, n)
	}
	sort.Strings(names)
	for _, n := range names {
		f := facts[n]
		d, l := readFile(t, filepath.Join(dir, n), Options{Units: "mm", Limit: 1e9})
		areas := loopAreas(d)
		sum := 0.0
		for _, a := range areas {
			sum += a
		}
		want := f.Chain
		if f.Dedup != nil {
			want = *f.Dedup
		}
		branched := 0
		for _, o := range d.Open {
			if o.Branched {
				branched++
			}
		}
		flag := ""
		if len(areas) != want.Closed || len(d.Open)-branched != want.Open || (branched > 0) != (want.Branched > 0) {
			flag = "  <<<<"
		}
		t.Logf("%-36s closed %d/%d open %d/%d branched %d/%d area %.3f/%.3f len %.3f/%.3f pieces %d/%d%s", n, len(areas), want.Closed,
			len(d.Open)-branched, want.Open, branched, want.Branched, sum, want.Sum, d.Length, f.Length, d.Join.Pieces, f.Segments, flag)
		var codes []string
		for _, x := range l {
			codes = append(codes, x.Code)
		}
		t.Logf("      %v %v dup %d over %d", d.Bounds, strings.Join(codes, " "), d.Join.Duplicates, d.Join.Overlaps)
	}
	assert.NotEmpty(t, names)
}
