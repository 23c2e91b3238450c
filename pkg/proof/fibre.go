package proof

import (
	"math"

	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// Fibre states how the edges of a part or cut meet the fibre of the top ply: what
// the job says, not what the programs show. Angles are those between the way of the
// tooth along the finished wall and the fibre, 0 to 180; beyond 90 it cuts against
// the fibre.
type Fibre struct {
	Of        string         `json:"of"`            // part or cut
	DirDeg    float64        `json:"direction_deg"` // of the 0° fibre from +X of the machine
	EdgeMM    float64        `json:"edge_mm"`
	AgainstMM float64        `json:"against_mm"`
	Histogram []float64      `json:"histogram_mm"` // by classes of 15°
	Stretches []FibreStretch `json:"stretches,omitempty"`
}

// FibreStretch is a stretch of edge that is cut against the fibre; the longest
// come first.
type FibreStretch struct {
	From   [2]float64 `json:"from_machine_mm"`
	To     [2]float64 `json:"to_machine_mm"`
	Length float64    `json:"length_mm"`
	Angles [2]float64 `json:"angles_deg"` // at its ends
}

// fibreOf gathers the reports of a work, parts first.
func fibreOf(w *work.Work) (out []Fibre) {
	for _, p := range w.Parts {
		if p.Fibre != nil {
			out = append(out, fibreFrom(p.Name, *p.Fibre))
		}
	}
	for _, c := range w.Cuts {
		if c.Fibre != nil {
			out = append(out, fibreFrom(c.Name, *c.Fibre))
		}
	}
	return out
}

func fibreFrom(name string, r shop.FibreReport) Fibre {
	f := Fibre{Of: name, DirDeg: micro(r.Direction * 180 / math.Pi), EdgeMM: micro(r.Length), AgainstMM: micro(r.Against)}
	for _, l := range r.Histogram {
		f.Histogram = append(f.Histogram, micro(l))
	}
	for _, s := range r.Bad {
		f.Stretches = append(f.Stretches, FibreStretch{[2]float64{micro(s.From.X), micro(s.From.Y)}, [2]float64{micro(s.To.X), micro(s.To.Y)}, micro(s.Length),
			[2]float64{micro(s.Start * 180 / math.Pi), micro(s.End * 180 / math.Pi)}})
	}
	return f
}
