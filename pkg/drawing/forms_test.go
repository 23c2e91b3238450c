package drawing

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
)

// lines puts groups one a line, as in a file. A tilde stands for a blank.
func lines(groups string) string {
	return strings.ReplaceAll(strings.Join(strings.Fields(groups), "\n"), "~", " ") + "\n"
}

// What files of every age and origin hold beside the geometry (DXF reference: "DXF
// File Structure", "Group Codes", $DWGCODEPAGE; layer names decoded by hand from the
// tables of the code pages).
func TestFilesOfEveryFormAreRead(t *testing.T) {
	const circle = "0 CIRCLE 8 %s 10 5 20 5 40 2"
	head := func(version, page string) string {
		return "0 SECTION 2 HEADER 9 $ACADVER 1 " + version + " 9 $DWGCODEPAGE 3 " + page + " 9 $INSUNITS 70 4 0 ENDSEC "
	}
	body := func(layer string) string {
		return "0 SECTION 2 ENTITIES " + fmt.Sprintf(circle, layer) + " 0 ENDSEC 0 EOF"
	}
	for _, tc := range []struct {
		fact, src, layer string
	}{
		{"R10, entities alone", body("A"), "A"},
		{"R10 with its version", head("AC1006", "ascii") + body("A"), "A"},
		{"R12, code page 850: ö is 94", head("AC1009", "dos850") + body("H\x94he"), "Höhe"},
		{"R14, code page 1250: Ł is A3", head("AC1014", "ANSI_1250") + body("\xa3"), "Ł"},
		{"2000, code page 1251: Д is C4", head("AC1015", "ANSI_1251") + body("\xc4"), "Д"},
		{"2000, code page 932: 翼 is 97 83", head("AC1015", "ANSI_932") + body("\x97\x83"), "翼"},
		{"2004, code page 936: 翼 is D2 ED", head("AC1018", "ANSI_936") + body("\xd2\xed"), "翼"},
		{"2004, no code page, Windows-1252: ü is FC", head("AC1018", "unknown") + body("\xfc"), "ü"},
		{"2007, UTF-8 whatever the code page says", head("AC1021", "ANSI_1252") + body("Größe"), "Größe"},
		{"2018, UTF-8", head("AC1032", "ANSI_1252") + body("翼"), "翼"},
		{`\U+XXXX`, head("AC1015", "ANSI_1252") + body(`Gr\U+00F6\U+00DFe`), "Größe"},
		{`\M+1XXXX, a two-byte character of page 932`, head("AC1012", "ANSI_1252") + body(`\M+19783`), "翼"},
		{"UTF-8 with a byte order mark", "\xEF\xBB\xBF" + head("AC1021", "ANSI_1252") + body("Ä"), "Ä"},
		{"comments", "999 made~by~hand " + head("AC1015", "ANSI_1252") + "999 here~too " + body("A"), "A"},
		{"sections that nobody knows", head("AC1027", "ANSI_1252") + "0 SECTION 2 ACDSDATA 70 2 0 ACDSSCHEMA 90 0 0 ENDSEC 0 SECTION 2 THUMBNAILIMAGE 90 4 310 00FF 0 ENDSEC " + body("A"), "A"},
		{"data after EOF", head("AC1009", "ascii") + body("A") + " trash 1 2", "A"},
		{"application groups and extended data", head("AC1015", "ANSI_1252") +
			"0 SECTION 2 ENTITIES 0 CIRCLE 102 {ACAD_REACTORS 330 1F 40 9 102 } 8 A 10 5 20 5 40 2 1001 APP 1010 99 1020 99 1040 99 0 ENDSEC 0 EOF", "A"},
		{"an embedded object", head("AC1032", "ANSI_1252") +
			"0 SECTION 2 ENTITIES 0 CIRCLE 8 A 10 5 20 5 40 2 101 Embedded~Object 10 99 20 99 40 99 0 ENDSEC 0 EOF", "A"},
	} {
		ends := map[string]string{"LF": "\n", "CRLF": "\r\n", "CR": "\r"}
		for _, name := range []string{"LF", "CRLF", "CR"} {
			t.Run(tc.fact+", "+name, func(t *testing.T) {
				d, found := Read(strings.NewReader(strings.ReplaceAll(lines(tc.src), "\n", ends[name])), "a.dxf", Options{Units: "mm"})
				require.False(t, found.Blocks(), "%v", found)
				require.Len(t, d.Outlines, 1, "%v", found)
				assert.Equal(t, tc.layer, d.Outlines[0].Layer)
				assert.InDelta(t, 4*math.Pi, d.Outlines[0].Region.Area(), 1e-9, "mm²; closed form")
				assert.InDelta(t, 3, d.Bounds.Min.X, 1e-9, "mm")
			})
		}
	}
}

// A line may be as long as it likes.
func TestALongLineIsRead(t *testing.T) {
	d, found := readText(dxfOf("0 TEXT 8 A 10 0 20 0 1 "+strings.Repeat("x", 300_000), "0 CIRCLE 8 A 10 5 20 5 40 2"), Options{})
	assert.False(t, found.Blocks(), "%v", found)
	require.Len(t, d.Labels, 1)
	assert.Len(t, d.Labels[0].Text, 300_000)
	assert.Len(t, d.Outlines, 1)
}

// Every kind of entity that holds geometry, with what it must come to (closed forms,
// or the source named).
func TestEveryKindOfEntityHasItsMeasure(t *testing.T) {
	block := func(entities, insert string) string {
		return lines("0 SECTION 2 BLOCKS 0 BLOCK 2 B 10 1 20 2 "+entities+" 0 ENDBLK 0 ENDSEC") + dxfOf(insert)
	}
	for _, tc := range []struct {
		fact, src string
		o         Options
		area      float64 // of all outlines, mm²
		length    float64 // of everything, mm
		points    int
		tol       float64
		code      string
	}{
		{fact: "LINE", src: dxfOf("0 LINE 8 A 10 0 20 0 11 3 21 4"), length: 5},
		{fact: "ARC", src: dxfOf("0 ARC 8 A 10 0 20 0 40 10 50 350 51 20"), length: 10 * math.Pi / 6},
		{fact: "ARC facing down", src: dxfOf("0 ARC 8 A 10 -50 20 0 40 10 50 90 51 270 230 -1"), length: 10 * math.Pi},
		{fact: "CIRCLE", src: dxfOf("0 CIRCLE 8 A 10 0 20 0 40 10"), area: 100 * math.Pi, length: 20 * math.Pi},
		// Perimeter by the arithmetic-geometric mean (closed form).
		{fact: "ELLIPSE", src: dxfOf("0 ELLIPSE 8 A 10 0 20 0 11 3 21 0 40 0.66666666666666667"), area: 6 * math.Pi, length: 15.86543958929059, tol: 0.005},
		// Bulge 1 is half a circle (DXF reference, VERTEX): a slot of 20 by 10.
		{fact: "LWPOLYLINE", src: dxfOf("0 LWPOLYLINE 8 A 70 129 10 0 20 0 10 10 20 0 42 1 10 10 20 10 10 0 20 10 42 1"), area: 100 + 25*math.Pi, length: 20 + 10*math.Pi},
		{fact: "LWPOLYLINE that lost a vertex", src: dxfOf("0 LWPOLYLINE 8 A 90 4 70 1 10 0 20 0 10 10 20 0 10 10 20 10"), code: "entity-broken"},
		{fact: "LWPOLYLINE with a vertex too many", src: dxfOf("0 LWPOLYLINE 8 A 90 2 70 1 10 0 20 0 10 10 20 0 10 10 20 10"), code: "entity-broken"},
		{fact: "LWPOLYLINE, its band", src: dxfOf("0 LWPOLYLINE 8 A 70 0 43 2 10 0 20 0 10 10 20 0"), o: Options{WideOutlines: true}, area: 20, length: 24},
		{fact: "LWPOLYLINE, its centre line", src: dxfOf("0 LWPOLYLINE 8 A 70 0 43 2 10 0 20 0 10 10 20 0"), length: 10, code: "polyline-wide"},
		{fact: "POLYLINE in space, flat", src: dxfOf("0 POLYLINE 8 A 66 1 70 9 0 VERTEX 8 A 10 0 20 0 30 5 0 VERTEX 8 A 10 4 20 0 30 5 0 VERTEX 8 A 10 4 20 3 30 5 0 SEQEND"), area: 6, length: 12},
		{fact: "POLYLINE in space, not flat", src: dxfOf("0 POLYLINE 8 A 66 1 70 8 0 VERTEX 8 A 10 0 20 0 30 5 0 VERTEX 8 A 10 4 20 0 30 6 0 SEQEND"), code: "entity-not-flat"},
		{fact: "POLYLINE, spline frame skipped", src: dxfOf("0 POLYLINE 8 A 66 1 70 4 0 VERTEX 8 A 70 16 10 0 20 99 0 VERTEX 8 A 70 8 10 0 20 0 0 VERTEX 8 A 70 8 10 4 20 3 0 SEQEND"), length: 5},
		{fact: "POLYLINE, mesh refused", src: dxfOf("0 POLYLINE 8 A 66 1 70 16 71 1 72 2 0 VERTEX 8 A 70 64 10 0 20 0 0 VERTEX 8 A 70 64 10 4 20 3 0 SEQEND"), code: "entity-not-flat"},
		// A full circle of nine points (The NURBS Book, 2nd edition, section 7.5).
		{fact: "SPLINE, rational", src: dxfOf("0 SPLINE 8 A 70 13 71 2 40 0 40 0 40 0 40 1 40 1 40 2 40 2 40 3 40 3 40 4 40 4 40 4 " +
			"41 1 41 0.70710678118654752 41 1 41 0.70710678118654752 41 1 41 0.70710678118654752 41 1 41 0.70710678118654752 41 1 " +
			"10 5 20 0 10 5 20 5 10 0 20 5 10 -5 20 5 10 -5 20 0 10 -5 20 -5 10 0 20 -5 10 5 20 -5 10 5 20 0"), area: 25 * math.Pi, length: 10 * math.Pi, tol: 0.03},
		// A closed uniform cubic without clamped ends: the square of control points of side 6
		// holds what periodicArea works out.
		{fact: "SPLINE, periodic", src: dxfOf("0 SPLINE 8 A 70 11 71 3 40 -3 40 -2 40 -1 40 0 40 1 40 2 40 3 40 4 40 5 40 6 40 7 " +
			"10 0 20 0 10 6 20 0 10 6 20 6 10 0 20 6 10 0 20 0 10 6 20 0 10 6 20 6"), area: periodicArea(6), tol: 0.03},
		{fact: "SPLINE, by its points", src: dxfOf("0 SPLINE 8 A 71 3 11 0 21 0 11 3 21 4"), length: 5, code: "spline-by-points"},
		{fact: "SPLINE that lost a point to pass", src: dxfOf("0 SPLINE 8 A 71 3 74 3 11 0 21 0 11 3 21 4"), code: "entity-broken"},
		{fact: "INSERT scaled and turned", src: block("0 LINE 8 A 10 1 20 2 11 4 21 6", "0 INSERT 8 0 2 B 10 50 20 0 41 2 42 2 50 30"), length: 10},
		{fact: "INSERT mirrored", src: block("0 CIRCLE 8 A 10 2 20 2 40 1", "0 INSERT 8 0 2 b 10 50 20 0 41 -1 42 1"), area: math.Pi, length: 2 * math.Pi},
		{fact: "INSERT array", src: block("0 CIRCLE 8 A 10 2 20 2 40 1", "0 INSERT 8 0 2 B 10 50 20 0 70 3 71 2 44 10 45 10"), area: 6 * math.Pi, length: 12 * math.Pi},
		{fact: "INSERT, unequal scales make an ellipse", src: block("0 CIRCLE 8 A 10 1 20 2 40 1", "0 INSERT 8 0 2 B 10 50 20 0 41 3 42 2"), area: 6 * math.Pi, length: 15.86543958929059, tol: 0.005},
		{fact: "HATCH on request", src: dxfOf("0 HATCH 8 A 91 1 92 2 72 0 73 1 93 3 10 0 20 0 10 4 20 0 10 4 20 3 97 0"), o: Options{Hatches: true}, area: 6, length: 12},
		{fact: "SOLID", src: dxfOf("0 SOLID 8 A 10 0 20 0 11 4 21 0 12 0 22 3 13 4 23 3"), area: 12, length: 14},
		{fact: "TRACE of three corners", src: dxfOf("0 TRACE 8 A 10 0 20 0 11 4 21 0 12 4 22 3 13 4 23 3"), area: 6, length: 12},
		{fact: "POINT", src: dxfOf("0 POINT 8 A 10 1 20 2"), points: 1},
		{fact: "a tilted plane", src: dxfOf("0 CIRCLE 8 A 10 0 20 0 40 10 210 0 220 1 230 0"), code: "entity-not-flat"},
		{fact: "paper space", src: dxfOf("0 LINE 8 A 67 1 10 0 20 0 11 3 21 4"), code: "hidden-not-read"},
		{fact: "paper space on request", src: dxfOf("0 LINE 8 A 67 1 10 0 20 0 11 3 21 4"), o: Options{Paper: true}, length: 5},
		{fact: "invisible on request", src: dxfOf("0 LINE 8 A 60 1 10 0 20 0 11 3 21 4"), o: Options{Hidden: true}, length: 5},
		{fact: "VIEWPORT", src: dxfOf("0 VIEWPORT 8 A 10 0 20 0 40 10", "0 LINE 8 A 10 0 20 0 11 3 21 4"), length: 5, code: "entity-ignored"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			d, found := readText(tc.src, tc.o)
			area := 0.0
			for _, o := range d.Outlines {
				area += o.Region.Area()
			}
			tol := math.Max(tc.tol, 1e-9)
			assert.InDelta(t, tc.area, area, tol, "mm², findings %v", found)
			if tc.length > 0 || tc.area == 0 {
				assert.InDelta(t, tc.length, d.Length, tol, "mm")
			}
			assert.Len(t, d.Points, tc.points)
			if tc.code != "" {
				assert.True(t, found.Has(tc.code), "%v", found)
			} else {
				assert.False(t, found.Has("entity-broken") || found.Has("entity-unread"), "%v", found)
			}
		})
	}
}

// periodicArea is the area in a closed uniform cubic over a square of control points
// of side a: half the integral of x dy - y dx over one segment, four times, by Simpson's
// rule over so many steps that nothing is left (the integrand is a polynomial).
func periodicArea(a float64) float64 {
	at := func(t float64) (x, y, dx, dy float64) {
		b := [4]float64{(1 - t) * (1 - t) * (1 - t) / 6, (3*t*t*t - 6*t*t + 4) / 6, (-3*t*t*t + 3*t*t + 3*t + 1) / 6, t * t * t / 6}
		c := [4]float64{-(1 - t) * (1 - t) / 2, (9*t*t - 12*t) / 6, (-9*t*t + 6*t + 3) / 6, t * t / 2}
		px, py := [4]float64{0, a, a, 0}, [4]float64{0, 0, a, a}
		for i := range 4 {
			x, y = x+b[i]*px[i], y+b[i]*py[i]
			dx, dy = dx+c[i]*px[i], dy+c[i]*py[i]
		}
		return x - a/2, y - a/2, dx, dy
	}
	sum, n := 0.0, 200
	for i := 0; i <= n; i++ {
		x, y, dx, dy := at(float64(i) / float64(n))
		w := 2.0 + 2*float64(i%2)
		if i == 0 || i == n {
			w = 1
		}
		sum += w * (x*dy - y*dx)
	}
	return 4 * sum / float64(3*n) / 2
}

// Blocks that hold each other are refused, whichever comes first.
func TestBlocksInARingAreRefused(t *testing.T) {
	src := lines("0 SECTION 2 BLOCKS 0 BLOCK 2 A 0 INSERT 8 0 2 B 10 0 20 0 0 ENDBLK 0 BLOCK 2 B 0 CIRCLE 8 0 10 0 20 0 40 1 0 INSERT 8 0 2 A 10 0 20 0 0 ENDBLK 0 ENDSEC")
	d, found := readText(src+dxfOf("0 INSERT 8 X 2 B 10 0 20 0"), Options{})
	assert.True(t, found.Has("block-cycle"))
	assert.Equal(t, diag.Stop, found.Worst())
	assert.Empty(t, d.Outlines, "nothing of such a drawing is trusted")
}
