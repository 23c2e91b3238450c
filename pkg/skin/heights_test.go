package skin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/skin"
)

func TestMeasuredHeightsAreReadHoweverTheyAreWritten(t *testing.T) {
	want := []skin.Touch{{X: 10, Y: 20.5, Z: -1.25, Name: "a 1"}, {X: 0.5, Y: -3, Z: 2}}
	for _, tc := range []struct{ fact, text string }{
		{"commas", "10,20.5,-1.25,a 1\n0.5,-3,2\n"},
		{"commas, header, units, blank lines and remarks", "# touched on Monday\n\nX [mm], Y [mm], Z [mm], name\n10 , 20.5 , -1.25 , a 1\n0.5,-3,2,\n"},
		{"columns in another order", "name,z_mm,x_mm,y_mm\na 1,-1.25,10,20.5\n,2,0.5,-3\n"},
		{"semicolons and decimal commas", "x;y;z;name\r\n10;20,5;-1,25;a 1\r\n0,5;-3;2;\r\n"},
		{"tabs", "10\t20.5\t-1.25\ta 1\n0.5\t-3\t2"},
		{"blanks", "10   20.5 -1.25 a 1\n 0.5 -3 2\n"},
		{"blanks and decimal commas", "10 20,5 -1,25 a 1\n0,5 -3 2\n"},
		{"a mark before the first line", "\ufeff10,20.5,-1.25,a 1\n0.5,-3,2\n"},
		{"words of a log", "X10 Y20.5 Z-1.25 (a 1)\nx0.5 y-3. z+2\n"},
		{"exponents", "1e1,205e-1,-1.25,a 1\n5E-1,-3,2\n"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			got, found := skin.ReadHeights(strings.NewReader(tc.text), "heights.csv")
			require.Empty(t, found)
			require.Len(t, got, 2)
			for i := range got {
				assert.Greater(t, got[i].Line, 0)
				got[i].Line = 0
			}
			assert.Equal(t, want, got)
		})
	}
}

func TestUnclearHeightsAreRefusedByNameAndLine(t *testing.T) {
	for _, tc := range []struct {
		fact, text, code string
		line             int
	}{
		{"nothing", "", "heights-empty", 0},
		{"a header alone", "x,y,z\n", "heights-empty", 0},
		{"decimal commas between commas", "1,5,2,5,3,5\n", "heights-decimal", 1},
		{"three digits after every comma", "1,234;5,678;9,012\n", "heights-decimal", 1},
		{"dots and commas", "1.5;2,5;3\n", "heights-decimal", 1},
		{"mils", "x_mil,y_mil,z_mil\n1,2,3\n", "heights-units", 1},
		{"no z", "x,y\n1,2\n", "heights-columns", 1},
		{"two x", "x,y,x,z\n1,2,3,4\n", "heights-columns", 1},
		{"a short line", "1,2,3\n1,2\n", "heights-columns", 2},
		{"a word", "1,2,3\n1,2,deep\n", "heights-field", 2},
		{"no number", "1,2,3\n1,2,NaN\n", "heights-field", 2},
		{"infinite", "1,2,3\n1,Inf,3\n", "heights-field", 2},
		{"beyond a kilometre", "1,2,3\n1,1e7,3\n", "heights-field", 2},
		{"hexadecimal", "1,2,3\n0x10,1,3\n", "heights-field", 2},
		{"a log with a broken line", "X1 Y2\nX1 Y2 Z3\n", "heights-field", 1},
		{"a line without end", strings.Repeat("1", 10_000), "heights-read", 1},
		{"no text", "1,2,3\n\x00\x00\n", "heights-read", 2},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			_, found := skin.ReadHeights(strings.NewReader(tc.text), "heights.csv")
			require.NotEmpty(t, found)
			assert.Equal(t, tc.code, found[0].Code, "%v", found)
			assert.Equal(t, diag.Stop, found[0].Severity)
			assert.True(t, found[0].Input)
			assert.NotEmpty(t, found[0].Help)
			if tc.line > 0 {
				require.NotEmpty(t, found[0].At)
				assert.Equal(t, tc.line, found[0].At[0].Line)
			}
		})
	}
}

func FuzzReadHeights(f *testing.F) {
	for _, s := range []string{"x,y,z\n1,2,3", "1;2,5;3", "X1 Y2 Z3 (a)", "1\t2\t3", "\xff\xfe1", "\"1\",\"2\",\"3\"", ",,\n;;"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, found := skin.ReadHeights(strings.NewReader(text), "f")
		for _, p := range got {
			assert.True(t, math.Abs(p.X)+math.Abs(p.Y)+math.Abs(p.Z) < 3e6)
		}
		if len(got) == 0 {
			assert.NotEmpty(t, found)
		}
	})
}

func TestRepeatabilityIsPooledOverPlaces(t *testing.T) {
	// Two places touched 3 and 2 times: s² = ((0.01² + 0 + 0.01²) + 2·0.02²) / (2 + 1); closed form.
	s, dof := skin.Repeatability([]skin.Touch{
		skin.Tch(0, 0, 1.01), skin.Tch(50, 0, 3.02), skin.Tch(0.02, 0, 1), skin.Tch(0, 0.03, 0.99), skin.Tch(50, 0.01, 2.98), skin.Tch(99, 9, 9)})
	assert.Equal(t, 3, dof)
	assert.InDelta(t, math.Sqrt((2*0.01*0.01+2*0.02*0.02)/3), s, 1e-12, "mm")
	s, dof = skin.Repeatability(nil)
	assert.Zero(t, s)
	assert.Zero(t, dof)
}

func TestATouchOffItsNeighbourhoodIsNamed(t *testing.T) {
	grid := func(off float64) []skin.Touch {
		var out []skin.Touch
		for k := range 20 {
			x, y := float64(k%5)*20, float64(k/5)*20
			out = append(out, skin.Tch(x, y, 12-x*x/1250+0.01*y))
		}
		out[7].Z += off
		out[7].Name = "eighth"
		return out
	}
	assert.Empty(t, skin.Outliers(grid(0), 0), "a round wing of radius 625 mm has none")
	assert.Empty(t, skin.Outliers(grid(0.39), 0))
	for _, off := range []float64{0.42, -0.8, 3} {
		found := skin.Outliers(grid(off), 0)
		require.Len(t, found, 1)
		assert.Equal(t, "height-outlier", found[0].Code)
		assert.Equal(t, diag.Confirm, found[0].Severity)
		assert.Equal(t, "eighth", found[0].Subject)
	}
	_, found := skin.Points(grid(2), skin.Options{})
	assert.True(t, found.Has("height-outlier"))
}

func TestAWrongFigureIsNamed(t *testing.T) {
	grid := func() []skin.Touch {
		var out []skin.Touch
		for k := range 30 {
			x, y := 220+float64(k%6)*20, 80+float64(k/6)*15
			out = append(out, skin.Tch(x, y, 31-(x-270)*(x-270)/3000-(y-110)*(y-110)/1300))
		}
		return out
	}
	for _, tc := range []struct {
		fact, code string
		spoil      func(t []skin.Touch) []skin.Touch
	}{
		{"columns X and Y exchanged", "height-swapped", func(t []skin.Touch) []skin.Touch { t[9].X, t[9].Y = t[9].Y, t[9].X; return t }},
		{"columns X and Z exchanged", "height-swapped", func(t []skin.Touch) []skin.Touch { t[9].X, t[9].Z = t[9].Z, t[9].X; return t }},
		{"columns Y and Z exchanged", "height-swapped", func(t []skin.Touch) []skin.Touch { t[9].Y, t[9].Z = t[9].Z, t[9].Y; return t }},
		{"a digit before the point mistyped", "height-outlier", func(t []skin.Touch) []skin.Touch { t[9].Z++; return t }},
		{"the first digit after the point mistyped by five", "height-outlier", func(t []skin.Touch) []skin.Touch { t[9].Z -= 0.5; return t }},
		{"the place of a height mistyped by 30 mm, on a neighbour's", "height-repeat", func(t []skin.Touch) []skin.Touch { t[2].Y += 30; return t }},
		{"one place touched twice with different heights", "height-repeat", func(t []skin.Touch) []skin.Touch {
			return append(t, skin.Tch(t[9].X, t[9].Y, t[9].Z+0.41))
		}},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			_, found := skin.Points(tc.spoil(grid()), skin.Options{})
			require.Len(t, found, 1, "%v", found)
			assert.Equal(t, tc.code, found[0].Code)
			assert.Equal(t, diag.Confirm, found[0].Severity)
			assert.NotEmpty(t, found[0].At)
		})
	}
	_, found := skin.Points(append(grid(), skin.Tch(220, 80, grid()[0].Z+0.39), skin.Tch(500, 300, 20)), skin.Options{})
	assert.Empty(t, found, "a repeat within the limit, and a lone place that no exchange explains")
}
