package drawing

import (
	"bytes"
	"io"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"testing"
	"time"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// checkRead holds whatever was read to its promises: no finding without code
// and message, every outline closed, finite and oriented, nothing read silently.
func checkRead(t *testing.T, d *Drawing, found diag.List) {
	t.Helper()
	for _, f := range found {
		if f.Code == "" || f.Message == "" {
			t.Fatalf("a finding says nothing: %+v", f)
		}
	}
	for _, o := range d.Outlines {
		if len(o.Region.Outer) < 2 || !(o.Region.Outer.Area() > 0) {
			t.Fatalf("outline of area %v", o.Region.Outer.Area())
		}
		for _, h := range o.Region.Holes {
			if !(h.Area() < 0) {
				t.Fatalf("hole of area %v", h.Area())
			}
		}
		for _, c := range o.Region.Contours() {
			for _, v := range c {
				checkPoint(t, v.Point)
			}
		}
	}
	for _, c := range d.Open {
		if len(c.Chain) < 2 {
			t.Fatal("a chain of nothing")
		}
		for _, v := range c.Chain {
			checkPoint(t, v.Point)
		}
	}
	if len(d.Outlines)+len(d.Open)+len(d.Points) == 0 && !found.Blocks() {
		t.Fatal("an empty drawing without a word")
	}
	for _, l := range d.Layers {
		_, _ = d.Layer(l.Name)
	}
}

// bounded reads src and holds the memory that this takes against the promise of
// no more than 20 times the input. Beside it stand what any read takes, and what
// a few bytes may ask for: arrays of blocks and curves draw pieces that do not
// stand in the file, a limited number of them. All that is ever asked for must
// stay within that and a little; where it does not, the height must.
func bounded(t *testing.T, src []byte, read func() (*Drawing, diag.List)) (*Drawing, diag.List) {
	t.Helper()
	d, found, asked := asking(read)
	pieces := drawnByFew(t, d, src)
	if asked <= uint64(20*len(src)+32<<20+perPiece*pieces) {
		return d, found
	}
	holdHeight(t, src, pieces, read)
	return d, found
}

// perPiece is what a piece may take that an array or a curve draws, bytes: it is
// a vertex of an outline in the end, and ends, steps and boxes on the way.
const perPiece = 1000

// mostGranted is what all such pieces may take, bytes: see mostDrawn.
const mostGranted = 64 << 20

// drawnByFew returns how many pieces do not stand in the file.
func drawnByFew(t *testing.T, d *Drawing, src []byte) int {
	pieces := max(0, d.Join.Pieces+len(d.Points)-len(src)/20)
	if pieces > mostDrawn+len(src) {
		t.Fatalf("%d pieces drawn by %d bytes", pieces, len(src))
	}
	return pieces
}

// asking returns how many bytes of memory a read asked for in all.
func asking(read func() (*Drawing, diag.List)) (*Drawing, diag.List, uint64) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	d, found := read()
	runtime.ReadMemStats(&after)
	return d, found, after.TotalAlloc - before.TotalAlloc
}

// holdHeight fails where a read takes more than 20 times the input at its height.
func holdHeight(t *testing.T, src []byte, pieces int, read func() (*Drawing, diag.List)) {
	t.Helper()
	limit := uint64(20*len(src) + 4<<20 + min(perPiece*pieces, mostGranted))
	took := heightOf(func() { read() })
	for range 4 { // a collector that lags behind counts what is long free
		if took > limit {
			took = min(took, heightOf(func() { read() }))
		}
	}
	if took > limit {
		t.Fatalf("%d bytes of memory for %d bytes of input and %d pieces drawn by arrays and curves; %d are granted", took, len(src), pieces, limit)
	}
}

// heightOf returns how many bytes of heap were in use by f at its height, as the
// collector finds them, which runs all the time meanwhile.
func heightOf(f func()) uint64 {
	defer debug.SetGCPercent(debug.SetGCPercent(5))
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	return height(f, func() uint64 {
		metrics.Read(live)
		return live[0].Value.Uint64()
	})
}

// heightAsRun returns how many bytes of heap f takes at its height, garbage that
// lies about included.
func heightAsRun(f func()) uint64 {
	return height(f, func() uint64 {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapInuse
	})
}

func height(f func(), now func() uint64) uint64 {
	runtime.GC()
	before := now()
	stop, done := make(chan struct{}), make(chan uint64)
	go func() {
		height := uint64(0)
		for {
			height = max(height, now())
			select {
			case <-stop:
				done <- height
				return
			case <-time.After(500 * time.Microsecond):
			}
		}
	}()
	f()
	stop <- struct{}{}
	if h := <-done; h > before {
		return h - before
	}
	return 0
}

func checkPoint(t *testing.T, p geom.Point) {
	t.Helper()
	if !p.Finite() {
		t.Fatalf("a vertex at %v", p)
	}
}

func fuzzOptions(flags uint8) Options {
	o := Options{Hidden: flags&1 != 0, Paper: flags&2 != 0, Hatches: flags&4 != 0, WideOutlines: flags&8 != 0}
	if flags&16 != 0 {
		o.Units = "inch"
	}
	if flags&32 != 0 {
		o.JoinTol = 1
	}
	return o
}

func FuzzReadASCII(f *testing.F) {
	f.Add([]byte(dxfOf("0 LWPOLYLINE 8 A 90 4 70 1 10 0 20 0 10 9 20 0 42 0.5 10 9 20 9 10 0 20 9")), uint8(0))
	f.Add([]byte(dxfOf("0 ELLIPSE 8 A 10 0 20 0 11 10 21 0 40 0.5 41 0 42 3")), uint8(1))
	f.Add([]byte(dxfOf("0 SPLINE 8 A 70 8 71 2 40 0 40 0 40 0 40 1 40 1 40 1 10 0 20 0 10 5 20 9 10 9 20 0")), uint8(2))
	f.Add([]byte(dxfOf("0 SPLINE 8 A 70 0 71 3 11 0 21 0 11 5 21 9 11 9 21 0 11 3 21 -4")), uint8(0))
	f.Add([]byte(dxfOf("0 HATCH 8 A 91 1 92 2 72 1 73 1 93 3 10 0 20 0 42 0.2 10 9 20 0 42 0 10 9 20 9 42 0 97 0")), uint8(4))
	f.Add([]byte(dxfOf("0 POLYLINE 8 A 66 1 70 1 40 2 41 2 0 VERTEX 8 A 10 0 20 9 42 1 0 VERTEX 8 A 10 9 20 9 0 SEQEND")), uint8(8))
	f.Add([]byte("0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nB\n10\n1\n20\n1\n0\nCIRCLE\n8\n0\n10\n1\n20\n1\n40\n1\n0\nENDBLK\n0\nENDSEC\n"+
		"0\nSECTION\n2\nENTITIES\n0\nINSERT\n8\nA\n2\nB\n10\n5\n20\n5\n41\n2\n42\n-1\n50\n30\n70\n3\n71\n2\n44\n10\n45\n9\n0\nENDSEC\n0\nEOF\n"), uint8(16))
	f.Fuzz(func(t *testing.T, src []byte, flags uint8) {
		d, found := bounded(t, src, func() (*Drawing, diag.List) {
			return Read(bytes.NewReader(src), "fuzz.dxf", fuzzOptions(flags))
		})
		checkRead(t, d, found)
	})
}

func FuzzReadBinary(f *testing.F) {
	f.Add([]byte("\x00SECTION\x00\x02ENTITIES\x00\x00CIRCLE\x00\x08A\x00\x0a\x00\x00\x00\x00\x00\x00\xf0?\x14\x00\x00\x00\x00\x00\x00\x00@"+
		"\x28\x00\x00\x00\x00\x00\x00\x08@\x00ENDSEC\x00\x00EOF\x00"), uint8(0))
	f.Add([]byte("\x00\x00SECTION\x00\x02\x00ENTITIES\x00\x00\x00LINE\x00\x08\x00A\x00\x0a\x00\x00\x00\x00\x00\x00\x00\xf0?"+
		"\x14\x00\x00\x00\x00\x00\x00\x00\x00@\x0b\x00\x00\x00\x00\x00\x00\x00\x08@\x15\x00\x00\x00\x00\x00\x00\x00\x08@\x00\x00ENDSEC\x00\x00\x00EOF\x00"), uint8(1))
	f.Fuzz(func(t *testing.T, src []byte, flags uint8) {
		d, found := bounded(t, src, func() (*Drawing, diag.List) {
			return Read(io.MultiReader(bytes.NewReader(sentinel), bytes.NewReader(src)), "fuzz.dxf", fuzzOptions(flags))
		})
		checkRead(t, d, found)
	})
}

func FuzzReadSVG(f *testing.F) {
	f.Add([]byte(`<svg width="100mm" height="50mm" viewBox="0 0 100 50"><g id="A" transform="rotate(30 5 5) scale(2)">`+
		`<path d="M0 0h10v10a5 3 20 0 1-10 0zm2 2q1 1 2 0t2 0c1 1 2 1 3 0s2-1 3 0"/><rect x="1" y="2" width="8" height="4" rx="1"/></g></svg>`), uint8(0))
	f.Add([]byte(`<svg width="1in" height="1in"><defs><circle id="c" r="4"/></defs><use href="#c" x="9"/><ellipse rx="3" ry="2"/>`+
		`<polygon points="0,0 9,0 9,9"/><line x2="5" y2="7"/></svg>`), uint8(1))
	f.Add([]byte(`<svg><g id="a"><use href="#a"/></g></svg>`), uint8(16))
	f.Fuzz(func(t *testing.T, src []byte, flags uint8) {
		d, found := bounded(t, src, func() (*Drawing, diag.List) { return ReadSVG(bytes.NewReader(src), "fuzz.svg", fuzzOptions(flags)) })
		checkRead(t, d, found)
	})
}
