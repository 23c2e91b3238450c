package job

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEditingAJobKeepsAllElse(t *testing.T) {
	const src = "# head\ntitle = \"x\" # said [datum]\r\n\n[[datum]] # first\nname = \"root\"\n  touched = [ # by eye\n    \"1/8 in\", # across\n    -2.5e0,\n  ] # done\n" +
		"[[datum]]\r\nname=\"tip\"\r\n[skin] # s\nthickness = 1.8\nheights = 'old.csv' # here\n[[datum]]\ntouched = [] # none yet\n[[cut]]\nname=\"[[datum]]\""
	got, err := editJob([]byte(src), []edit{
		{"datum.1", "touched", []string{"3.000", "4.000"}},
		{"datum.0", "touched", []string{"1.000", "2.000"}},
		{"datum.2", "touched", []string{"5.000", "6.000"}},
		{"skin", "heights", []string{`"new.csv"`}},
	})
	require.NoError(t, err)
	assert.Equal(t, "# head\ntitle = \"x\" # said [datum]\r\n\n[[datum]] # first\nname = \"root\"\n  touched = [ # by eye\n    1.000, # across\n    2.000,\n  ] # done\n"+
		"[[datum]]\r\ntouched = [3.000, 4.000]\r\nname=\"tip\"\r\n[skin] # s\nthickness = 1.8\nheights = \"new.csv\" # here\n[[datum]]\ntouched = [5.000, 6.000] # none yet\n[[cut]]\nname=\"[[datum]]\"", string(got))
}

func TestWhatCannotBeEditedIsNamed(t *testing.T) {
	for _, tc := range []struct {
		fact, src string
		e         edit
	}{
		{"a table within a line", "skin = { thickness = 1.8 }", edit{"skin", "heights", []string{`"h.csv"`}}},
		{"datums within a line", "datum = [{ name = \"a\", touched = [1, 2] }]", edit{"datum.0", "touched", []string{"1", "2"}}},
		{"three values where two go", "[[datum]]\ntouched = [1, 2, 3]", edit{"datum.0", "touched", []string{"1", "2"}}},
	} {
		_, err := editJob([]byte(tc.src), []edit{tc.e})
		assert.Error(t, err, tc.fact)
	}
}
