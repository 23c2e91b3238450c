package shop_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/shop"
)

// Files made to exhaust memory or time: each of about half a megabyte, read within
// a bound that is far above the time needed and far below what a square of the
// length would take.
func TestNoProfileExhaustsTheMachine(t *testing.T) {
	for _, tc := range []struct{ fact, src string }{
		{"arrays within arrays", "a=" + strings.Repeat("[", 1<<19)},
		{"tables within tables", "a=" + strings.Repeat("{a=", 170000)},
		{"a key of very many parts", strings.Repeat("a.", 100000) + "a=1"},
		{"very many keys under a long name", "[" + strings.Repeat("a.", 10000) + "a]\n" + manyKeys(10000)},
		{"very many tables", strings.Repeat("[[a]]\n", 80000)},
		{"very many profiles like each other", chain(1500)},
		{"one line of very many tables", "a=[" + strings.Repeat("{},", 150000) + "]"},
	} {
		start := time.Now()
		_, list := shop.Load(folder("a.toml", tc.src))
		assert.True(t, list.Blocks(), tc.fact)
		assert.Less(t, time.Since(start), 20*time.Second, tc.fact)
	}
}

func TestAChainOfProfilesHasAnEnd(t *testing.T) {
	for _, tc := range []struct {
		n  int
		ok bool
	}{{19, true}, {20, false}} {
		src := chain(tc.n)
		src += "[cutter." + letters(tc.n) + "]\nlike = \"carbide-2\"\n"
		l, list := shop.WithUser(folder("a.toml", src))
		_, f := l.Cutter("a")
		assert.Equal(t, tc.ok, f == nil, "%d steps: %v", tc.n+1, list)
		assert.Equal(t, !tc.ok, list.Has("profile-deep"))
	}
}

func manyKeys(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(letters(i) + "=1\n")
	}
	return b.String()
}

// letters counts in letters.
func letters(i int) string {
	s := ""
	for ; i >= 0; i = i/26 - 1 {
		s = string(rune('a'+i%26)) + s
	}
	return s
}

// chain is n cutters, each like the next, the last like nothing there is.
func chain(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString("[cutter." + letters(i) + "]\nlike=\"" + letters(i+1) + "\"\n")
	}
	return b.String()
}
