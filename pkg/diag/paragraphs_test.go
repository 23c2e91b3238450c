package diag

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestParagraphsAreFoundByTheirCode(t *testing.T) {
	p := Paragraphs{{"gouge", "Cuts too far."}, {"travel", "Goes too far."}}
	text, ok := p.Of("travel")
	assert.True(t, ok)
	assert.Equal(t, "Goes too far.", text)
	_, ok = p.Of("trave")
	assert.False(t, ok)
	_, ok = Paragraphs(nil).Of("")
	assert.False(t, ok)
	assert.Equal(t, []string{"gouge", "travel"}, p.Codes())
	assert.Empty(t, Paragraphs(nil).Codes())
}
