package drawing

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
)

// blocked is a file with blocks, tables and entities, all in words.
func blocked(tables, blocks string, entities ...string) string {
	words := "0 SECTION 2 TABLES 0 TABLE 2 LAYER " + tables + " 0 ENDTAB 0 ENDSEC 0 SECTION 2 BLOCKS " + blocks + " 0 ENDSEC"
	return strings.Join(strings.Fields(words), "\n") + "\n" + dxfOf(entities...)
}

// What a block holds and cannot be read is missing where the block is put: on the
// layer of the reference when it lies on layer 0 of the block.
func TestWhatABlockLacksIsMissingWhereItIsPut(t *testing.T) {
	block := func(lack string) string {
		return "0 BLOCK 2 B 10 5 20 0 0 CIRCLE 8 0 10 5 20 0 40 3 " + lack + " 0 ENDBLK"
	}
	unread := "0 3DSOLID 5 A7 8 0"
	for _, tc := range []struct {
		fact, lack, code, layer string
		trusted                 string
	}{
		{"on layer 0", unread, "entity-unread", "SPAR", "OTHER"},
		{"on a layer of its own", "0 3DSOLID 8 OTHER 0 CIRCLE 8 OTHER 10 50 20 0 40 1", "entity-unread", "OTHER", "SPAR"},
		{"a tilted arc", "0 ARC 8 0 10 0 20 0 40 5 50 0 51 90 210 1 220 0 230 0", "entity-not-flat", "SPAR", "OTHER"},
		{"a circle without radius", "0 CIRCLE 8 0 10 1 20 2", "entity-broken", "SPAR", "OTHER"},
		{"a block in a block that lacks it", "0 INSERT 8 0 2 C 10 0 20 0 0 ENDBLK 0 BLOCK 2 C 0 LINE 8 0 10 0 20 0 11 90 21 9 " + unread, "entity-unread", "SPAR", "OTHER"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			d, found := readText(blocked("", block(tc.lack), "0 INSERT 8 SPAR 2 B 10 9 20 9", "0 CIRCLE 8 OTHER 10 90 20 90 40 4"), Options{})
			assert.True(t, found.Has(tc.code), "%v", found)
			_, f := d.Layer(tc.layer)
			require.NotNil(t, f, "the layer is not to be trusted")
			assert.Equal(t, tc.code, f.Code)
			assert.Equal(t, diag.Stop, f.Severity)
			_, f = d.Layer(tc.trusted)
			assert.Nil(t, f, "%v", f)
		})
	}
	t.Run("a block that is put nowhere lacks nothing", func(t *testing.T) {
		d, found := readText(blocked("", block(unread), "0 CIRCLE 8 SPAR 10 90 20 90 40 4"), Options{})
		assert.False(t, found.Has("entity-unread"), "%v", found)
		_, f := d.Layer("SPAR")
		assert.Nil(t, f)
	})
	t.Run("its place is where it was put", func(t *testing.T) {
		_, found := readText(blocked("", block("0 ARC 8 0 10 15 20 0 40 5 50 9 51 9"), "0 INSERT 8 SPAR 2 B 10 100 20 0 41 2 42 2 50 90"), Options{})
		for _, f := range found {
			if f.Code == "arc-without-sweep" {
				require.NotNil(t, f.At[0].Drawing)
				assert.InDelta(t, 100, f.At[0].Drawing[0], 1e-9, "mm")
				assert.InDelta(t, 20, f.At[0].Drawing[1], 1e-9, "mm")
				return
			}
		}
		t.Fatalf("not told: %v", found)
	})
}

// A layer that is frozen hides what its references hold, whatever layer that is on;
// one that is off hides only what lies on it.
func TestAReferenceOnAFrozenLayerIsNotRead(t *testing.T) {
	block := "0 BLOCK 2 B 0 CIRCLE 8 CUT 10 5 20 0 40 3 0 ENDBLK"
	layers := "0 LAYER 2 ICE 70 1 0 LAYER 2 DARK 62 -7"
	for _, tc := range []struct {
		fact, on string
		o        Options
		outlines int
	}{
		{"frozen", "ICE", Options{}, 0},
		{"frozen and asked for", "ICE", Options{Hidden: true}, 1},
		{"off", "DARK", Options{}, 1},
		{"shown", "BRIGHT", Options{}, 1},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			d, found := readText(blocked(layers, block, "0 INSERT 8 "+tc.on+" 2 B 10 0 20 0", "0 CIRCLE 8 X 10 90 20 0 40 1"), tc.o)
			assert.Len(t, d.Outlines, tc.outlines+1, "%v", found)
			if tc.outlines == 0 {
				c, _ := d.Layer("CUT")
				assert.Equal(t, 1, c.Layer.Hidden, "what is missing on a layer is counted there")
			}
			assert.Equal(t, tc.outlines == 0, found.Has("hidden-not-read"), "%v", found)
		})
	}
}

// What references draw is bounded, and the one that draws most is named.
func TestReferencesThatDrawWithoutEndAreRefusedByName(t *testing.T) {
	block := "0 BLOCK 2 HOLES 0 CIRCLE 8 0 10 0 20 0 40 .1 0 ENDBLK 0 BLOCK 2 MANY 0 INSERT 8 0 2 HOLES 70 600 44 1 0 ENDBLK"
	few := "0 INSERT 5 11 8 A 2 HOLES 10 -9 20 0 70 2 71 2 44 1 45 1"
	for _, tc := range []struct{ fact, insert, message string }{
		{"rows and columns", "0 INSERT 5 2F 8 PLATE 2 HOLES 10 0 20 0 70 700 71 600 44 1 45 1", "array of 700 × 600 of block \"HOLES\""},
		{"blocks in blocks", "0 INSERT 5 2F 8 PLATE 2 MANY 10 0 20 0 70 1 71 600 45 1", "array of 1 × 600 of block \"MANY\""},
		{"counts that no integer holds", "0 INSERT 5 2F 8 PLATE 2 HOLES 10 0 20 0 70 4294967296 71 4294967296 44 1 45 1", "of block \"HOLES\""},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			_, found := readText(blocked("", block, few, tc.insert, few), Options{})
			for _, f := range found {
				if f.Code == "drawing-too-large" {
					assert.Contains(t, f.Message, tc.message)
					assert.Equal(t, diag.Stop, f.Severity)
					assert.Equal(t, "PLATE", f.At[0].Layer)
					assert.Equal(t, "2F", f.At[0].Handle)
					assert.NotZero(t, f.At[0].Line)
					return
				}
			}
			t.Fatalf("not refused: %v", found)
		})
	}
	t.Run("a plate of 250 × 250 holes is read", func(t *testing.T) {
		d, found := readText(blocked("", block, "0 INSERT 8 PLATE 2 HOLES 10 0 20 0 70 250 71 250 44 1 45 1"), Options{})
		assert.False(t, found.Blocks(), "%v", found)
		assert.Len(t, d.Outlines, 250*250)
	})
	t.Run("so are as many references as the file has room for", func(t *testing.T) {
		var refs []string
		for i := range 20_000 {
			refs = append(refs, fmt.Sprintf("0 INSERT 8 PLATE 2 HOLES 10 %d 20 %d", i%200, i/200))
		}
		d, found := readText(blocked("", block, refs...), Options{})
		assert.False(t, found.Blocks(), "%v", found)
		assert.Len(t, d.Outlines, 20_000)
	})
}
