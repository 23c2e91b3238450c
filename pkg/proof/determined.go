package proof

import (
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/rs274"
)

// determined refuses a program that says only together with something unknown
// where it goes: where the tip stood before it began, or what a parameter held
// that it never set. It is replayed once more from another place and with other
// values; from the first move below safe height on, every move must be the same.
func (p *prover) determined(pr *program, o rs274.Options) {
	other := o
	other.Start = [3]float64{o.Start[0] + 173.205, o.Start[1] - 314.159, o.Start[2] + 27.183}
	other.Parameters = map[int]float64{}
	for n := 1; n <= lastParameter; n++ {
		if n != systemInUse && !(p.w.Origin != nil && isOrigin(n)) {
			other.Parameters[n] = 12.345 + float64(n)/1000
		}
	}
	for n, v := range o.Parameters {
		other.Parameters[n] = v
	}
	moves := pr.replay.Moves
	safe := p.w.SafeZ - roundingOf(p.w) - 1e-9
	below := false // in either replay
	at := len(moves)
	if rs274.Twins(pr.src.File, pr.src.Text, o, other, pr.replay, func(i int, a, b *rs274.Move) bool {
		at = i
		below = below || a.To[2] < safe || b.To[2] < safe
		return !below || a.Motion == b.Motion && a.Feed == b.Feed && apart3(a.From, b.From) <= 1e-9 && apart3(a.To, b.To) <= 1e-9 &&
			math.Abs(a.Center[0]-b.Center[0])+math.Abs(a.Center[1]-b.Center[1]) <= 1e-9
	}) {
		return
	}
	f := diag.Finding{Code: "start-dependent", Severity: diag.Stop, Subject: pr.src.File,
		Message: "where the program goes depends on where the tip stood before, or on a parameter that it does not set",
		Help:    "go to safe height, then to X and Y, both said under G90, before going down; set every parameter that is read"}
	if at < len(moves) {
		f = p.place(f, p.w.Frame, moves[at].To, pr, at)
	}
	p.fault("", f) // no check means anything then
}

// Parameters of NISTIR 6556, Table 2. The one that names the coordinate system in
// use must stay what it is; the others, offsets included, do not move what the
// program says in its own coordinates, unless it reads them.
const (
	lastParameter = 5399
	systemInUse   = 5220
)

// isOrigin tells whether a parameter is part of where the program's zero lies in
// machine coordinates: G54's origin and what G92 shifts. The job's origin is the
// sum of both.
func isOrigin(n int) bool { return n >= 5221 && n <= 5223 || n >= 5211 && n <= 5213 }

func apart3(a, b [3]float64) float64 {
	return math.Abs(a[0]-b[0]) + math.Abs(a[1]-b[1]) + math.Abs(a[2]-b[2])
}
