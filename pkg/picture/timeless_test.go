package picture

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Two pages made in different seconds are the same bytes: the fonts inside carry
// the second of their making unless it is taken out.
func TestAPageKnowsNoClock(t *testing.T) {
	s := wingScene(t)
	a, err := PlanPDF(s)
	require.NoError(t, err)
	for began := time.Now().Unix(); time.Now().Unix() == began; {
		time.Sleep(20 * time.Millisecond)
	}
	b, err := PlanPDF(s)
	require.NoError(t, err)
	assert.True(t, string(a) == string(b))
}

func TestWhatIsNoFontStaysAsItIs(t *testing.T) {
	for _, font := range []string{"", "\x00\x01\x00\x00", "\x00\x01\x00\x00\x00\x09\x00\x00\x00\x00\x00\x00head", "\x00\x01\x00\x00\x00\x01\x00\x00\x00\x00\x00\x00head\x00\x00\x00\x00\x00\x00\xff\xff\x00\x00\x00\x36"} {
		var b bytes.Buffer
		w := zlib.NewWriter(&b)
		_, err := w.Write([]byte(font))
		require.NoError(t, err)
		require.NoError(t, w.Close())
		_, ok := undated(b.Bytes())
		assert.False(t, ok)
	}
	_, ok := undated([]byte("no stream"))
	assert.False(t, ok)
	for _, pdf := range []string{"", "%PDF", "<</Length 99>>stream\nab", "xref\n0 1\n"} {
		_, err := timeless([]byte(pdf))
		assert.Error(t, err, pdf)
	}
}

// The table of offsets holds for every object.
func TestThePageCanBeRead(t *testing.T) {
	b, err := PlanPDF(wingScene(t))
	require.NoError(t, err)
	at, err := strconv.Atoi(string(regexp.MustCompile(`startxref\n(\d+)\n%%EOF`).FindSubmatch(b)[1]))
	require.NoError(t, err)
	table := string(b[at:])
	require.True(t, strings.HasPrefix(table, "xref\n0 "))
	rows := regexp.MustCompile(`(\d{10}) 00000 n `).FindAllStringSubmatch(table, -1)
	require.Greater(t, len(rows), 5)
	for i, r := range rows {
		off, err := strconv.Atoi(r[1])
		require.NoError(t, err)
		assert.True(t, strings.HasPrefix(string(b[off:]), fmt.Sprintf("%d 0 obj\n", i+1)))
	}
}
