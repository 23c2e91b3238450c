package picture_test

import (
	"context"
	"io/fs"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/demo"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
	"sparclear/pkg/picture"
	"sparclear/pkg/work"
)

// kindFiles is the folder of a small demo job.
type kindFiles map[string][]byte

func (f kindFiles) ReadFile(name string) ([]byte, error) {
	b, ok := f[name]
	if !ok {
		return nil, fs.ErrNotExist
	}
	return b, nil
}

// kindScene proves the small demo job of a kind.
func kindScene(t *testing.T, name string) picture.Scene {
	t.Helper()
	files, ok := demo.Kind(name)
	require.True(t, ok)
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: kindFiles(files), Goal: job.Prove})
	require.NoError(t, err)
	require.True(t, res.Certificate != nil && res.Certificate.OK, "%s: %v", name, res.Findings)
	return res.Scene()
}

func xy(v ...float64) (out []geom.Point) {
	for i := 0; i+1 < len(v); i += 2 {
		out = append(out, geom.Pt(v[i], v[i+1]))
	}
	return out
}

// What the plan view of each small demo job must show: places of the drawing that
// are cut and such that are not, both sides of each wall; tabs on the outline. The
// sizes of the drawings stand in the names below.
func TestThePlanViewShowsEveryKind(t *testing.T) {
	seen := map[string]bool{}
	for _, tc := range []struct {
		kind    string
		cut     string // whose frame the places are in, and whose outline holds the tabs
		in, out []geom.Point
		tabs    int // at least
	}{
		// a servo opening X 70 to 110, Y 83 to 103, cutter 2 mm
		{"opening", "servo", xy(90, 84, 71, 93, 109.9, 93, 90, 102.9), xy(90, 93, 90, 82.8, 69.8, 93, 73, 93), 3},
		// a plate of 90 by 60 mm, hole of 4 mm at 8, 8, window X 58 to 82, Y 28 to 52
		{"part", "plate 1", xy(45, -1, 45, -1.9, -1, 30, 70, 29, 8, 8, 9.8, 8), xy(45, 0.2, 45, -2.3, 70, 40, 10.2, 8, 29, 35), 3},
		// a recess X 8 to 50, Y 18 to 52 round an island of 10 mm at 29, 35
		{"pocket", "plate 1 recess", xy(8.1, 35, 49.9, 35, 29, 18.1, 29, 40.1, 12, 22), xy(29, 35, 29, 39.8, 7.8, 35, 50.2, 35, 29, 52.2), 0},
		// a hatch X 62 to 118, Y 75 to 111 with a ledge of 9 mm, past the edge of the servo opening
		{"rebate", "hatch ledge", xy(62.1, 93, 69, 93, 90, 76, 90, 84), xy(61.8, 93, 75, 93, 90, 93), 0},
		// a groove 3 mm wide at Y 9 from X 20 to 70
		{"slot", "plate 1 groove", xy(45, 9, 45, 10.4, 45, 7.6, 20, 9), xy(45, 10.7, 45, 7.3, 17, 9), 0},
		// a hole of 8 mm at 135, 93
		{"bore", "lead", xy(135, 93, 135, 96.9, 131.1, 93), xy(135, 97.2, 130.8, 93), 0},
		// holes of 1.6 mm
		{"drill", "hatch screws", xy(65, 78, 115, 78, 115, 108, 65, 108, 65.7, 78), xy(66, 78, 90, 93), 0},
		// a line at Y 122, cut 0.4 mm deep by a cone of 60°: 0.46 mm wide
		{"score", "hinge line", xy(31, 122, 31, 122.2, 144, 122), xy(31, 122.4, 31, 121.6, 146, 122), 0},
		// a bay X 60 to 124, Y 18 to 52, broken by 0.3 mm with a cone of 90°
		{"chamfer", "edge", xy(92, 18, 92, 18.2, 60, 35), xy(92, 18.5, 92, 17.5, 92, 35), 0},
		// the same bay on its line, cutter 1 mm
		{"door", "bay door", xy(92, 18, 92, 18.45, 92, 17.55, 124, 35), xy(92, 18.7, 92, 17.3, 92, 35), 6},
		{"onion", "servo", xy(90, 84, 71, 93), xy(90, 93, 90, 82.8), 0},
		// a window X 10 to 60, Y 10 to 34 whose corners are reached
		{"corners", "dog-bone 1 opening 1", xy(10.02, 10.02, 59.98, 33.98, 35, 11), xy(35, 9.8, 9.5, 9.5, 9.3, 11), 3},
		// T-bone: along the longer wall
		{"corners", "T-bone 1 opening 1", xy(10.02, 10.02, 59.98, 33.98, 9.3, 11), xy(9.5, 9.5, 11, 9.3), 3},
		// slots drawn 2 mm wide, cut 2.05 + 0.12 mm: X 26 ± 1.085
		{"fit", "slotted plate 1 opening 2", xy(27.05, 22, 24.95, 22, 26, 12.1), xy(27.12, 22, 24.88, 22, 26, 10.5), 0},
	} {
		t.Run(tc.kind+", "+tc.cut, func(t *testing.T) {
			s := kindScene(t, tc.kind)
			var cut *work.Cut
			for i := range s.Work.Cuts {
				if s.Work.Cuts[i].Name == tc.cut {
					cut = &s.Work.Cuts[i]
				}
			}
			require.NotNil(t, cut)
			v := picture.See(t, s)
			for _, p := range tc.in {
				assert.True(t, v.Kerf(cut.Frame.Apply(p)), "X%g Y%g of the drawing is cut and not shown so", p.X, p.Y)
			}
			for _, p := range tc.out {
				assert.False(t, v.Kerf(cut.Frame.Apply(p)), "X%g Y%g of the drawing is shown as cut", p.X, p.Y)
			}
			near := 0
			for _, q := range v.Tabs() {
				for _, g := range cut.Regions {
					if g.Dist(q) < 0.6 || g.Outer.Dist(q) < 0.6 {
						near++
					}
				}
			}
			assert.GreaterOrEqual(t, near, tc.tabs, "tabs on the outline")
			assert.True(t, v.Says(tc.cut), "the cut is named")
			if !s.Work.Sheet {
				spar := geom.Pt(100, 62) // its edge toward the bay, in the picture or in the inset
				if w := v.Window(); w.Contains(cut.Frame.Apply(spar)) {
					assert.True(t, v.Member(cut.Frame.Apply(spar), 0.1), "the spar stands where it is drawn")
				}
				assert.True(t, v.Member(cut.Frame.Apply(spar), math.Inf(1)), "members are drawn")
			}
		})
		seen[tc.kind] = true
	}
	seen["mark"] = true
	for _, k := range demo.Kinds() {
		assert.True(t, seen[k], "%s has a demo and no picture test", k)
	}
}

// Every stroke of the text is shown, a third of a millimetre wide and no wider.
func TestThePlanViewShowsTheLetters(t *testing.T) {
	s := kindScene(t, "mark")
	v := picture.See(t, s)
	strokes := s.Work.Cuts[0].Chains
	require.NotEmpty(t, strokes)
	for _, c := range strokes {
		for _, e := range c.Segs() {
			side := e.TangentA().Left()
			assert.True(t, v.Kerf(e.Mid()), "%v", e.Mid())
			far := e.Mid().Add(side.Mul(0.25))
			alone := true
			for _, o := range strokes {
				for _, f := range o.Segs() {
					alone = alone && f.Dist(far) > 0.2
				}
			}
			assert.False(t, alone && v.Kerf(far), "0.15 mm deep, a cone of 60° cuts 0.17 mm wide: closed form")
		}
	}
}
