package skin_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/skin"
)

func naca(t require.TestingT, code string) skin.Airfoil {
	a, found := skin.Naca(code, false)
	require.Empty(t, found)
	return a
}

func TestFourDigitSectionsAgreeWithTheTables(t *testing.T) {
	// Public Domain Aeronautical Software (R. Carmichael), tables from the
	// appendices of Abbott and von Doenhoff, Theory of Airfoil Sections,
	// recomputed; per cent of chord, stations and ordinates of upper and lower.
	for _, tc := range []struct {
		code           string
		ux, uy, lx, ly float64
	}{
		{"0012", 1.25, 1.8939, 1.25, -1.8939},
		{"0012", 30, 6.0017, 30, -6.0017},
		{"0012", 90, 1.4477, 90, -1.4477},
		{"2412", 1.0674, 2.0081, 1.4326, -1.7620},
		{"2412", 29.8500, 7.8749, 30.1500, -4.1249},
		{"2412", 90.0803, 2.0566, 89.9197, -0.8344},
		{"4412", 2.0181, 3.0543, 2.9819, -2.0856},
		{"4412", 19.4291, 8.7091, 20.5709, -2.7091},
		{"4412", 70.2437, 6.6558, 69.7563, -0.6558},
	} {
		t.Run(fmt.Sprintf("%s at %g %%", tc.code, tc.ux), func(t *testing.T) {
			a := naca(t, tc.code)
			assert.InDelta(t, tc.uy, 100*a.Upper(tc.ux/100), 1.5e-4, "% chord")
			assert.InDelta(t, tc.ly, 100*a.Lower(tc.lx/100), 1.5e-4, "% chord")
		})
	}
}

func TestFiveDigitMeanLines(t *testing.T) {
	for _, tc := range []struct {
		fact, code string
		x, want    float64
	}{
		// Report 824 / TM 4741: the 230 mean line has its highest camber, 1.84 %
		// chord, at 15 % chord.
		{"camber of the 230 line at 15 %", "23012", 0.15, 0.0184},
		// twice the design lift, twice the camber; closed form
		{"camber of the 430 line at 15 %", "43012", 0.15, 0.0368},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			a := naca(t, tc.code)
			assert.InDelta(t, tc.want, (a.Upper(tc.x)+a.Lower(tc.x))/2, 3e-4)
		})
	}
	plain, reflexed := naca(t, "23012"), naca(t, "23112")
	camber := func(a skin.Airfoil, x float64) float64 { return (a.Upper(x) + a.Lower(x)) / 2 }
	assert.Greater(t, camber(plain, 0.9), 0.0)
	assert.Less(t, camber(reflexed, 0.95), camber(plain, 0.95), "the tail of a reflexed line turns up from below the plain one")
	assert.InDelta(t, 0, camber(reflexed, 1), 2e-4, "and ends on the chord")
}

func TestUnknownSectionsAreRefused(t *testing.T) {
	for _, code := range []string{"", "12", "abcd", "2400", "2012", "123456", "29912", "-412", "03012", "4٤12"} {
		_, found := skin.Naca(code, false)
		require.Len(t, found, 1, "%q", code)
		assert.Equal(t, "foil-unknown", found[0].Code)
	}
}

func TestClosedTrailingEdge(t *testing.T) {
	// 0.1036 for 0.1015: the half thickness at the tail is 0; closed form.
	open, closed := naca(t, "0012"), func() skin.Airfoil { a, _ := skin.Naca("0012", true); return a }()
	assert.InDelta(t, 0.00126, open.Upper(1), 1e-6)
	assert.InDelta(t, 0, closed.Upper(1), 1e-6)
}

// selig writes a section as one closed run.
func selig(a skin.Airfoil, n int) string {
	var b strings.Builder
	b.WriteString("  A SECTION\n")
	for i := n; i >= 0; i-- {
		x := math.Pow(math.Sin(float64(i)/float64(n)*math.Pi/2), 2)
		fmt.Fprintf(&b, " %.7f  %.7f\n", x, a.Upper(x))
	}
	for i := 1; i <= n; i++ {
		x := math.Pow(math.Sin(float64(i)/float64(n)*math.Pi/2), 2)
		fmt.Fprintf(&b, " %.7f  %.7f\n", x, a.Lower(x))
	}
	return b.String()
}

// lednicer writes it as two blocks with counts.
func lednicer(a skin.Airfoil, n int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "A SECTION\n %d. %d.\n", n+1, n+1)
	for _, f := range []func(float64) float64{a.Upper, a.Lower} {
		b.WriteString("\n")
		for i := range n + 1 {
			x := math.Pow(math.Sin(float64(i)/float64(n)*math.Pi/2), 2)
			fmt.Fprintf(&b, " (%.7f) %.7f\n", x, f(x))
		}
	}
	return strings.TrimRight(b.String(), "\n")
}

func TestCoordinateFilesInBothLayouts(t *testing.T) {
	want := naca(t, "0012")
	cambered := naca(t, "23012")
	lines := strings.Split(strings.TrimSpace(selig(cambered, 40)), "\n")
	var under []string
	for i := len(lines) - 1; i > 0; i-- {
		under = append(under, lines[i])
	}
	for _, tc := range []struct {
		fact, text string
		want       skin.Airfoil
	}{
		{"one block, upper first", selig(want, 60), want},
		{"two blocks with counts", lednicer(want, 60), want},
		{"one block, lower first, no title", strings.Join(under, "\r\n"), cambered},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			got, found := skin.ReadAirfoil(strings.NewReader(tc.text), "foil.dat")
			require.Empty(t, found)
			for x := 0.01; x <= 1; x += 0.01 {
				assert.InDelta(t, tc.want.Upper(x), got.Upper(x), 5e-5, "upper at %g", x)
				assert.InDelta(t, tc.want.Lower(x), got.Lower(x), 5e-5, "lower at %g", x)
			}
		})
	}
}

func TestBrokenCoordinateFiles(t *testing.T) {
	good := selig(naca(t, "0012"), 30)
	for _, tc := range []struct{ fact, text, code string }{
		{"empty", "", "foil-points"},
		{"a title alone", "name", "foil-points"},
		{"a line of words in the middle", strings.Replace(good, " 0.5000000", " half", 1), "foil-read"},
		{"chord of 100", strings.ReplaceAll(lednicer(naca(t, "0012"), 20), " 21. 21.", " 21. 22."), "foil-scale"},
		{"not a number", strings.Replace(good, " 0.5000000", " NaN", 1), "foil-read"},
		{"both surfaces the same", "flat\n1 0\n.8 0\n.6 0\n.4 0\n.2 0\n.1 0\n0 0\n.1 0\n.2 0\n.4 0\n.6 0\n.8 0\n1 0", "foil-order"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			_, found := skin.ReadAirfoil(strings.NewReader(tc.text), "foil.dat")
			require.NotEmpty(t, found)
			assert.Equal(t, tc.code, found[0].Code, "%v", found)
			assert.True(t, found[0].Input)
		})
	}
}

func FuzzReadAirfoil(f *testing.F) {
	a, _ := skin.Naca("2412", false)
	f.Add(selig(a, 12))
	f.Add(lednicer(a, 12))
	f.Fuzz(func(t *testing.T, text string) {
		got, found := skin.ReadAirfoil(strings.NewReader(text), "f")
		if !found.Blocks() {
			for x := 0.0; x <= 1; x += 0.05 {
				assert.False(t, math.IsNaN(got.Upper(x)) || math.IsNaN(got.Lower(x)))
			}
		}
	})
}

func TestWholeTablesOfTheCorpus(t *testing.T) {
	dir := os.Getenv("SPARCLEAR_CORPUS")
	if dir == "" {
		t.Skip("SPARCLEAR_CORPUS is not set")
	}
	f, err := os.Open(filepath.Join(dir, "datasets", "naca", "naca4_sections_perpendicular.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	n := 0
	for _, r := range rows[1:] {
		var v [4]float64
		for i := range v {
			v[i], err = strconv.ParseFloat(r[i+1], 64)
			require.NoError(t, err)
		}
		if v[0] < 1.0 || v[0] >= 100 || v[2] >= 100 {
			continue
		}
		a := naca(t, r[0])
		assert.InDelta(t, v[1], 100*a.Upper(v[0]/100), 2e-3, "%s upper at %g", r[0], v[0])
		assert.InDelta(t, v[3], 100*a.Lower(v[2]/100), 2e-3, "%s lower at %g", r[0], v[2])
		n++
	}
	assert.Greater(t, n, 100)
}
