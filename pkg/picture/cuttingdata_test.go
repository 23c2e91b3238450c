package picture_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/picture"
)

// What a shop asks of the figures stands on the run sheet of the small demo jobs.
func TestTheRunSheetSaysTheFigures(t *testing.T) {
	for _, tc := range []struct {
		kind string
		want []string
	}{
		{"pocket", []string{"plate 1 recess", "k_c, N/mm²", "800", "N, sharp / dull", "f 0.050", "burr-2-coated cuts ", "blunt after about 50 m", "against, mm", "34 of 409"}},
		{"fit", []string{"H13", "h13", "+180 / +0", "+0 / -390", "tab of 2.05 mm", "lost motion", "6.000"}},
		{"opening", []string{"f_z 0.030", "carbide-2 cuts 0."}},
		{"drill", []string{"hatch screws", "f 0.0"}},
	} {
		text := picture.RunSheetText(t, kindScene(t, tc.kind))
		for _, w := range tc.want {
			assert.Contains(t, text, w, tc.kind)
		}
	}
}
