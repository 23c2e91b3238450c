package rs274_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/rs274"
)

func TestTry(t *testing.T) {
	dir := os.Getenv("SPARCLEAR_CORPUS")
	for _, n := range []string{"c1_hello_world.ngc", "c2_expressions.ngc", "c3_canned_cycles.ngc"} {
		b, err := os.ReadFile(filepath.Join(dir, "datasets/rs274ngc", n))
		require.NoError(t, err)
		r, fs := rs274.Read(n, b, rs274.Options{})
		for _, f := range fs {
			fmt.Println(f.Error(), f.At[0])
		}
		fmt.Println(len(r.Moves), len(r.Events), len(r.States), r.Blocks, r.Ended)
		l, g := 0.0, 0.0
		for i := range r.Moves {
			if r.Moves[i].Motion == rs274.Rapid {
				g += r.Moves[i].Length()
			} else {
				l += r.Moves[i].Length()
			}
		}
		fmt.Println(l, g)
	}
}
