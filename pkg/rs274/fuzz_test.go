package rs274_test

import (
	"math"
	"strings"
	"testing"

	"sparclear/pkg/rs274"
)

// FuzzRead holds any text against the promises of Read: it ends, keeps its
// memory, places each finding in the text and gives moves that join up.
func FuzzRead(f *testing.F) {
	for _, tc := range broken {
		if len(tc.text) < 300 {
			f.Add([]byte(tc.text))
		}
	}
	f.Add([]byte("f1 g41 d1 g1 x9\ng2 x12 y-3 j-3\ng1 y-9 z2\ng3 y-20 r9\ng40 x0\nm2"))
	f.Add([]byte("%\nn10 g20 g17 g90 (head)\ng2 x1 y[2*#3] i.5 j-1 f10\n/m30\n%"))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, fs := rs274.Read("p", text, rs274.Options{Tools: map[int]rs274.Tool{1: {Length: 10, Diameter: 2}}})
		lines := strings.Count(string(text), "\n") + strings.Count(string(text), "\r") + 2
		for _, x := range fs {
			p := x.At[0]
			if p.Line < 1 || p.Line > lines || p.Col < 1 || p.Col > len(text)+1 {
				t.Fatalf("%s at %d:%d of a text with %d lines", x.Code, p.Line, p.Col, lines)
			}
		}
		if len(r.Moves) > 2_000_000+2*len(text) {
			t.Fatalf("%d moves from %d bytes", len(r.Moves), len(text))
		}
		for i := range r.Moves {
			m := &r.Moves[i]
			if int(m.State) >= len(r.States) || m.Line < 1 || int(m.Line) > lines {
				t.Fatalf("move %d: state %d of %d, line %d of %d", i, m.State, len(r.States), m.Line, lines)
			}
			l := m.Length()
			if math.IsNaN(l) || math.IsInf(l, 0) || math.IsNaN(m.Feed) || m.Feed < 0 || (m.Motion != rs274.Rapid && l > 0 && m.Feed == 0) {
				t.Fatalf("move %d: length %g, feed %g", i, l, m.Feed)
			}
			if i > 1000 {
				break
			}
		}
		for i := 1; i < len(r.Events); i++ {
			if r.Events[i].Before < r.Events[i-1].Before || int(r.Events[i].Before) > len(r.Moves) {
				t.Fatalf("event %d is out of order", i)
			}
		}
	})
}
