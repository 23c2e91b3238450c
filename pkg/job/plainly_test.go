package job

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is wrong with the text of a job is said without the words of the reader or of
// this language.
func TestFaultsOfTheTextAreSaidPlainly(t *testing.T) {
	for text, want := range map[string]string{
		"title = Base":             "no value begins with 'B'",
		"title = \"Base\nx = 1":    "a text has no closing quote on its line",
		"title = 3":                "title takes a text in quotes, here stands a number",
		"no_clamps = \"yes\"":      "no_clamps takes true or false, here stands a text",
		"accept = \"x\"":           "accept takes a list in [ ], here stands a text",
		"title = [\"a\"]":          "title takes a text in quotes, here stands a list",
		"tolerance = 0,3":          "',' stands behind a value that had ended",
		"tolerance = 3 mm":         "'m' stands behind a value that had ended",
		"tolerance = \"3 mmm\"":    "unknown unit \"mmm\"",
		"tolerance = 1e400":        "1e400 is larger than any number",
		"title = \"a\\panel\"":     "a backslash stands in a text",
		"title = \"Fl\xe4che\"":    "not written in UTF-8",
		"\xff\xfet\x00i\x00":       "not written in UTF-8",
		"title = \"a\"\ntitle = 3": "title is given twice",
		"[[skin]]\nthickness = 1":  "a table in [[ ]] stands where there is only one",
		"[cut]\n[[cut]]":           "a table stands in [ ] and again in [[ ]]",
		"[[cut]]\ntabs = 3":        "tabs takes a table in { }, here stands a number",
		"[[datum]]\ndrawn = 3":     "drawn takes a list in [ ], here stands a number",
	} {
		_, _, l := Parse("job.toml", []byte(text))
		require.NotEmpty(t, l, text)
		f := l[0]
		assert.Contains(t, f.Message, want, text)
		assert.True(t, f.Input, text)
		for _, inside := range []string{"TOML", "struct", "job.", "shop.", "strconv", "U+"} {
			assert.NotContains(t, f.Message, inside, text)
		}
		assert.NotEmpty(t, f.Help, text)
		assert.NotZero(t, f.At[0].Line, text)
	}
}

// A mark that some editors put before the text means nothing, when reading and when
// writing touches back.
func TestAByteOrderMarkMeansNothing(t *testing.T) {
	plain := "title = \"a\"\n[skin]\nthickness = 1\n"
	f, pos, l := Parse("job.toml", []byte("\xef\xbb\xbf"+plain))
	require.Empty(t, l)
	assert.Equal(t, "a", f.Title)
	line, _ := pos.Of("skin.thickness")
	assert.Equal(t, 3, line)
	edits := []edit{{table: "skin", key: "thickness", values: []string{"2"}}}
	want, err := editJob([]byte(plain), edits)
	require.NoError(t, err)
	got, err := editJob([]byte("\xef\xbb\xbf"+plain), edits)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))
}

// Names of files may be written as on Windows.
func TestNamesOfFilesMayHaveBackslashes(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(dir, "sub"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "sub", "a.dxf"), []byte("x"), 0o644))
	b, err := Dir(dir).ReadFile(`sub\a.dxf`)
	require.NoError(t, err)
	assert.Equal(t, "x", string(b))
	_, err = Dir(dir).ReadFile(`sub\b.dxf`)
	require.Error(t, err)
	assert.True(t, strings.Contains(err.Error(), "sub"))
}
