package picture

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/proof"
)

func said(t *testing.T, s Scene) (string, int) {
	t.Helper()
	d, err := s.runSheet()
	require.NoError(t, err)
	return strings.Join(d.said, "\n"), d.pdf.PageNo()
}

func TestTheRunSheetAnswersTheOperator(t *testing.T) {
	s := wingScene(t)
	text, pages := said(t, s)
	assert.LessOrEqual(t, pages, 2)
	for question, answers := range map[string][]string{
		"which panel":                 {"Panel: port, side up: upper"},
		"where do I clamp":            {"Clamp strap: within X -60.0 to -40.0, Y -20.0 to 120.0 mm, no higher than 12.0 mm"},
		"what do I touch first":       {"in this order", "1  root", "X0.00 Y0.00", "X0.02 Y0.01", "2  tip"},
		"where is zero":               {"Z zero: on the skin"},
		"how close to the spar":       {"Closest to a member: 4.00 mm to spar"},
		"when do I change the cutter": {"not to be missed, after line 14", "fit cutter T2"},
		"how long":                    {"On the machine ", "1 stop that waits for you"},
		"which cutters":               {"1.600 ± 0.010", "2.000 ± 0.010", "18.0", "30000"},
		"which programs":              {"panel.nc: ", s.Certificate.Programs[0].SHA256},
		"how many passes":             {"opening", "2.10", "4.00", "drops loose!"},
		"what was accepted":           {"enters the rib [rib-entered]   accepted by: ____"},
		"what was checked":            {"members holds", "sense holds", "Not checked"},
		"what can hurt me":            {"Cautions: before the spindle starts", "HSE EH40", "Eye protection"},
	} {
		for _, a := range answers {
			assert.True(t, strings.Contains(text, a), "%s: %q is not said", question, a)
		}
	}
	assert.False(t, strings.Contains(text, "Carbon dust"), "no carbon here")
}

func TestTheSheetVersionListsParts(t *testing.T) {
	text, pages := said(t, sheetScene(t))
	assert.LessOrEqual(t, pages, 2)
	// two discs of radius 10 mm on 80 by 40 mm: 2·π·100/3200 = 19.6 %; closed form
	for _, want := range []string{"disc 1", "disc 2", "20.0 × 20.0", "Parts take 19.6 % of 32 cm²", "Weight: not known", "Cost: not known", "80.0 by 40.0 mm", "0° fibre of the sheet at 0°", "Carbon dust conducts"} {
		assert.True(t, strings.Contains(text, want), "%q is not said", want)
	}
}

func TestACheckThatFailedIsNeverPrintedAsHeld(t *testing.T) {
	s := wingScene(t)
	cert := *s.Certificate
	cert.Checks = append([]proof.Check(nil), cert.Checks...)
	cert.Checks[0].OK = false
	s.Certificate = &cert
	text, _ := said(t, s)
	assert.True(t, strings.Contains(text, "members DOES NOT HOLD"))
	assert.False(t, strings.Contains(text, "members holds"))
}

func TestCautionsFollowTheMaterial(t *testing.T) {
	for word, family := range map[string]string{"Aramid is sheared": "aramid", "Chips are long": "aluminium", "Foam dust": "foam", "Overheated acetal": "acetal", "Carbon dust conducts": "carbon"} {
		s := wingScene(t)
		w := *s.Work
		w.Material.Family, w.Material.Dust = "", []string{family}
		s.Work = &w
		text, _ := said(t, s)
		assert.True(t, strings.Contains(text, word), "%s: %q is not said", family, word)
	}
	for _, c := range cautions[1:] {
		assert.NotEmpty(t, c.source, c.text)
	}
}

func TestTheRunSheetIsTheSameEveryTime(t *testing.T) {
	a, err := RunSheet(wingScene(t))
	require.NoError(t, err)
	b, err := RunSheet(wingScene(t))
	require.NoError(t, err)
	assert.True(t, string(a) == string(b))
	assert.True(t, strings.HasPrefix(string(a), "%PDF"))
}

func TestEveryCellOfTheRunSheetKeepsItsText(t *testing.T) {
	d := newSheet("x")
	d.pdf.SetFont("Helvetica", "", 8.2)
	long := d.fit(strings.Repeat("very long name ", 20), 30)
	assert.LessOrEqual(t, d.pdf.GetStringWidth(long), 28.0)
	assert.True(t, strings.HasSuffix(long, ".."), "what is cut short says so")
	assert.Equal(t, "short", d.fit("short", 30))
}
