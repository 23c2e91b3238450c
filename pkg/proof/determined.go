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
	o.Start = [3]float64{o.Start[0] + 173.205, o.Start[1] - 314.159, o.Start[2] + 27.183}
	o.Parameters = map[int]float64{}
	for n := 1; n <= lastParameter; n++ {
		if n != systemInUse {
			o.Parameters[n] = 12.345 + float64(n)/1000
		}
	}
	other, _ := rs274.Read(pr.src.File, pr.src.Text, o)
	moves := pr.replay.Moves
	safe := p.w.SafeZ - roundingOf(p.w) - 1e-9
	refuse := func(i int) {
		f := diag.Finding{Code: "start-dependent", Severity: diag.Stop, Subject: pr.src.File,
			Message: "where the program goes depends on where the tip stood before, or on a parameter that it does not set",
			Help:    "go to safe height, then to X and Y, both said under G90, before going down; set every parameter that is read"}
		if i < len(moves) {
			f = p.place(f, p.w.Frame, moves[i].To, pr, i)
		}
		p.fault("", f) // no check means anything then
	}
	if other == nil || len(other.Moves) != len(moves) {
		refuse(len(moves))
		return
	}
	below := false // in either replay
	for i := range moves {
		a, b := &moves[i], &other.Moves[i]
		below = below || a.To[2] < safe || b.To[2] < safe
		if !below {
			continue
		}
		if a.Motion != b.Motion || a.Feed != b.Feed || apart3(a.From, b.From) > 1e-9 || apart3(a.To, b.To) > 1e-9 || math.Abs(a.Center[0]-b.Center[0])+math.Abs(a.Center[1]-b.Center[1]) > 1e-9 {
			refuse(i)
			return
		}
	}
}

// Parameters of NISTIR 6556, Table 2. The one that names the coordinate system in
// use must stay what it is; the others, offsets included, do not move what the
// program says in its own coordinates, unless it reads them.
const (
	lastParameter = 5399
	systemInUse   = 5220
)

func apart3(a, b [3]float64) float64 {
	return math.Abs(a[0]-b[0]) + math.Abs(a[1]-b[1]) + math.Abs(a[2]-b[2])
}
