package drawing

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
)

// generated streams a DXF of n entities: rectangles of loose lines in shuffled
// order, with an arc, a circle and a polyline among every ten entities when
// mixed is set. It is made as it is read, so that the file itself takes no memory.
type generated struct {
	n, at  int
	mixed  bool
	buf    bytes.Buffer
	order  []int32
	size   int64
	ended  bool
	begun  bool
	handle int
}

func newGenerated(n int, mixed bool) *generated {
	g := &generated{n: n, mixed: mixed, order: make([]int32, n)}
	r := rand.New(rand.NewPCG(1, 2))
	for i := range g.order {
		g.order[i] = int32(i)
	}
	r.Shuffle(n, func(i, k int) { g.order[i], g.order[k] = g.order[k], g.order[i] })
	return g
}

func (g *generated) Read(p []byte) (int, error) {
	for g.buf.Len() < len(p) && !g.ended {
		switch {
		case !g.begun:
			g.buf.WriteString("  0\nSECTION\n  2\nHEADER\n  9\n$ACADVER\n  1\nAC1015\n  9\n$INSUNITS\n 70\n4\n  0\nENDSEC\n  0\nSECTION\n  2\nENTITIES\n")
			g.begun = true
		case g.at == g.n:
			g.buf.WriteString("  0\nENDSEC\n  0\nEOF\n")
			g.ended = true
		default:
			g.entity(int(g.order[g.at]))
			g.at++
		}
	}
	if g.buf.Len() == 0 {
		return 0, io.EOF
	}
	n, _ := g.buf.Read(p)
	g.size += int64(n)
	return n, nil
}

// entity writes side i%4 of rectangle i/4, or one of the mixed kinds.
func (g *generated) entity(i int) {
	g.handle++
	k := i / 4
	x, y := float64(k%1000)*12+0.123456789, float64(k/1000)*9+0.987654321
	head := func(kind, sub string) {
		fmt.Fprintf(&g.buf, "  0\n%s\n  5\n%X\n100\nAcDbEntity\n  8\nCUT\n100\n%s\n", kind, g.handle+100, sub)
	}
	if g.mixed && k%5 == 4 {
		switch i % 4 {
		case 0:
			head("CIRCLE", "AcDbCircle")
			fmt.Fprintf(&g.buf, " 10\n%.12f\n 20\n%.12f\n 30\n0.0\n 40\n1.5\n", x+3, y+3)
		case 1:
			head("ARC", "AcDbCircle")
			fmt.Fprintf(&g.buf, " 10\n%.12f\n 20\n%.12f\n 30\n0.0\n 40\n1.25\n100\nAcDbArc\n 50\n10.5\n 51\n170.25\n", x+8, y+3)
		default:
			head("LWPOLYLINE", "AcDbPolyline")
			fmt.Fprintf(&g.buf, " 90\n4\n 70\n1\n 43\n0.0\n")
			for c, q := range [][2]float64{{0, 0}, {2, 0}, {2, 1}, {0, 1}} {
				fmt.Fprintf(&g.buf, " 10\n%.12f\n 20\n%.12f\n", x+q[0]+float64(i%4)*3, y+6+q[1])
				if c == 1 {
					g.buf.WriteString(" 42\n0.5\n")
				}
			}
		}
		return
	}
	c := [][2]float64{{0, 0}, {10, 0}, {10, 7}, {0, 7}, {0, 0}}
	a, b := c[i%4], c[i%4+1]
	head("LINE", "AcDbLine")
	fmt.Fprintf(&g.buf, " 10\n%.12f\n 20\n%.12f\n 30\n0.0\n 11\n%.12f\n 21\n%.12f\n 31\n0.0\n", x+a[0], y+a[1], x+b[0], y+b[1])
}

func generate(n int, mixed bool) []byte {
	b, err := io.ReadAll(newGenerated(n, mixed))
	if err != nil {
		panic(err)
	}
	return b
}

// BenchmarkRead reads a whole drawing: tags, entities, joining, nesting.
func BenchmarkRead(b *testing.B) {
	for _, n := range []int{1_000, 10_000, 100_000, 1_000_000} {
		for _, mixed := range []bool{false, true} {
			b.Run(fmt.Sprintf("entities=%d/mixed=%v", n, mixed), func(b *testing.B) {
				src := generate(n, mixed)
				b.SetBytes(int64(len(src)))
				b.ResetTimer()
				for b.Loop() {
					Read(bytes.NewReader(src), "bench.dxf", Options{Limit: 1e9})
				}
			})
		}
	}
}

// parseOnly reads the file up to loose pieces.
func parseOnly(r io.Reader) *builder {
	b := newBuilder("bench.dxf", Options{}.withDefaults())
	in := newASCIISource(r)
	p := &parser{b: b, names: map[string]string{}, units: -1, metric: -1, src: in, ascii: in}
	p.run()
	return b
}

// BenchmarkParse reads tags and entities only.
func BenchmarkParse(b *testing.B) {
	for _, n := range []int{1_000, 10_000, 100_000, 1_000_000} {
		b.Run(fmt.Sprintf("entities=%d", n), func(b *testing.B) {
			src := generate(n, true)
			b.SetBytes(int64(len(src)))
			b.ResetTimer()
			for b.Loop() {
				parseOnly(bytes.NewReader(src))
			}
		})
	}
}

// BenchmarkJoin joins loose lines into outlines and nests them.
func BenchmarkJoin(b *testing.B) {
	for _, n := range []int{1_000, 10_000, 100_000, 1_000_000} {
		b.Run(fmt.Sprintf("segments=%d", n), func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				w := parseOnly(newGenerated(n, false))
				runtime.GC()
				b.StartTimer()
				w.outline()
			}
		})
	}
}

// TestPeakMemoryIsAtMostThreeTimesTheFile reads a generated drawing of a million
// entities as a stream and watches the heap.
func TestPeakMemoryIsAtMostThreeTimesTheFile(t *testing.T) {
	if os.Getenv("SPARCLEAR_LONG") == "" {
		t.Skip("SPARCLEAR_LONG is not set")
	}
	g := newGenerated(1_000_000, true)
	var d *Drawing
	took := heightAsRun(func() { d, _ = Read(g, "big.dxf", Options{Limit: 1e9}) })
	times := float64(took) / float64(g.size)
	t.Logf("%d bytes, %d outlines, peak %d bytes = %.2f × the file", g.size, len(d.Outlines), took, times)
	assert.LessOrEqual(t, times, 3.0)
}
