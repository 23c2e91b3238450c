// Package touchsim is a router that exists in memory only: it runs the text of a
// touch-off program on a true work, stops its probe where it touches, and writes
// down what its display shows at each pause. It reads the few words that such a
// program uses by itself, so that no reader of ours is trusted, and it fails when
// the probe is dragged: that is what a real one would break by. For tests.
package touchsim

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"sparclear/pkg/geom"
)

// Round is an upright pin or a hole in the work.
type Round struct {
	At       geom.Point
	Diameter float64
	Hole     bool
	Top      float64 // of a pin; a hole ends at the skin
}

// Edge is the border of the work: the work lies to the left of From → To.
type Edge struct {
	From, To geom.Point
	Top      float64
}

// Work is the truth.
type Work struct {
	Skin   func(geom.Point) float64
	Rounds []Round
	Edges  []Edge
	Ball   float64        // radius of the probe's tip, mm
	Noise  func() float64 // of one reading, mm; nil = none
}

// router is where the tip is and how it moves.
type router struct {
	work     Work
	at       [3]float64
	relative bool
	motion   string
	note     string
	log      strings.Builder
}

const (
	step      = 0.002 // mm
	edgeWidth = 5.0   // of the rim that stands up to the top of an edge; farther in there is skin
	drag      = 0.01  // mm that a tip may be pushed into the work by a move that does not probe
)

// Run runs a program from a tip at start and returns the log: one line for each
// pause that asks for a note, such as "X12.503 Y40.000 Z24.000 (datum 1 root pin)".
func (w Work) Run(program string, start [3]float64) (string, error) {
	r := router{work: w, at: start}
	for n, line := range strings.Split(program, "\n") {
		if err := r.line(strings.TrimSpace(line)); err != nil {
			return r.log.String(), fmt.Errorf("line %d, %q: %w", n+1, line, err)
		}
	}
	return r.log.String(), nil
}

func (r *router) line(line string) error {
	if after, ok := strings.CutPrefix(line, "(MSG,note "); ok {
		_, r.note, _ = strings.Cut(strings.TrimSuffix(after, ")"), " of ")
		return nil
	}
	if line == "" || line[0] == '(' || line == "%" {
		return nil
	}
	to, moves := r.at, false
	for _, word := range strings.Fields(line) {
		v, err := strconv.ParseFloat(word[1:], 64)
		if err != nil {
			return err
		}
		switch {
		case word == "G0" || word == "G1" || word == "G38.2":
			r.motion = word
		case word == "G90":
			r.relative = false
		case word == "G91":
			r.relative = true
		case word == "M0":
			if r.note != "" {
				fmt.Fprintf(&r.log, "X%.3f Y%.3f Z%.3f (%s)\n", r.read(0), r.read(1), r.read(2), r.note)
				r.note = ""
			}
		case strings.ContainsRune("XYZ", rune(word[0])):
			k := strings.IndexByte("XYZ", word[0])
			moves = true
			if to[k] = v; r.relative {
				to[k] += r.at[k]
			}
		}
	}
	if moves {
		return r.move(to)
	}
	return nil
}

func (r *router) read(k int) float64 {
	if r.work.Noise == nil {
		return r.at[k]
	}
	return r.at[k] + r.work.Noise()
}

// move goes straight to a place; a probe stops where it touches.
func (r *router) move(to [3]float64) error {
	from := r.at
	length := math.Sqrt((to[0]-from[0])*(to[0]-from[0]) + (to[1]-from[1])*(to[1]-from[1]) + (to[2]-from[2])*(to[2]-from[2]))
	n := 1 + int(length/step)
	for i := 1; i <= n; i++ {
		f := float64(i) / float64(n)
		for k := range 3 {
			r.at[k] = from[k] + f*(to[k]-from[k])
		}
		switch in := r.work.inside(r.at); {
		case r.motion == "G38.2" && in > 0:
			return nil
		case r.motion != "G38.2" && in > drag:
			return fmt.Errorf("the tip is driven into the work at X%.2f Y%.2f Z%.2f", r.at[0], r.at[1], r.at[2])
		}
	}
	r.at = to
	if r.motion == "G38.2" {
		return fmt.Errorf("the probe has touched nothing")
	}
	return nil
}

// inside returns how far the tip is pushed into the work, mm; 0 or less: it is free.
func (w Work) inside(at [3]float64) float64 {
	p := geom.Pt(at[0], at[1])
	into := w.Skin(p) - at[2]
	for _, h := range w.Rounds {
		d := p.Dist(h.At)
		switch {
		case h.Hole && d < h.Diameter/2:
			into = math.Min(into, d-(h.Diameter/2-w.Ball))
		case !h.Hole:
			into = math.Max(into, math.Min(h.Diameter/2+w.Ball-d, h.Top-at[2]))
		}
	}
	for _, e := range w.Edges {
		d := e.To.Sub(e.From).Unit().Cross(p.Sub(e.From)) // positive over the work
		if d < edgeWidth {
			into = math.Max(into, math.Min(d+w.Ball, e.Top-at[2]))
		}
	}
	return into
}
