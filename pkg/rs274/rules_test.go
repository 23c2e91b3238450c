package rs274_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/rs274"
)

// Rules of Kramer, Proctor, Messina, The NIST RS274/NGC Interpreter, Version 3,
// NISTIR 6556, 2000; the section stands beside each. Where none does, the rule
// is the grammar of Appendix E or our own refusal.
var broken = []struct {
	fact, text, code string
	line, col        int
}{
	{"line of 257 characters, 3.3", "g1 f1 x1 (" + strings.Repeat("a", 246) + ")\nm2", "rs274-line-long", 1, 257},
	{"a character that is in no word, 3.3", "g0 x1 $\nm2", "rs274-character", 1, 7},
	{"% within a line, 3.1", "g0 x1 %\nm2", "rs274-character", 1, 7},
	{"/ within a line, 3.3", "g0 / x1\nm2", "rs274-character", 1, 4},
	{"E begins no word, Table 3", "g0 x1 e2\nm2", "rs274-letter", 1, 7},
	{"a number with an exponent, E.2", "g0 x1e2\nm2", "rs274-letter", 1, 6},
	{"O begins no word, Table 3", "o100 sub\nm2", "rs274-letter", 1, 1},
	{"a letter without a number, 3.3.2.1", "g0 x\nm2", "rs274-number", 1, 5},
	{"a sign without a digit, 3.3.2.1", "g0 x-\nm2", "rs274-number", 1, 5},
	{"a point without a digit, 3.3.2.1", "g0 x.\nm2", "rs274-number", 1, 5},
	{"two points, 3.3.2.1", "g0 x1.2.3\nm2", "rs274-character", 1, 8},
	{"two signs, 3.3.2.1", "g0 x--1\nm2", "rs274-number", 1, 5},
	{"line number of six digits, 3.3.1", "n000009 g0 x1\nm2", "rs274-line-number", 1, 1},
	{"line number without digits, 3.3.1", "n g0 x1\nm2", "rs274-line-number", 1, 1},
	{"line number that is not first, 3.3.1", "g0 x1 n10\nm2", "rs274-line-number", 1, 7},
	{"line number with a sign, 3.3.1", "n-1 g0 x1\nm2", "rs274-line-number", 1, 1},
	{"comment that is not closed, 3.3.4", "g0 x1 (up\nm2", "rs274-comment-open", 1, 7},
	{"comment within a comment, 3.3.4", "g0 x1 (up (and away))\nm2", "rs274-comment-nested", 1, 11},
	{"control character in a comment, 3.3.4", "g0 x1 (\x07)\nm2", "rs274-comment-character", 1, 8},
	{"two X words, 3.3.5", "g0 x1 x2\nm2", "rs274-word-twice", 1, 7},
	{"two G words of one group, 3.3.5", "g0 g1 x1 f1\nm2", "rs274-group-twice", 1, 4},
	{"two units, 3.3.5", "g20 g21\nm2", "rs274-group-twice", 1, 5},
	{"two non-modal G words, 3.3.5", "g4 g53 p1\nm2", "rs274-group-twice", 1, 4},
	{"two M words of one group, 3.3.5", "m3 m5\nm2", "rs274-group-twice", 1, 4},
	{"five M words, 3.3.5", "m6 m3 m8 m48 m0 t1\nm2", "rs274-many-m", 1, 14},
	{"a G word that there is not, Table 5", "g5 x1\nm2", "rs274-g-code", 1, 1},
	{"G with two decimals, D.8.2", "g1.05 x1\nm2", "rs274-g-code", 1, 1},
	{"negative G, Table 5", "g-1 x1\nm2", "rs274-g-code", 1, 1},
	{"an M word that there is not, Table 7", "m12\nm2", "rs274-m-code", 1, 1},
	{"M that is not whole, 3.3.2.1", "m3.5\nm2", "rs274-m-code", 1, 1},
	{"parameter 0, 3.3.2.2", "#0=1\nm2", "rs274-parameter", 1, 1},
	{"parameter 5400, 3.3.2.2", "g0 x#5400\nm2", "rs274-parameter", 1, 5},
	{"parameter that is not whole, 3.3.2.2", "g0 x#1.5\nm2", "rs274-parameter", 1, 5},
	{"what a probe found", "g38.2 z-1 f10\ng0 z#5063\nm2", "rs274-probe-result", 2, 5},
	{"setting without =, 3.3.3", "#1 2\nm2", "rs274-setting", 1, 5},
	{"expression that is not closed, 3.3.2.3", "g0 x[1+2\nm2", "rs274-expression", 1, 9},
	{"expression without an operator, 3.3.2.3", "g0 x[1 (2)]\nm2", "rs274-expression", 1, 8},
	{"unknown function, Table 10", "g1 x asim[0.5] f1\nm2", "rs274-function", 1, 6},
	{"function without bracket, 3.3.2.4", "g0 x sin 30\nm2", "rs274-function", 1, 10},
	{"ATAN of one argument, 3.3.2.4", "g0 x atan[1]\nm2", "rs274-function", 1, 13},
	{"ATAN with a bare divisor, 3.3.2.4", "g0 x atan[1]/2\nm2", "rs274-function", 1, 14},
	{"division by nothing", "g0 x[1/0]\nm2", "rs274-value", 1, 8},
	{"root of a negative number", "g0 x sqrt[-1]\nm2", "rs274-value", 1, 6},
	{"logarithm of nothing", "g0 x ln[0]\nm2", "rs274-value", 1, 6},
	{"arcsine of 2", "g0 x asin[2]\nm2", "rs274-value", 1, 6},
	{"power without a real value", "g0 x[[-2]**0.5]\nm2", "rs274-value", 1, 12},
	{"point beyond any machine", "g0 x1000001\nm2", "rs274-range", 1, 4},
	{"feed beyond any machine", "g1 x1 f10000001\nm2", "rs274-range", 1, 7},
	{"number of 400 digits does not fit on a line, yet is no infinity", "g0 x" + strings.Repeat("9", 400) + "\nm2", "rs274-range", 1, 5},
	{"% at the start alone, 3.1", "%\ng0 x1\nm2\n", "rs274-percent", 4, 1},
	{"% at the end alone, 3.1", "g0 x1\n%\n", "rs274-percent", 2, 1},
	{"neither M2 nor M30, 3.1", "g0 x1\n", "rs274-no-end", 2, 1},
	{"an empty file, 3.1", "", "rs274-no-end", 1, 1},
	{"text behind M2, 3.1", "m2\ng0 x1\n", "rs274-after-end", 2, 1},
	{"D without G41, B.5", "g0 x1 d2\nm2", "rs274-word-unused", 1, 7},
	{"H without G43", "g0 x1 h2\nm2", "rs274-word-unused", 1, 7},
	{"I without an arc", "g1 x1 i2 f1\nm2", "rs274-word-unused", 1, 7},
	{"P without a use", "g0 x1 p2\nm2", "rs274-word-unused", 1, 7},
	{"Q without G83", "g81 x1 z-1 r1 q1 f1\nm2", "rs274-word-unused", 1, 15},
	{"L without a cycle", "g0 x1 l2\nm2", "rs274-word-unused", 1, 7},
	{"R without a use", "g0 x1 r2\nm2", "rs274-word-unused", 1, 7},
	{"axis word before any motion", "x1\nm2", "rs274-axis-unused", 1, 1},
	{"axis word under G80, 3.5.15", "g80 x1\nm2", "rs274-axis-unused", 1, 5},
	{"axis word after G80, 3.5.15", "g0 x1\ng80\ny1\nm2", "rs274-axis-unused", 3, 1},
	{"G1 and G92 on one line, 3.4", "g1 g92 x1 f1\nm2", "rs274-axis-twice", 1, 4},
	{"G0 without an axis word, 3.5.1", "g0\nm2", "rs274-axis-missing", 1, 1},
	{"G1 without an axis word, 3.5.2", "g1 f1\nm2", "rs274-axis-missing", 1, 1},
	{"cycle without an axis word, 3.5.16", "g81 r1 f1\nm2", "rs274-axis-missing", 1, 1},
	{"probe without an axis word, 3.5.9", "g38.2 f1\nm2", "rs274-axis-missing", 1, 1},
	{"rotary axis", "g0 a90\nm2", "rs274-rotary", 1, 4},
	{"cut without feed", "g1 x1\nm2", "rs274-feed", 1, 4},
	{"negative feed", "g1 x1 f-1\nm2", "rs274-feed", 1, 7},
	{"feed of G94 is not that of G93", "g1 x1 f100\ng93\ng94\nx2\nm2", "rs274-feed", 4, 1},
	{"F on the line of a change of units, Table 8", "g20 f10\nm2", "rs274-feed-units", 1, 5},
	{"cut under G93 without F, 3.5.19", "g93 g1 x1 f2\nx2\nm2", "rs274-inverse-time", 2, 1},
	{"cycle under G93, 3.5.16", "g93 g81 x1 z-1 r1 f1\nm2", "rs274-inverse-time", 1, 9},
	{"probe under G93, 3.5.9", "g93 g38.2 z-1 f1\nm2", "rs274-inverse-time", 1, 11},
	{"negative speed, 3.7.2", "s-1 m3\nm2", "rs274-speed", 1, 1},
	{"negative cutter, 3.7.3", "t-1\nm2", "rs274-index", 1, 1},
	{"cutter beyond the slots, 3.7.3", "t100\nm2", "rs274-index", 1, 1},
	{"cutter that is not whole, 3.7.3", "t1.5\nm2", "rs274-index", 1, 1},
	{"G4 without P", "g4\nm2", "rs274-dwell", 1, 1},
	{"negative dwell, 3.5.4", "g4 p-1\nm2", "rs274-dwell", 1, 4},
	{"compensation by a cutter that is not known", "g41 d3 g1 x1 f1\nm2", "rs274-compensation-tool", 1, 1},
	{"compensation entered by an arc with R", "g41 d1 g2 x9 r9 f1\nm2", "rs274-compensation-tool", 1, 14},
	{"compensation out of the XY plane, 3.5.10", "g18 g41 d1\nm2", "rs274-compensation", 1, 5},
	{"compensation that is on already, 3.5.10", "g41 d1\ng42 d1\nm2", "rs274-compensation", 2, 1},
	{"D beyond the slots, 3.5.10", "g41 d100\nm2", "rs274-compensation", 1, 5},
	{"negative D, B.5", "g41 d-1\nm2", "rs274-compensation", 1, 5},
	{"units under compensation, B.5", "g41 d1\ng20\nm2", "rs274-compensation", 2, 1},
	{"G28 under compensation, B.5", "g41 d1\ng28\nm2", "rs274-compensation", 2, 1},
	{"G53 under compensation, 3.5.12", "g41 d1\ng53 g0 x1\nm2", "rs274-compensation", 2, 1},
	{"G92 under compensation, B.5", "g41 d1\ng92 x1\nm2", "rs274-compensation", 2, 1},
	{"G54 under compensation, 3.5.13", "g41 d1\ng54\nm2", "rs274-compensation", 2, 1},
	{"XZ plane under compensation, B.5", "g41 d1\ng18\nm2", "rs274-compensation", 2, 1},
	{"probe under compensation, B.5", "g41 d1\ng38.2 x9 f1\nm2", "rs274-compensation", 2, 7},
	{"cycle under compensation, 3.5.16", "g41 d1\ng81 x9 z-1 r1 f1\nm2", "rs274-compensation", 2, 5},
	{"concave corner, B.5", "f1 g41 d1 g1 x9\nx20\ny9\nm2", "rs274-compensation-corner", 3, 1},
	{"entry shorter than the radius, B.5", "f1 g41 d1 g1 x0.9\nm2", "rs274-compensation-gouge", 1, 14},
	{"arc narrower than the cutter, B.5", "f1 g41 d1 g1 x9\ng3 x10 y1 j1\nm2", "rs274-compensation-gouge", 2, 11},
	{"G43 without H", "g43\nm2", "rs274-length-index", 1, 1},
	{"negative H, 3.5.11", "g43 h-1\nm2", "rs274-length-index", 1, 5},
	{"H beyond the slots, 3.5.11", "g43 h100\nm2", "rs274-length-index", 1, 5},
	{"G53 in an arc, 3.5.12", "g53 g2 x1 r1 f1\nm2", "rs274-machine-move", 1, 1},
	{"G53 without a motion, 3.5.12", "g53\nm2", "rs274-machine-move", 1, 1},
	{"arc without a word of its plane, 3.5.3", "g2 z1 r1 f1\nm2", "rs274-arc-format", 1, 4},
	{"arc with neither R nor offsets, 3.5.3", "g2 x1 f1\nm2", "rs274-arc-format", 1, 4},
	{"arc with R and I, 3.5.3", "g2 x1 r1 i1 f1\nm2", "rs274-arc-format", 1, 7},
	{"offset of another plane, 3.5.3.2", "g2 x1 k1 f1\nm2", "rs274-arc-format", 1, 7},
	{"radii that differ by 0.0021 mm, 3.5.3.2", "g2 x2.0021 i1 f1\nm2", "rs274-arc-radius", 1, 12},
	{"radii that differ by 0.00021 inch, 3.5.3.2", "g20\ng2 x2.00021 i1 f1\nm2", "rs274-arc-radius", 2, 13},
	{"arc about its own start", "g2 x0 y0 i0 f1\nm2", "rs274-arc-radius", 1, 10},
	{"R that does not reach the end", "g2 x2 r0.999 f1\nm2", "rs274-arc-reach", 1, 7},
	{"R with end at start, 3.5.3.1", "g2 x0 y0 r1 f1\nm2", "rs274-arc-reach", 1, 10},
	{"full circle or none", "g2 x0.0000001 i1 f1\nm2", "rs274-arc-ambiguous", 1, 15},
	{"first of a run of cycles without Z, 3.5.16", "g81 x1 r1 f1\nm2", "rs274-cycle-word", 1, 5},
	{"first of a run of cycles without R, 3.5.16", "g81 x1 z-1 f1\nm2", "rs274-cycle-word", 1, 5},
	{"another cycle does not take over Z, 3.5.16", "g81 x1 z-1 r1 f1\ng82 x2 r1 p1\nm2", "rs274-cycle-word", 2, 5},
	{"another plane does not take over the depth", "g81 x1 z-1 r1 f1\ng18\nx2 r1\nm2", "rs274-cycle-word", 3, 1},
	{"G82 without P, 3.5.16.3", "g82 x1 z-1 r1 f1\nm2", "rs274-cycle-word", 1, 5},
	{"G83 without Q, 3.5.16.4", "g83 x1 z-1 r1 f1\nm2", "rs274-cycle-word", 1, 5},
	{"G87 without K, 3.5.16.8", "m3\ng87 x1 z-1 r1 i1 j1 f1\nm2", "rs274-cycle-word", 2, 5},
	{"negative P in a cycle, 3.5.16", "g82 x1 z-1 r1 p-1 f1\nm2", "rs274-cycle-value", 1, 5},
	{"Q of nothing, 3.5.16.4", "g83 x1 z-1 r1 q0 f1\nm2", "rs274-cycle-value", 1, 5},
	{"L of nothing, 3.5.16", "g81 x1 z-1 r1 l0 f1\nm2", "rs274-cycle-value", 1, 15},
	{"L that is not whole, 3.5.16", "g81 x1 z-1 r1 l1.5 f1\nm2", "rs274-cycle-value", 1, 15},
	{"R below Z, 3.5.16", "g81 x1 z1 r0.5 f1\nm2", "rs274-cycle-depth", 1, 5},
	{"G84 with the spindle standing, 3.5.16.5", "g84 x1 z-1 r1 f1\nm2", "rs274-cycle-spindle", 1, 5},
	{"G84 with the spindle turning left, 3.5.16.5", "m4\ng84 x1 z-1 r1 f1\nm2", "rs274-cycle-spindle", 2, 5},
	{"G86 with the spindle standing, 3.5.16.7", "g86 x1 z-1 r1 p1 f1\nm2", "rs274-cycle-spindle", 1, 5},
	{"a cycle that starts above R with neither G98 nor G99", "g0 z5\ng81 x1 z-1 r1 f1\nm2", "rs274-retract", 2, 5},
	{"probe of 0.253 mm, 3.5.9", "g38.2 z-0.253 f1\nm2", "rs274-probe", 1, 7},
	{"G10 without L2, 3.5.5", "g10 p1 x1\nm2", "rs274-offset", 1, 1},
	{"G10 with P 10, 3.5.5", "g10 l2 p10 x1\nm2", "rs274-offset", 1, 1},
	{"G92 without an axis word, 3.5.18", "g92\nm2", "rs274-offset", 1, 1},
	{"a hundred million holes", "g91 g81 x0.001 z-1 r1 l100000000 f1\nm2", "rs274-many-moves", 1, 9},
	{"pecks without end", "g83 x1 z-1 r1 q0.0000001 f1\nm2", "rs274-many-moves", 1, 5},
	{"a file of other stuff", strings.Repeat("$\n", 50), "rs274-many-findings", 41, 1},
}

func TestEachRuleThatIsBrokenIsFoundAtItsPlace(t *testing.T) {
	for _, tc := range broken {
		t.Run(tc.fact, func(t *testing.T) {
			_, fs := rs274.Read("p.nc", []byte(tc.text), rs274.Options{Tools: map[int]rs274.Tool{1: {Diameter: 2}}})
			require.NotEmpty(t, fs)
			var codes []string
			for _, f := range fs {
				codes = append(codes, f.Code)
				if f.Code != tc.code {
					continue
				}
				require.Len(t, f.At, 1)
				assert.Equal(t, diag.Place{File: "p.nc", Line: tc.line, Col: tc.col}, f.At[0], "%s: %s", f.Code, f.Message)
				assert.NotEmpty(t, f.Help)
			}
			assert.Contains(t, codes, tc.code)
			if tc.code != "rs274-many-findings" {
				assert.Len(t, fs, 1, "%v", codes)
			}
		})
	}
}

func TestEachCodeHasItsSmallestInput(t *testing.T) {
	seen := map[string]bool{"rs274-file-long": true} // a GiB of text is too much for a test
	for _, tc := range broken {
		seen[tc.code] = true
	}
	for _, c := range rs274.Codes() {
		assert.True(t, seen[c[0]], "%s has no test", c[0])
		assert.NotEmpty(t, c[1])
	}
}

func TestAProgramThatIsCutOffIsFound(t *testing.T) {
	_, fs := rs274.Read("p.nc", []byte("g0 x1\nm2 (up"), rs274.Options{})
	assert.True(t, fs.Has("rs274-comment-open"))
	assert.True(t, fs.Has("rs274-no-end"))
}

func TestWhatTheRulesAllowIsRead(t *testing.T) {
	for _, tc := range []struct{ fact, text string }{
		{"line of 256 characters, 3.3", "g1 f1 x1 (" + strings.Repeat("a", 245) + ")\nm2"},
		{"number forms, 3.3.2.1", "g0 x5. y.5 z-0.8807\nx+1\nm2"},
		{"blanks within numbers, 3.3", "g0x +0. 12 34y 7\nm2"},
		{"line number of five digits, repeated, 3.3.1", "n99999 g0 x1\nn99999 x2\nm2"},
		{"four M words, 3.3.5", "m6 m3 m8 m48 t1\nm2"},
		{"M7 and M8 after each other, Table 4", "m7\nm8\nm2"},
		{"CR, LF and both end lines, 3.3", "g0 x1\rg0 x2\ng0 x3\r\nm2\r"},
		{"percent lines in place of M2, 3.1", "  %  \ng0 x1\n\t% \nanything, for this is not read"},
		{"percent lines around M2, 3.1", "%\ng0 x1\nm2\n%\n"},
		{"a blank line before the first percent line, 3.1", "\n\n%\ng0 x1\n%\n"},
		{"a lone block delete, 3.3", "/\ng0 x1\nm2"},
		{"radii that differ by 0.0019 mm, 3.5.3.2", "g2 x2.0019 i1 f1\nm2"},
		{"radii that differ by 0.00019 inch, 3.5.3.2", "g20\ng2 x2.00019 i1 f1\nm2"},
		{"full circle, 3.5.3.2", "g2 x0 i1 f1\nm2"},
		{"H0, 3.5.11", "g43 h0\nm2"},
		{"probe of 0.254 mm, 3.5.9", "g38.2 z-0.254 f1\nm2"},
		{"R at Z, 3.5.16", "g81 x1 z1 r1 f1\nm2"},
		{"no dwell at all, 3.5.4", "g4 p0\nm2"},
		{"G4 and a motion on one line, 3.4", "g4 p1 g0 x1\nm2"},
		{"G28 suspends the motion in force for its line, 3.4", "g1 x1 f10\ng28 z5\nx2\nm2"},
		{"the tolerance of G64, an extension", "g64 p0.01\nm2"},
		{"lower, upper and mixed case, 3.3", "g0 X[Sin[90] + sIN[0]] (MiXed)\nM2"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			r, fs := rs274.Read("p.nc", []byte(tc.text), rs274.Options{})
			assert.Empty(t, fs)
			assert.NotNil(t, r)
		})
	}
}

func TestWordsOfOneControllerAloneAreReadWhenNamed(t *testing.T) {
	_, fs := rs274.Read("p.nc", []byte("m64 p1\nm2"), rs274.Options{Aux: []string{"M64 P1"}})
	assert.Empty(t, fs)
	for _, other := range []string{"m64 p2\nm2", "m64\nm2", "m64 p1 q1\nm2"} { // another output
		_, fs = rs274.Read("p.nc", []byte(other), rs274.Options{Aux: []string{"M64 P1"}})
		assert.True(t, fs.Has("rs274-m-code"), other)
	}
	_, fs = rs274.Read("p.nc", []byte("m65\nm2"), rs274.Options{Aux: []string{"M64 P1"}})
	assert.True(t, fs.Has("rs274-m-code"))
}

func TestALineThatIsDeletedIsCheckedAndNotRun(t *testing.T) { // NISTIR 6556, 2.2.2
	text := []byte("g0 x1\n/x2\nm2")
	r, _ := rs274.Read("p.nc", text, rs274.Options{BlockDelete: true})
	assert.Len(t, r.Moves, 1)
	r, _ = rs274.Read("p.nc", text, rs274.Options{})
	assert.Len(t, r.Moves, 2)
	_, fs := rs274.Read("p.nc", []byte("/x\nm2"), rs274.Options{BlockDelete: true})
	assert.True(t, fs.Has("rs274-number"))
}

func TestFindingsNameTheFirstFortyLines(t *testing.T) {
	_, fs := rs274.Read("p.nc", []byte(strings.Repeat("$\n", 10000)), rs274.Options{})
	assert.Len(t, fs, 41)
}

func ExampleRead() {
	r, findings := rs274.Read("hole.nc", []byte("G21 G90\nG0 Z5\nX10 Y20\nG1 Z-2 F100\nG0 Z5\nM2\n"), rs274.Options{})
	for _, m := range r.Moves {
		fmt.Println(m.Line, m.To, m.Length())
	}
	fmt.Println(len(findings), "findings")
	// Output:
	// 2 [0 0 5] 5
	// 3 [10 20 5] 22.360679774997898
	// 4 [10 20 -2] 7
	// 5 [10 20 5] 7
	// 0 findings
}
