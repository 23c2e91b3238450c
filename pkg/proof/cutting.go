package proof

import (
	"math"

	"sparclear/pkg/work"
)

// Cutting is how hard one cut is worked, from the replay: speeds, feeds along the
// path in the material (lowest, highest; of a drill, down), and what follows from them. Chip is feed
// per tooth, of a cutter without countable teeth feed per turn. Pass is how much
// deeper one pass goes than what was cleared before, Step what the cut asks for.
type Cutting struct {
	Cut      string     `json:"cut"`
	Cutter   int        `json:"cutter"`
	RPM      [2]float64 `json:"rpm"`
	RPMAsked float64    `json:"rpm_asked"`
	Feed     [2]float64 `json:"feed_mm_min"`
	Asked    float64    `json:"feed_asked_mm_min"`
	Down     float64    `json:"down_mm_min"` // fastest on the way down
	Plunge   float64    `json:"plunge_asked_mm_min"`
	Chip     [2]float64 `json:"chip_mm"`
	Pass     float64    `json:"pass_mm"`
	Step     float64    `json:"step_mm"`
	Path     float64    `json:"path_mm"` // in the material
}

// teeth is by how many cuts a turn is shared.
func teeth(flutes int) float64 { return math.Max(1, float64(flutes)) }

// worked adds a move in the material to what is told of its cut.
func (p *prover) worked(cut, tool int, rpm, feed, length, dz float64) {
	c := &p.w.Cuts[cut]
	t := p.tools[tool].cutter
	k := &p.cutting[cut]
	if k.Cut == "" {
		*k = Cutting{Cut: c.Name, Cutter: t.Number, RPM: [2]float64{rpm, rpm}, RPMAsked: c.RPM, Feed: [2]float64{math.Inf(1), 0}, Asked: c.Feed, Plunge: c.Plunge, Step: c.Step}
	}
	k.Path += length
	k.RPM = [2]float64{math.Min(k.RPM[0], rpm), math.Max(k.RPM[1], rpm)}
	if dz < 0 && length > 0 {
		k.Down = math.Max(k.Down, feed*-dz/length)
	}
	if steep := math.Abs(dz) > length/2; steep != (c.Kind == work.Drill) {
		return // mostly down or up: no feed along the path
	}
	k.Feed = [2]float64{math.Min(k.Feed[0], feed), math.Max(k.Feed[1], feed)}
	chip := feed / (rpm * teeth(t.Flutes))
	if k.Chip[1] == 0 {
		k.Chip[0] = chip
	}
	k.Chip = [2]float64{math.Min(k.Chip[0], chip), math.Max(k.Chip[1], chip)}
}

// tellCutting writes what was added into the certificate.
func (p *prover) tellCutting(most []engaged) {
	for i, k := range p.cutting {
		if k.Cut == "" {
			continue
		}
		if math.IsInf(k.Feed[0], 1) {
			k.Feed = [2]float64{}
		}
		k.Pass, k.Step = micro(most[i].deep), micro(k.Step)
		k.Path, k.Down = micro(k.Path), micro(k.Down)
		k.Chip = [2]float64{micro(k.Chip[0]), micro(k.Chip[1])}
		for _, v := range [...]*float64{&k.RPM[0], &k.RPM[1], &k.Feed[0], &k.Feed[1], &k.Down, &k.Path} {
			*v = number(*v)
		}
		p.cert.Cutting = append(p.cert.Cutting, k)
	}
}
