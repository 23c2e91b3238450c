package shop_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/shop"
)

func TestLengthsAreReadInTheirUnits(t *testing.T) {
	for s, want := range map[string]float64{
		"3 mm": 3, "3": 3, "3.0mm": 3, "  2.5  mm ": 2.5, "-1.5": -1.5, "+2": 2, ".5": 0.5, "1e1 mm": 10,
		"1/8 in": 3.175, "0.25 in": 6.35, "1 1/4 in": 31.75, "-1 1/4 in": -31.75, "1/8\"": 3.175, "1 inch": 25.4, "2 IN": 50.8,
		"2 cm": 20, "0.5 m": 500, "50 um": 0.05, "50 µm": 0.05, "40 thou": 1.016, "10 mil": 0.254, "1 ft": 304.8, "0": 0,
	} { // 25.4 mm per inch, NIST SP 811, appendix B
		got, err := shop.ParseLength(s)
		require.NoError(t, err, s)
		assert.InDelta(t, want, got, 1e-12, s)
	}
}

func TestWhatIsNoLengthIsRefused(t *testing.T) {
	for _, s := range []string{"", "mm", "in", "NaN", "nan mm", "inf", "+Inf mm", "-inf", "infinity in", "3 furlongs", "3 mmm", "1/0 in",
		"1/ in", "/8 in", "1 2 in", "1 1/4 1/8 in", "1.5 1/4 in", "1/8/2 in", "0x10 mm", "1_000", "1e400", "1e7", "1e6 m", "--3", "+-3", "3,5 mm", "e3", "٣ mm", "1/-8 in", "- "} {
		_, err := shop.ParseLength(s)
		assert.Error(t, err, "%q", s)
	}
}

func TestALengthReadsWhatItWrites(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := shop.Length(rapid.Float64Range(-1e6, 1e6).Draw(t, "mm"))
		b, err := l.MarshalText()
		require.NoError(t, err)
		var back shop.Length
		require.NoError(t, back.UnmarshalText(b))
		assert.Equal(t, l, back)
		assert.Equal(t, float64(l), back.MM())
	})
	_, err := shop.Length(math.NaN()).MarshalText()
	assert.Error(t, err)
	var l shop.Length
	assert.Error(t, l.UnmarshalText([]byte("wide")))
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{"1 1/4 in", "3 mm", "-0.5", "1/0", "NaN", "\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := shop.ParseLength(s)
		if err == nil && !(math.Abs(v) <= 1e6) {
			t.Fatalf("%q gives %v", s, v)
		}
	})
}
