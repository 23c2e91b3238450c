package diag_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
)

func ExampleText() {
	f := diag.Finding{Code: "keepout-near", Severity: diag.Stop, Subject: "panel.dxf",
		Message: "flap servo comes within 0.62 mm of main spar, 1.00 mm needed",
		Help:    "move the opening 0.38 mm toward +Y"}
	f.At = []diag.Place{{Drawing: &[2]float64{118.42, 36.08}, Machine: &[3]float64{231.07, 94.4, 0}, File: "port.nc", Line: 214}}
	_ = diag.Text(os.Stdout, diag.List{f})
	// Output:
	// stop     panel.dxf: flap servo comes within 0.62 mm of main spar, 1.00 mm needed [keepout-near]
	//   at     drawing X118.42 Y36.08 mm, machine X231.07 Y94.40 mm, port.nc:214
	//   help   move the opening 0.38 mm toward +Y
}

func TestTheMostImportantFindingStandsLast(t *testing.T) {
	l := diag.List{
		{Code: "b", Severity: diag.Stop, Message: "x"},
		{Code: "a", Severity: diag.Note, Message: "x"},
		{Code: "c", Severity: diag.Confirm, Message: "x", Accepted: true},
		{Code: "d", Severity: diag.Confirm, Message: "x"},
	}
	var codes []string
	for _, f := range l.Sorted() {
		codes = append(codes, f.Code)
	}
	assert.Equal(t, []string{"a", "c", "d", "b"}, codes)
	assert.Equal(t, "b", l[0].Code, "the list itself stays as it was")
}

func TestExitCode(t *testing.T) {
	for _, tc := range []struct {
		fact string
		l    diag.List
		want int
	}{
		{"nothing found", nil, 0},
		{"a warning alone", diag.List{{Severity: diag.Warn}}, 0},
		{"an accepted confirm", diag.List{{Severity: diag.Confirm, Accepted: true}}, 0},
		{"an open confirm", diag.List{{Severity: diag.Confirm}}, 3},
		{"a refusal", diag.List{{Severity: diag.Stop}}, 3},
		{"a wrong input wins over a refusal", diag.List{{Severity: diag.Stop}, {Severity: diag.Stop, Input: true}}, 2},
	} {
		t.Run(tc.fact, func(t *testing.T) { assert.Equal(t, tc.want, tc.l.ExitCode()) })
	}
}

func TestFindingsAlikeStandUnderOneHeading(t *testing.T) {
	var l diag.List
	for i := range 7 {
		l.Add(diag.Finding{Code: "gap", Severity: diag.Warn, Message: "gap closed"}.On(float64(i), 0))
	}
	var b strings.Builder
	require.NoError(t, diag.Text(&b, l))
	assert.Equal(t, 1, strings.Count(b.String(), "[gap]"))
	assert.Contains(t, b.String(), "(7 times)")
	assert.Contains(t, b.String(), "and 2 more places")
}

func TestCopiesOfAPartStandUnderTheWorstOfThem(t *testing.T) {
	var l diag.List
	for i, d := range []float64{1.3, 0.9, 1.2} {
		cut := fmt.Sprintf("arm %d", i+1)
		l.Add(diag.Finding{Code: "edge-distance", Severity: diag.Warn, Cut: cut, Subject: cut,
			Message: fmt.Sprintf("a hole of %s lies %.1f diameters from an edge", cut, d)}.With(d, 3, "diameters"))
	}
	l.Add(diag.Finding{Code: "edge-distance", Severity: diag.Warn, Message: "the hole cannot be measured"})
	var b strings.Builder
	require.NoError(t, diag.Text(&b, l))
	assert.Equal(t, `warn     the hole cannot be measured [edge-distance]
warn     arm 2: a hole of arm 2 lies 0.9 diameters from an edge [edge-distance]
  also   arm 1, arm 3
`, b.String())
	b.Reset()
	require.NoError(t, diag.Text(&b, l[:2]), "two are not folded")
	assert.NotContains(t, b.String(), "also")
}

func TestValuesThatJSONCannotHoldAreLeftOut(t *testing.T) {
	inf := diag.Finding{Code: "x"}.With(1/zero(), 2, "mm")
	b, err := json.Marshal(inf)
	require.NoError(t, err)
	assert.NotContains(t, string(b), "value\"")
	assert.Contains(t, string(b), `"limit":2`)
}

func zero() float64 { return 0 }

func TestSeverityReadsItsOwnWords(t *testing.T) {
	for s := diag.Note; s <= diag.Stop; s++ {
		b, err := s.MarshalText()
		require.NoError(t, err)
		var back diag.Severity
		require.NoError(t, back.UnmarshalText(b))
		assert.Equal(t, s, back)
	}
	var s diag.Severity
	assert.Error(t, s.UnmarshalText([]byte("fatal")))
}

func TestAFindingIsAnError(t *testing.T) {
	var err error = diag.Finding{Code: "c", Subject: "s", Message: "m"}
	var f diag.Finding
	require.True(t, errors.As(err, &f))
	assert.EqualError(t, err, "s: m [c]")
}

func TestNearestName(t *testing.T) {
	names := []string{"keepout", "cut", "datum", "machine"}
	assert.Equal(t, "keepout", diag.Nearest("keepuot", names), "two letters swapped")
	assert.Equal(t, "machine", diag.Nearest("Machin", names))
	assert.Equal(t, "", diag.Nearest("banana", names))
	assert.Contains(t, diag.DidYouMean("cot", names), "did you mean cut?")
}
