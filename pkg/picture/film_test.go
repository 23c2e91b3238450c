package picture

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
)

// shown is a film read back the way its script reads it.
type shown struct {
	head  filmHead
	from  [][3]float64
	to    [][3]float64
	mid   [][2]float64
	sweep []float64
	clock []float64
	flags []int
	lines []int
	text  []string
}

func readFilm(t *testing.T, film []byte) shown {
	t.Helper()
	m := regexp.MustCompile(`id="data">([^<]*)<`).FindSubmatch(film)
	require.NotNil(t, m)
	packed, err := base64.StdEncoding.DecodeString(string(m[1]))
	require.NoError(t, err)
	z, err := gzip.NewReader(bytes.NewReader(packed))
	require.NoError(t, err)
	raw, err := io.ReadAll(z)
	require.NoError(t, err)
	var f shown
	n := binary.LittleEndian.Uint32(raw)
	require.NoError(t, json.Unmarshal(raw[4:4+n], &f.head))
	raw = raw[4+n:]
	column := func(count int, unit float64) []float64 {
		out, last := make([]float64, count), int64(0)
		for i := range out {
			v, k := binary.Varint(raw)
			require.Positive(t, k)
			raw, last = raw[k:], last+v
			out[i] = float64(last) / unit
		}
		return out
	}
	moves := f.head.Moves
	bits := column(moves, 1)
	x, y, zz := column(moves, 1e4), column(moves, 1e4), column(moves, 1e4)
	f.clock = column(moves, 1e3)
	column(moves, 1e3)
	lines := column(moves, 1)
	column(moves, 1)
	jumps, arcs := 0, 0
	for _, b := range bits {
		jumps += int(b) >> 2 & 1
		arcs += int(b) >> 1 & 1
	}
	jx, jy, jz := column(jumps, 1e4), column(jumps, 1e4), column(jumps, 1e4)
	ax, ay, as := column(arcs, 1e4), column(arcs, 1e4), column(arcs, 1e6)
	f.mid, f.sweep, f.from = make([][2]float64, moves), make([]float64, moves), make([][3]float64, moves)
	j, k := 0, 0
	for i := range moves {
		b := int(bits[i])
		f.flags, f.lines = append(f.flags, b), append(f.lines, int(lines[i]))
		f.to = append(f.to, [3]float64{x[i], y[i], zz[i]})
		if b&filmJump != 0 {
			f.from[i] = [3]float64{jx[j], jy[j], jz[j]}
			j++
		} else if i > 0 {
			f.from[i] = f.to[i-1]
		}
		if b&filmArc != 0 {
			f.mid[i], f.sweep[i] = [2]float64{ax[k], ay[k]}, as[k]
			k++
		}
	}
	f.text = strings.Split(string(raw), "\f")
	return f
}

func TestAFilmHoldsTheMovesOfItsProgram(t *testing.T) {
	for name, s := range map[string]Scene{"wing": wingScene(t), "sheet": sheetScene(t)} {
		t.Run(name, func(t *testing.T) {
			film, err := Film(s)
			require.NoError(t, err)
			f := readFilm(t, film)
			replay, l := rs274.Read("p", s.Programs[0].Text, proof.ReadOptions(s.Work))
			require.False(t, l.Blocks())
			require.Len(t, f.to, len(replay.Moves))
			near := func(want, got float64, what string, i int) {
				assert.InDeltaf(t, want, got, 0.6/filmLength, "%s of move %d", what, i)
			}
			for i, m := range replay.Moves {
				for k := range 3 {
					near(m.From[k], f.from[i][k], "start", i)
					near(m.To[k], f.to[i][k], "end", i)
				}
				assert.Equal(t, m.Motion == rs274.Rapid, f.flags[i]&filmRapid != 0)
				assert.Equal(t, int(m.Line), f.lines[i])
				if m.Arc() {
					near(m.Center[0], f.mid[i][0], "centre", i)
					near(m.Center[1], f.mid[i][1], "centre", i)
					assert.InDelta(t, m.Sweep(), f.sweep[i], 1e-6)
				}
			}
			assert.Equal(t, string(s.Programs[0].Text), f.text[0])
			p := s.Certificate.Programs[0]
			assert.InDelta(t, p.TimeS[1], f.clock[len(f.clock)-1], 0.01, "the clock ends with the certificate's longest time, s")
			require.Len(t, f.head.Margins, len(s.Certificate.Margins))
			for i, m := range s.Certificate.Margins {
				g := f.head.Margins[i]
				assert.Equal(t, []any{m.Check, m.Member, m.MarginMM, m.NeededMM}, []any{g.Check, g.Member, g.Margin, g.Needed})
				if g.Move >= 0 {
					assert.Equal(t, m.Line, f.lines[g.Move])
				}
			}
		})
	}
}

func TestAFilmNamesTheStops(t *testing.T) {
	film, err := Film(wingScene(t))
	require.NoError(t, err)
	stops := readFilm(t, film).head.Stops
	require.Len(t, stops, 1)
	assert.Equal(t, "fit cutter T2", stops[0].Text)
	assert.Equal(t, 5, stops[0].Move, "after the drilling and its retract")
}

func TestAFilmAsksNothingOfANetwork(t *testing.T) {
	film, err := Film(wingScene(t))
	require.NoError(t, err)
	assert.NotRegexp(t, `(?i)(src|href)\s*=|https?://|@import|url\(|fetch\(|XMLHttp|WebSocket`, strings.SplitN(string(film), `id="data">`, 2)[0])
	assert.NotRegexp(t, `https?://|fetch\(|XMLHttp|WebSocket|import\(`, filmScript)
	assert.Contains(t, string(film), "default-src 'none'")
}

func TestATitleCannotBreakOutOfTheFilm(t *testing.T) {
	s := wingScene(t)
	w := *s.Work
	w.Title = `</script><script>alert(1)</script> & "x"`
	s.Work = &w
	film, err := Film(s)
	require.NoError(t, err)
	assert.NotContains(t, string(film), "alert(1)</script>")
}

func TestAFilmIsTheSameEveryTime(t *testing.T) {
	a, err := Film(wingScene(t))
	require.NoError(t, err)
	b, err := Film(wingScene(t))
	require.NoError(t, err)
	assert.True(t, bytes.Equal(a, b))
}

// Issue: at most 3 MB for 100 000 moves.
func TestALongFilmStaysSmall(t *testing.T) {
	s := wingScene(t)
	var b bytes.Buffer
	b.WriteString("G21 G17 G90 G94\nG54\nT2\nS18000 M3\nG0 Z20\nG0 X50 Y30\n")
	const moves = 100000
	for i := range moves - 3 {
		a := float64(i) * 0.37 // an irregular walk: no two lines alike
		fmt.Fprintf(&b, "G1 X%.3f Y%.3f Z%.3f\n", 70+15*math.Sin(a*1.1)+float64(i%7)*0.013, 40+9*math.Cos(a*0.7), -1-math.Sin(a/9))
	}
	b.WriteString("G0 Z20\nM5\nM2\n")
	s.Programs = []proof.Source{{File: "long.nc", Text: []byte(strings.Replace(b.String(), "G1 X", "F900 G1 X", 1))}}
	s.Certificate = nil
	film, err := Film(s)
	require.NoError(t, err)
	f := readFilm(t, film)
	require.Equal(t, moves, f.head.Moves)
	assert.LessOrEqual(t, len(film), 3_000_000, "bytes")
	t.Logf("%d moves that no packing likes: %.2f MB", moves, float64(len(film))/1e6)
}
