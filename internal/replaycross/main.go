// Command replaycross prints what our reader makes of programs, as JSON, for a
// second and independent reader to agree with (replay.mjs in this folder, which
// run.sh calls). It judges nothing itself.
//
//	go run ./internal/replaycross demo.nc | node internal/replaycross/replay.mjs
package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"

	"sparclear/pkg/rs274"
)

// program is one file as our reader sees it, lengths in mm.
type program struct {
	File   string     `json:"file"`
	Moves  []move     `json:"moves"`
	End    [3]float64 `json:"end"`
	Cut    float64    `json:"cut_mm"`
	Rapid  float64    `json:"rapid_mm"`
	Low    [3]float64 `json:"low"`
	High   [3]float64 `json:"high"`
	Blocks int        `json:"blocks"`
}

// move is one motion.
type move struct {
	Line   int32      `json:"line"`
	To     [3]float64 `json:"to"`
	Length float64    `json:"length"`
	Low    [3]float64 `json:"low"`
	High   [3]float64 `json:"high"`
}

func main() {
	if err := run(os.Args[1:], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "replaycross:", err)
		os.Exit(1)
	}
}

func run(files []string, w io.Writer) error {
	out := make([]program, 0, len(files))
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			return fmt.Errorf("read program: %w", err)
		}
		r, findings := rs274.Read(f, text, rs274.Options{})
		if findings.Blocks() {
			return fmt.Errorf("replay program: %w", findings[0])
		}
		out = append(out, dump(f, r))
	}
	return json.NewEncoder(w).Encode(out)
}

func dump(file string, r *rs274.Replay) program {
	p := program{File: file, Moves: make([]move, len(r.Moves)), Blocks: r.Blocks}
	inf := math.Inf(1)
	p.Low, p.High = [3]float64{inf, inf, inf}, [3]float64{-inf, -inf, -inf}
	for i := range r.Moves {
		m := &r.Moves[i]
		low, high := m.Bounds()
		l := m.Length()
		p.Moves[i] = move{m.Line, m.To, l, low, high}
		if m.Motion == rs274.Rapid {
			p.Rapid += l
		} else {
			p.Cut += l
		}
		for k := range low {
			p.Low[k], p.High[k] = math.Min(p.Low[k], low[k]), math.Max(p.High[k], high[k])
		}
		p.End = m.To
	}
	if len(r.Moves) == 0 {
		p.Low, p.High = [3]float64{}, [3]float64{}
	}
	return p
}
