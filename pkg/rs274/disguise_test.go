package rs274_test

import (
	"fmt"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

var aWord = regexp.MustCompile(`[A-Z]-?[0-9.]+|\([^)]*\)`)

// disguised writes a line in another way that means the same (NISTIR 6556):
// words in another order (3.3.6), other case and blanks within numbers (3.3),
// expressions and parameters in place of numbers (3.3.2), more noughts.
func disguised(line string, rng *rand.Rand) string {
	if line == "%" {
		return " %\t"
	}
	words := aWord.FindAllString(line, -1)
	first := ""
	if len(words) > 0 && words[0][0] == 'N' {
		first, words = words[0], words[1:]
	}
	rng.Shuffle(len(words), func(i, j int) { words[i], words[j] = words[j], words[i] })
	for i, w := range words {
		letter, value := w[:1], w[1:]
		if letter == "(" {
			continue
		}
		switch rng.IntN(6) {
		case 0:
			value = "[" + value + "]"
		case 1:
			value = "[3 - 3 + [" + value + "]]"
		case 2:
			if value[0] != '-' {
				value = "+00" + value
			}
		case 3:
			at := rng.IntN(len(value) + 1)
			value = value[:at] + " \t" + value[at:]
		case 4:
			value = "abs[ " + value + " ]" + ""
			if w[1] == '-' {
				value = "[0-" + value + "]"
			}
		}
		if rng.IntN(2) == 0 {
			letter = strings.ToLower(letter)
		}
		words[i] = letter + value
	}
	out := first + strings.Join(words, []string{"", " "}[rng.IntN(2)])
	if rng.IntN(4) == 0 {
		out += "(aside)"
	}
	return out
}

func TestADisguisedProgramIsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := controllers(t)
		w := &work.Work{ChordTol: 0.05, Machine: shop.Machine{Controller: c, SpinUp: 3}, Cutters: []shop.Cutter{{Name: "a", Number: 1}}}
		text, fs := rs274.Write(toolpath.Program{Name: "p", SafeZ: 5, Paths: []toolpath.Path{randomPath(t, 0)}}, w)
		require.False(t, fs.Blocks(), "%v", fs)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		lines := strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
		for i, l := range lines {
			lines[i] = disguised(l, rng)
		}
		want, faults := rs274.Read("p.nc", text, rs274.Options{ArcTol: c.ArcTol})
		require.Empty(t, faults)
		other := strings.Join(lines, []string{"\n", "\r\n", "\r"}[rng.IntN(3)])
		got, faults := rs274.Read("p.nc", []byte(other+"\n"), rs274.Options{ArcTol: c.ArcTol})
		require.Empty(t, faults, "%s", other)
		assert.Equal(t, want.Moves, got.Moves, "%s", other)
		assert.Equal(t, want.States, got.States)
		assert.Equal(t, want.Blocks, got.Blocks)
	})
}

func TestStepsAndInchesLeadToTheSamePlaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "moves")
		var absolute, steps, inches strings.Builder
		fmt.Fprintf(&steps, "g91\n")
		fmt.Fprintf(&inches, "g20\n")
		at := [3]int{}
		for range n {
			var to [3]int
			for i := range to {
				to[i] = rapid.IntRange(-2000, 2000).Draw(t, "place") // in 0.0254 mm, exact in both units
			}
			fmt.Fprintf(&absolute, "g0 x%.4f y%.4f z%.4f\n", float64(to[0])*0.0254, float64(to[1])*0.0254, float64(to[2])*0.0254)
			fmt.Fprintf(&steps, "g0 x%.4f y%.4f z%.4f\n", float64(to[0]-at[0])*0.0254, float64(to[1]-at[1])*0.0254, float64(to[2]-at[2])*0.0254)
			fmt.Fprintf(&inches, "g0 x%.3f y%.3f z%.3f\n", float64(to[0])/1000, float64(to[1])/1000, float64(to[2])/1000)
			at = to
		}
		a := mustRead(t, absolute.String()+"m2")
		for _, text := range []string{steps.String(), inches.String()} {
			b := mustRead(t, text+"m2")
			require.Len(t, b.Moves, n)
			for i := range a.Moves {
				assert.InDeltaSlice(t, a.Moves[i].To[:], b.Moves[i].To[:], 1e-9)
			}
		}
	})
}

func mustRead(t *rapid.T, text string) *rs274.Replay {
	r, fs := rs274.Read("p.nc", []byte(text), rs274.Options{})
	require.Empty(t, fs, "%s", text)
	return r
}
