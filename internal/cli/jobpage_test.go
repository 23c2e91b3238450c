package cli

import (
	"bytes"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/job"
)

// sectionOf returns what the page says under a heading, up to the next one.
func sectionOf(t *testing.T, heading string) string {
	t.Helper()
	from := 0
	if heading != "" {
		from = strings.Index(jobPage, "\n"+heading)
		require.Positivef(t, from, "%s has no place", heading)
		from += len(heading) + 1
	}
	text := jobPage[from:]
	if to := regexp.MustCompile(`(?m)^\[`).FindStringIndex(text); to != nil {
		text = text[:to[0]]
	}
	return text
}

func TestTheJobPageNamesEveryKeyInItsPlace(t *testing.T) {
	tables := []string{"drawing", "probe", "datum", "edge", "skin", "keepout", "clamp", "cut", "cutter", "sheet", "part", "from", "nest"}
	for heading, table := range map[string]reflect.Type{
		"": reflect.TypeFor[job.File](), "[drawing]": reflect.TypeFor[job.Drawing](), "[[datum]]": reflect.TypeFor[job.Datum](),
		"[[edge]]": reflect.TypeFor[job.Edge](), "[probe]": reflect.TypeFor[job.Probe](), "[skin]": reflect.TypeFor[job.Skin](),
		"[skin.loft]": reflect.TypeFor[job.Loft](), "[[keepout]]": reflect.TypeFor[job.Keepout](), "[[clamp]]": reflect.TypeFor[job.Clamp](),
		"[[cut]]": reflect.TypeFor[job.Cut](),
	} {
		text := sectionOf(t, heading)
		for i := range table.NumField() {
			key := table.Field(i).Tag.Get("toml")
			if key == "" || heading == "" && slices.Contains(tables, key) { // a heading of its own, or of the sheet page
				continue
			}
			assert.Regexp(t, `(?m)\b`+key+`\b`, text, "%s %s is not explained", heading, key)
		}
	}
	sectionOf(t, "[[cutter]]")
	for _, key := range []string{"count", "width", "height", "auto"} {
		assert.Regexp(t, `tabs .*\b`+key+`\b`, jobPage)
	}
	slot := reflect.TypeFor[job.TabSlot]()
	for i := range slot.NumField() {
		assert.Regexp(t, `tab_slot .*\b`+slot.Field(i).Tag.Get("toml")+`\b`, jobPage)
	}
}

func TestHelpJobPrintsThePage(t *testing.T) {
	var out, err bytes.Buffer
	assert.Equal(t, exitDone, Run([]string{"help", "job"}, nil, &out, &err))
	assert.Equal(t, jobPage, out.String())
	assert.Empty(t, err.String())
}

// What the page shows can be copied: it is TOML, and no key of it is unknown.
func TestTheJobPageCanBeRead(t *testing.T) {
	_, text, ok := strings.Cut(jobPage, "\n\ntitle")
	require.True(t, ok)
	text = strings.NewReplacer("[[x, y, z], …]", "[[1, 2, 3]]", "{ … }", "{}").Replace("title" + text)
	f, _, l := job.Parse("job.toml", []byte(text))
	assert.Empty(t, l)
	assert.Equal(t, "flap servo", f.Cuts[0].Name)
}
