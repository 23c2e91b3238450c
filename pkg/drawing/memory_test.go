package drawing

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/diag"
)

// Files of a quarter of a megabyte that hold as much as fits of one kind of thing, spelt
// as shortly as it can be: what costs most memory per byte. All that is asked for on the
// way is held against 100 times the input (300 where XML is taken apart), which the clock and other programs do not
// change; with SPARCLEAR_LONG what is in use at the height against 20 times.
func TestMemoryStaysUnderTwentyTimesTheInputWhateverItHolds(t *testing.T) {
	entities := func(entity func(i int) string) string {
		var b strings.Builder
		b.WriteString("0\nSECTION\n2\nENTITIES\n")
		for i := 0; b.Len() < 256<<10; i++ {
			b.WriteString(entity(i))
		}
		b.WriteString("0\nENDSEC\n0\nEOF\n")
		return b.String()
	}
	vertices := func(head, vertex string) string { return head + strings.Repeat(vertex, (256<<10)/len(vertex)) }
	for _, tc := range []struct{ fact, src string }{
		{"points", entities(func(i int) string { return fmt.Sprintf("0\nPOINT\n10\n%d\n20\n0\n", i) })},
		{"points in one place", entities(func(int) string { return "0\nPOINT\n10\n1\n20\n0\n" })},
		{"lines that branch", entities(func(i int) string { return fmt.Sprintf("0\nLINE\n10\n0\n20\n0\n11\n%d\n21\n9\n", i) })},
		{"lines end to end", entities(func(i int) string { return fmt.Sprintf("0\nLINE\n10\n%d\n20\n0\n11\n%d\n21\n0\n", i, i+1) })},
		{"loose lines", entities(func(i int) string { return fmt.Sprintf("0\nLINE\n10\n%d\n20\n0\n11\n%d\n21\n5\n", i, i) })},
		{"lines nearly end to end", entities(func(i int) string {
			return fmt.Sprintf("0\nLINE\n10\n%d\n20\n0\n11\n%d.995\n21\n0\n", i, i)
		})},
		{"circles", entities(func(i int) string { return fmt.Sprintf("0\nCIRCLE\n10\n%d\n20\n0\n40\n.1\n", i) })},
		{"circles around each other", entities(func(i int) string {
			return fmt.Sprintf("0\nCIRCLE\n5\nFFFFFFF\n100\nAcDbEntity\n8\n0\n100\nAcDbCircle\n10\n0.0000\n20\n0.0000\n40\n%d\n", i+1)
		})},
		{"circles in one place", entities(func(int) string { return "0\nCIRCLE\n10\n0\n20\n0\n40\n1\n" })},
		{"a layer for each point", entities(func(i int) string { return fmt.Sprintf("0\nPOINT\n8\n%d\n10\n0\n20\n0\n", i) })},
		{"a kind for each entity", entities(func(i int) string { return fmt.Sprintf("0\nX%d\n", i) })},
		{"entities without coordinates", entities(func(int) string { return "0\nLINE\n" })},
		{"texts", entities(func(i int) string { return fmt.Sprintf("0\nTEXT\n1\n%d\n10\n0\n20\n0\n", i) })},
		{"polylines of two vertices", entities(func(i int) string { return fmt.Sprintf("0\nLWPOLYLINE\n10\n%d\n20\n0\n10\n0\n20\n1\n", i) })},
		{"old polylines without vertices", entities(func(int) string { return "0\nPOLYLINE\n" })},
		{"inserts of a block that is missing", entities(func(i int) string { return fmt.Sprintf("0\nINSERT\n2\n%d\n10\n0\n20\n0\n", i) })},
		{"hatches", entities(func(int) string { return "0\nHATCH\n" })},
		{"splines through two points", entities(func(i int) string { return fmt.Sprintf("0\nSPLINE\n11\n%d\n21\n0\n11\n0\n21\n1\n", i) })},
		{"one polyline", "0\nSECTION\n2\nENTITIES\n" + vertices("0\nLWPOLYLINE\n", "10\n1\n20\n2\n10\n2\n20\n2\n") + "0\nENDSEC\n0\nEOF\n"},
		{"one spline", "0\nSECTION\n2\nENTITIES\n" + vertices("0\nSPLINE\n71\n1\n", "10\n1\n20\n2\n40\n0\n") + "0\nENDSEC\n0\nEOF\n"},
		{"one long line", "0\nSECTION\n2\nENTITIES\n" + vertices("0\nTEXT\n1\n", "x") + "\n0\nENDSEC\n0\nEOF\n"},
		{"blocks", "0\nSECTION\n2\nBLOCKS\n" + strings.Repeat("0\nBLOCK\n2\nA\n0\nPOINT\n10\n0\n20\n0\n0\nENDBLK\n", 5000) + "0\nENDSEC\n0\nEOF\n"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			src := []byte(tc.src)
			within(t, 100, src, func() (*Drawing, diag.List) { return Read(bytes.NewReader(src), "much.dxf", Options{Units: "mm"}) })
		})
	}
	for _, tc := range []struct{ fact, piece string }{
		{"lines of a path", "h1v1"}, {"curves of a path", "t1 1"}, {"shapes", `<line x2="1"/>`}, {"groups", "<g>"}, {"empty", "<a/>"},
		{"circles", `<circle r="1"/>`}, {"layers", `<g id="%d"><line x2="1"/></g>`},
	} {
		t.Run("SVG: "+tc.fact, func(t *testing.T) {
			var b strings.Builder
			path := !strings.Contains(tc.piece, "<")
			b.WriteString(`<svg width="100mm" height="100mm" viewBox="0 0 100 100">`)
			if path {
				b.WriteString(`<path d="M0 0`)
			}
			for i := 0; b.Len() < 128<<10; i++ {
				b.WriteString(strings.ReplaceAll(tc.piece, "%d", fmt.Sprint(i)))
			}
			if path {
				b.WriteString(`"/>`)
			}
			b.WriteString("</svg>")
			src := b.String()
			within(t, 300, []byte(src), func() (*Drawing, diag.List) { return ReadSVG(strings.NewReader(src), "much.svg", Options{}) })
		})
	}
}

func within(t *testing.T, times int, src []byte, read func() (*Drawing, diag.List)) {
	t.Helper()
	d, _, asked := asking(read)
	pieces := drawnByFew(t, d, src)
	assert.LessOrEqual(t, asked, uint64(times*len(src)+1<<20+perPiece*pieces), "bytes asked for in all, %d bytes of input, %d pieces", len(src), pieces)
	if os.Getenv("SPARCLEAR_LONG") != "" {
		holdHeight(t, src, pieces, read)
	}
}

// A few bytes that ask for as much as references may draw take no more than what is
// granted to them beyond the file.
func TestWhatAFewBytesDrawIsBounded(t *testing.T) {
	if os.Getenv("SPARCLEAR_LONG") == "" {
		t.Skip("SPARCLEAR_LONG is not set")
	}
	for fact, entity := range map[string]string{
		"loose lines":      "0 LINE 8 0 10 0 20 0 11 1 21 0",
		"lines end to end": "0 LINE 8 0 10 0 20 0 11 3 21 0",
		"lines that cross": "0 LINE 8 0 10 0 20 0 11 9 21 9",
		"circles":          "0 CIRCLE 8 0 10 0 20 0 40 1",
		"points":           "0 POINT 8 0 10 0 20 0",
		"squares":          "0 LWPOLYLINE 8 0 70 1 10 0 20 0 10 1 20 0 10 1 20 1 10 0 20 1",
	} {
		t.Run(fact, func(t *testing.T) {
			for _, times := range []string{"70 9000 71 9000", "70 300 71 300"} { // refused, and nearly all that is granted
				src := blocked("", "0 BLOCK 2 B "+entity+" 0 ENDBLK", "0 INSERT 8 A 2 B 10 0 20 0 44 3 45 3 "+times)
				took := uint64(math.MaxUint64)
				for range 3 { // a collector that lags behind counts what is long free
					took = min(took, heightOf(func() { readText(src, Options{}) }))
				}
				assert.LessOrEqual(t, took, uint64(mostGranted), "bytes, for %d bytes of input", len(src))
				t.Logf("%s: %d MB", times, took>>20)
			}
		})
	}
}
