package nest

import "math"

// around is the parts that lie about a place: while positions close to each other
// are tried, only these need to be asked.
type around struct {
	x, y, rx, ry float64 // window
	bin          int32
	list         []neighbour
}

// neighbour is a part in the window, and the weight of its pair.
type neighbour struct {
	x, y, hw, hh, weight float64
	v                    int32
}

// look lists what lies within reach of item i as candidate c places it.
func (w *worker) look(i int, c *place, reach float64) {
	s, n := w.state, &w.about
	sh := w.s.cat.shapes[c.v]
	n.x, n.y, n.rx, n.ry, n.bin = c.x, c.y, sh.hw+reach, sh.hh+reach, c.bin
	n.list = n.list[:0]
	weights := w.s.weights[i*w.s.stride : (i+1)*w.s.stride]
	for j := range s.x {
		if math.Abs(s.x[j]-c.x) >= n.rx+s.hw[j] || math.Abs(s.y[j]-c.y) >= n.ry+s.hh[j] || j == i || s.bin[j] != c.bin {
			continue
		}
		n.list = append(n.list, neighbour{s.x[j], s.y[j], s.hw[j], s.hh[j], float64(weights[j]), s.v[j]})
	}
}

// costAbout is cost for candidates that lie close to each other.
func (w *worker) costAbout(i int, c *place, bound float64) float64 {
	p := w.s.problem
	cat, n := p.cat, &w.about
	w.tried += cat.price
	sh := cat.shapes[c.v]
	hw, hh, x, y := sh.hw, sh.hh, c.x, c.y
	if c.bin != n.bin || math.Abs(x-n.x)+hw > n.rx || math.Abs(y-n.y)+hh > n.ry {
		w.look(i, c, float64(0.5*math.Min(hw, hh)))
	}
	sum := 0.0
	for k := range n.list {
		o := &n.list[k]
		dx, dy := o.x-x, o.y-y
		if math.Abs(dx) >= hw+o.hw || math.Abs(dy) >= hh+o.hh {
			continue
		}
		if q := cat.at(c.v, o.v, dx, dy); q > 0 {
			sum += float64(q * o.weight)
			if sum >= bound {
				return math.Inf(1)
			}
		}
	}
	return w.costGround(i, c, sum, bound)
}

// costGround adds what forbidden ground costs.
func (w *worker) costGround(i int, c *place, sum, bound float64) float64 {
	p := w.s.problem
	obst := p.bins[c.bin].obst
	if len(obst) == 0 {
		return sum
	}
	sh := p.cat.shapes[c.v]
	weights := w.s.weights[i*w.s.stride+len(p.items):]
	for k, o := range obst {
		if q := p.obstacleCost(c.v, c.x, c.y, sh.hw, sh.hh, o); q > 0 {
			sum += float64(q * float64(weights[k]))
			if sum >= bound {
				return math.Inf(1)
			}
		}
	}
	return sum
}
