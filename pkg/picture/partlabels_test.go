package picture

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

func TestEveryPartHasALabelThatSaysWhatItIs(t *testing.T) {
	s := sheetScene(t)
	w := *s.Work
	w.Parts = append([]work.Part(nil), w.Parts...)
	w.Material.Density, w.Blank = 1550, work.Blank{Name: "offcut 7", Piece: 2, Pieces: 2}
	// A part that lies turned by 30° on a sheet of 0° fibre has it at -30°, which is
	// 150°, of its own drawing; closed form.
	w.Parts[0].Frame = geom.Rigid{Turn: 30 * 3.141592653589793 / 180}
	w.Parts[0].Kind, w.Parts[0].Copy, w.Parts[0].Of, w.Parts[0].Mark, w.Parts[0].Job = "disc", 1, 2, "D", "Fuselage"
	w.Parts[1].Kind, w.Parts[1].Copy = "filler", 3
	s.Work = &w
	text := strings.Join(s.labelSheet().said, "\n")
	for _, want := range []string{"disc\nno. 1 of 2, mark D\ncarbon plate\n2.00 mm thick, 1.0 g\nfibre at 150° of the drawing\nFuselage\nfrom offcut 7, piece 2",
		"filler\nno. 3\n", "fibre at 0° of the drawing\nMade-up sheet: two discs"} {
		assert.Contains(t, text, want)
	}
}

func TestLabelsAreTheSameEveryTimeAndFillPages(t *testing.T) {
	s := sheetScene(t)
	w := *s.Work
	for range 30 {
		w.Parts = append(w.Parts, w.Parts[0])
	}
	s.Work = &w
	a, err := Labels(s)
	require.NoError(t, err)
	b, err := Labels(s)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(a, b))
	assert.Equal(t, 2, s.labelSheet().pdf.PageNo(), "24 to the page")
	_, err = Labels(Scene{})
	assert.Error(t, err)
}

func TestThePlanOfASheetSaysHowItIsUsed(t *testing.T) {
	s := sheetScene(t)
	w := *s.Work
	w.Material.Density, w.Blank = 1550, work.Blank{Name: "offcut 7", Number: 1, Of: 2}
	cost := 8.0
	w.Blank.Cost = &cost
	s.Work = &w
	s.Remnants = []geom.Region{geom.NewRegion(geom.Rect(33, 2, 47, 38))}
	b, err := Plan(s)
	require.NoError(t, err)
	// 2·π·100 mm² of 80 by 40 mm, 2 mm thick: 19.6 %, 1.95 g of 9.92 g; closed form
	for _, want := range []string{"offcut 7 (sheet 1 of 2)", "2 parts take 19.6 %, 1.9 g of 9.9 g", "cost of the parts 1.57 of 8.00", "remnant 1, 5 cm²", "0° fibre, 0° from +X"} {
		assert.Contains(t, string(b), want)
	}
}
