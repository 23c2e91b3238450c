package cli

import (
	"bytes"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/job"
)

func TestTheSheetPageNamesEveryKey(t *testing.T) {
	for _, table := range []reflect.Type{reflect.TypeFor[job.Sheet](), reflect.TypeFor[job.Part](), reflect.TypeFor[job.Nest](), reflect.TypeFor[job.From]()} {
		for i := range table.NumField() {
			if key := table.Field(i).Tag.Get("toml"); key != "" {
				assert.Regexp(t, `(?m)\b`+key+`\b`, sheetPage, "%s is not explained", key)
			}
		}
	}
	for _, word := range []string{"x_mm", "y_mm", "turn_deg", "piece", "flipped", "layout = "} {
		assert.Contains(t, sheetPage, word)
	}
}

func TestHelpSheetPrintsThePage(t *testing.T) {
	var out, err bytes.Buffer
	assert.Equal(t, exitDone, Run([]string{"help", "sheet"}, nil, &out, &err))
	assert.Equal(t, sheetPage, out.String())
	assert.Empty(t, err.String())
}

func TestHelpForHelpIsTheUsage(t *testing.T) {
	for _, word := range []string{"help", "--help", "-h"} {
		var out, err bytes.Buffer
		assert.Equal(t, exitDone, Run([]string{"help", word}, nil, &out, &err))
		assert.Contains(t, out.String(), "usage: sparclear COMMAND")
	}
}
