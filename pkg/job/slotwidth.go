package job

import (
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// oneBreath is by how much a slot must be wider than its cutter to be cut wall by
// wall, mm; below that the cutter follows the centre line.
const oneBreath = 0.05

// widened turns the centre lines of a slot wider than its cutter into the outline
// of the slot, so that planner and proof see the same area: on the inside of a
// bend the cutter leaves the band that its centre keeps on straights.
func (s *state) widened(key string, c Cut, out *work.Cut) bool {
	width := out.Options["width"]
	if out.Kind != work.Slot || len(out.Chains) == 0 || !(width >= s.w.Cutters[out.Cutter].Diameter+oneBreath) {
		return true
	}
	var gs []geom.Region
	for _, ch := range out.Chains {
		swept, err := ch.Sweep(width / 2)
		if err != nil {
			s.geomFault(key+".options", c.Name, err)
			return false
		}
		gs = append(gs, swept...)
	}
	rest := map[string]float64{}
	for k, v := range out.Options {
		if k != "width" {
			rest[k] = v
		}
	}
	out.Regions, out.Chains, out.Options = append(out.Regions, gs...), nil, rest
	return true
}
