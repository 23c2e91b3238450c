package picture

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"

	"sparclear/pkg/rs274"
)

// Units of the numbers of a film.
const (
	filmLength = 1e4 // steps to the mm
	filmAngle  = 1e6 // steps to the rad
	filmTime   = 1e3 // steps to the s
)

// Bits that describe a move of a film; the program's number stands above them.
const (
	filmRapid   = 1 << iota
	filmArc         // has a centre and a sweep
	filmJump        // begins elsewhere than where the last one ended
	filmProgram = 3 // bits below the program's number
)

// packed is head, columns of numbers and program text, compressed, in base64: the
// length of the head in four bytes, the head as JSON, then column after column.
func (s Scene) packed(rs []run) (string, error) {
	head, err := json.Marshal(s.filmHead(rs))
	if err != nil {
		return "", fmt.Errorf("film: %w", err)
	}
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return "", fmt.Errorf("film: %w", err)
	}
	raw := binary.LittleEndian.AppendUint32(nil, uint32(len(head)))
	raw = append(raw, head...)
	for _, c := range s.columns(rs) {
		raw = append(raw, c...)
	}
	for i, p := range s.Programs {
		if i > 0 {
			raw = append(raw, '\f')
		}
		raw = append(raw, bytes.ReplaceAll(p.Text, []byte("\r"), nil)...)
	}
	if _, err := z.Write(raw); err != nil {
		return "", fmt.Errorf("film: %w", err)
	}
	if err := z.Close(); err != nil {
		return "", fmt.Errorf("film: %w", err)
	}
	return base64.StdEncoding.EncodeToString(b.Bytes()), nil
}

// column is a row of whole numbers, each kept as its difference from the one
// before in as few bytes as will do (signs in the lowest bit, seven bits a byte).
type column struct {
	bytes []byte
	last  int64
}

func (c *column) put(v, unit float64) {
	k := int64(math.Round(v * unit))
	c.bytes = binary.AppendVarint(c.bytes, k-c.last)
	c.last = k
}

// columns are the moves, one column a property, in the order in which the script
// reads them: bits, X, Y and Z of the end, where the move ends in time, depth,
// line, cutter; for moves that jump X, Y and Z of the start; for arcs the centre
// and the sweep.
func (s Scene) columns(rs []run) [][]byte {
	var bits, x, y, z, clock, depth, line, tool, x0, y0, z0, cx, cy, sweep column
	var at [3]float64
	now := 0.0
	for i, r := range rs {
		waits := waitsOf(r)
		for k, m := range r.moves {
			now += waits[k] + float64(r.times.Moves[k])
			flags := i << filmProgram
			if m.rapid {
				flags |= filmRapid
			}
			turn := m.sweep()
			if turn != 0 {
				flags |= filmArc
				cx.put(m.center.X, filmLength)
				cy.put(m.center.Y, filmLength)
				sweep.put(turn, filmAngle)
			}
			if start := [3]float64{m.seg.A.X, m.seg.A.Y, m.z0}; start != at {
				flags |= filmJump
				x0.put(start[0], filmLength)
				y0.put(start[1], filmLength)
				z0.put(start[2], filmLength)
			}
			at = [3]float64{m.seg.B.X, m.seg.B.Y, m.z1}
			bits.put(float64(flags), 1)
			x.put(at[0], filmLength)
			y.put(at[1], filmLength)
			z.put(at[2], filmLength)
			clock.put(now, filmTime)
			depth.put(m.deepest(), filmTime)
			line.put(float64(m.line), 1)
			tool.put(float64(max(0, m.cutter)), 1)
		}
	}
	var out [][]byte
	for _, c := range []column{bits, x, y, z, clock, depth, line, tool, x0, y0, z0, cx, cy, sweep} {
		out = append(out, c.bytes)
	}
	return out
}

// sweep is the signed turn of an arc in the plane, rad, 0 for a line.
func (t step) sweep() float64 {
	if !t.whole {
		return t.seg.Sweep()
	}
	if t.ccw {
		return 2 * math.Pi
	}
	return -2 * math.Pi
}

// waitsOf puts the waits of a program before its moves: dwells where they are,
// what else the machine waits (spindle, changer) at the start.
func waitsOf(r run) []float64 {
	out := make([]float64, len(r.moves))
	if len(out) == 0 {
		return out
	}
	out[0] = r.times.Wait
	for _, e := range r.play.Events {
		if i := min(int(e.Before), len(out)-1); e.Kind == rs274.Dwell {
			out[0] -= e.Value
			out[i] += e.Value
		}
	}
	return out
}
