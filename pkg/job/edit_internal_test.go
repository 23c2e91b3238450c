package job

import (
	"fmt"
	"testing"

	"github.com/pelletier/go-toml/v2"
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

// Whatever stands in a job: either it cannot be edited, or the edited text says
// what was put in and all else as before.
func FuzzEditingAJob(f *testing.F) {
	for _, s := range []string{"[[datum]]\ntouched = [1, 2]\n", "[[datum]] # a\r\nname = 'x'\r\n", "[[datum]]\ntouched = [ # ]\n]", "datum = [{touched=[1,2]}]",
		"[[datum]]\ntouched = [\"1 in\", 2.5e3, ] # c\n[skin]\n", "[[datum]]\ntouched=[1,2", "[[datum]]\ntouched.x = 1", "[[datum]]\n\"touched\" = [1, 2]", "a = '''\n[[datum]]\n'''\n[[datum]]"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		var before map[string]any
		if toml.Unmarshal(src, &before) != nil {
			_, _ = editJob(src, []edit{{"datum.0", "touched", []string{"3.125", "-4.000"}}})
			return
		}
		got, err := editJob(src, []edit{{"datum.0", "touched", []string{"3.125", "-4.000"}}})
		if err != nil {
			return
		}
		var after map[string]any
		if err := toml.Unmarshal(got, &after); err != nil {
			return // read again before it is written, and refused
		}
		list, ok := after["datum"].([]any)
		require.True(t, ok && len(list) > 0, "%q gives %q", src, got)
		first, ok := list[0].(map[string]any)
		require.True(t, ok)
		assert.Equal(t, []any{3.125, -4.0}, first["touched"], "%q gives %q", src, got)
		delete(first, "touched")
		if old, ok := before["datum"].([]any); ok && len(old) > 0 {
			if o, ok := old[0].(map[string]any); ok {
				delete(o, "touched")
			}
		}
		assert.Equal(t, fmt.Sprint(before), fmt.Sprint(after), "%q gives %q", src, got)
	})
}
