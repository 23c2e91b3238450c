package skin_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/skin"
)

// Decimal commas between commas, under a head of three columns, would be read as
// other numbers: 72,13 and 75,92 and 40,50 as 72, 13 and 75.
func TestMoreFieldsThanNamedColumnsAreRefused(t *testing.T) {
	for _, tc := range []struct {
		text string
		ok   bool
	}{
		{"x,y,z\n72,13,75,92,40,50\n", false},
		{"x,y,z\n72.13,75.92,40.50,left\n", false},
		{"x;y;z\n72,13;75,92;40,50\n", true},
		{"x,y,z,name\n72.13,75.92,40.50,left\n", true},
		{"x y z name\n72.13 75.92 40.50 left of the spar\n", true},
		{"x,y,z,name,remark\n72.13,75.92,40.50,left,dusty\n", true},
	} {
		got, l := skin.ReadHeights(strings.NewReader(tc.text), "h.csv")
		assert.Equal(t, tc.ok, !l.Blocks(), "%q: %v", tc.text, l)
		if tc.ok {
			assert.InDelta(t, 40.5, got[0].Z, 1e-12)
		}
	}
}
