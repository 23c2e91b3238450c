package touchsim_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/touchsim"
	"sparclear/pkg/geom"
)

func block() touchsim.Work {
	return touchsim.Work{
		Skin:   func(geom.Point) float64 { return 10 },
		Rounds: []touchsim.Round{{At: geom.Pt(20, 0), Diameter: 6, Top: 16}, {At: geom.Pt(40, 0), Diameter: 8, Hole: true}},
		Ball:   1.5,
	}
}

func TestAProbeStopsWhereItTouches(t *testing.T) {
	log, err := block().Run("G0 X5 Y0\nG38.2 Z5 F100\n(MSG,note Z of skin)\nM0\nG0 Z20\nG0 X10 Y0\nG1 Z12 F100\nG38.2 X25 F100\n(MSG,note X of pin)\nM0\nG91\nG1 X-1\nG90\nG0 Z20\nG0 X40 Y0\nG1 Z8\nG38.2 X45\n(MSG,note X of hole)\nM0", [3]float64{0, 0, 20})
	require.NoError(t, err)
	// Pin: 20 − 3 − 1.5; hole: 40 + 4 − 1.5; closed form.
	assert.Equal(t, "X5.000 Y0.000 Z9.999 (skin)\nX15.501 Y0.000 Z12.000 (pin)\nX42.501 Y0.000 Z8.000 (hole)\n", log)
}

func TestADraggedProbeBreaks(t *testing.T) {
	for _, text := range []string{"G1 Z9", "G38.2 Z12", "G0 X10 Z12\nG0 X30", "G0 X40\nG1 Z8\nG1 X43", "G0 X37\nG1 Z8"} {
		_, err := block().Run(text, [3]float64{0, 0, 20})
		assert.Error(t, err, text)
	}
}
