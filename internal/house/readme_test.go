package house_test

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/cli"
)

// The README's two commands stand in its first block, and .ci/run calls the very
// same test command.
func TestTheReadmeOpensWithTwoCommands(t *testing.T) {
	readme := read(t, "README.md")
	blocks := regexp.MustCompile("(?s)```sh\n(.*?)```").FindAllStringSubmatch(readme, -1)
	require.NotEmpty(t, blocks)
	lines := strings.Split(strings.TrimSpace(blocks[0][1]), "\n")
	require.Len(t, lines, 2)
	assert.True(t, strings.HasPrefix(lines[0], "go run ./cmd/sparclear demo "), lines[0])
	assert.True(t, strings.HasPrefix(lines[1], "go test ./..."), lines[1])
	assert.Contains(t, read(t, ".ci/run"), "go test ./...")
}

// Every command that a block of the README shows exists, with its options.
func TestTheReadmesCommandsExist(t *testing.T) {
	readme := read(t, "README.md")
	n := 0
	for _, block := range regexp.MustCompile("(?s)```sh\n(.*?)```").FindAllStringSubmatch(readme, -1) {
		for _, line := range strings.Split(block[1], "\n") {
			line, _, _ = strings.Cut(line, "#")
			words := strings.Fields(line)
			if len(words) < 2 || words[0] != "sparclear" {
				continue
			}
			n++
			var out, errs bytes.Buffer
			assert.Zerof(t, cli.Run([]string{words[1], "--help"}, strings.NewReader(""), &out, &errs), "%s: %s", line, errs.String())
			for _, w := range words[2:] {
				if strings.HasPrefix(w, "--") {
					assert.Containsf(t, out.String(), w, "%s", line)
				}
			}
		}
	}
	assert.Greater(t, n, 5)
}

// The pictures that the README shows are in the tree.
func TestTheReadmesPicturesExist(t *testing.T) {
	for _, m := range regexp.MustCompile(`!\[[^\]]+\]\(([^)]+)\)`).FindAllStringSubmatch(read(t, "README.md"), -1) {
		_, err := os.Stat(filepath.Join(root(t), m[1]))
		assert.NoError(t, err)
	}
}

func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(root(t), name))
	require.NoError(t, err)
	return string(b)
}
