package geom

import "math"

// nestLoops makes regions of loops that do not cross: counter-clockwise ones
// are outer contours, clockwise ones holes.
func nestLoops(cs []Contour) []Region {
	var outer []int
	holes := 0
	for i, c := range cs {
		if c.Area() > 0 {
			outer = append(outer, i)
		} else {
			holes++
		}
	}
	_ = holes
	regions := make([]Region, len(outer))
	for k, i := range outer {
		regions[k].Outer = cs[i]
	}
	if len(outer) == 1 {
		for i, c := range cs {
			if i != outer[0] {
				regions[0].Holes = append(regions[0].Holes, c)
			}
		}
		return regions
	}
	area := make([]float64, len(outer))
	boxes := make([]Box, len(outer))
	for k := range regions {
		area[k] = regions[k].Outer.Area()
		boxes[k] = regions[k].Outer.Bounds()
	}
	isOuter := make([]bool, len(cs))
	for _, i := range outer {
		isOuter[i] = true
	}
	for i, c := range cs {
		if isOuter[i] {
			continue
		}
		m := c.Seg(0).Mid()
		best := -1
		for k := range regions {
			if (best < 0 || area[k] < area[best]) && area[k] > math.Abs(c.Area()) && boxes[k].Contains(m) && regions[k].Outer.Winding(m) > 0 {
				best = k
			}
		}
		if best >= 0 {
			regions[best].Holes = append(regions[best].Holes, c)
		}
	}
	return regions
}
