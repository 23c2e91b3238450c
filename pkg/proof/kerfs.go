package proof

import (
	"cmp"
	"math"
	"slices"

	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
)

// kerf is one connected place that was cut through, whichever cuts its moves
// belong to. A piece of the work is bounded outside by one kerf, or by those that
// run out of the stock together with its edge: each is looked at by itself, and
// nothing that several cuts free together is lost between them.
type kerf struct {
	number int      // of its first way
	box    geom.Box // of the axis
	least  float64  // smallest radius of a cutter in it, mm
	most   float64  // largest
	flat   bool     // every cutter in it is as wide at its tip as above
	edge   bool     // it runs out of the stock
	cuts   []int    // whose moves make it
}

// way is a move that may go through.
type way struct{ prog, move int32 }

func compareWays(a, b way) int {
	return cmp.Or(cmp.Compare(a.prog, b.prog), cmp.Compare(a.move, b.move))
}

// kerfs are all kerfs of the work, and to which each way belongs.
type kerfs struct {
	p      *prover
	ways   []way // in the order in which they run
	parent []int32
	list   []kerf
}

// foil is the thickness below which what lies between two kerfs is certain to
// count as cut, mm: such a web holds nothing, and the cutter grinds it away.
const foil = 0.1

// throughDepth is the depth from which a move takes material to the lower face, as
// thin as the work may be, mm.
func (p *prover) throughDepth() float64 { return p.w.Thickness - p.w.ThickTol - 1e-4 }

// findKerfs joins what is cut through.
func (p *prover) findKerfs() *kerfs {
	k := &kerfs{p: p}
	need := p.throughDepth()
	for n, pr := range p.progs {
		for j := range pr.replay.Moves {
			m := &pr.replay.Moves[j]
			v := p.verdicts[n][j]
			if v.cut < 0 || m.Motion == rs274.Rapid || float64(v.deep)+1e-4 < need {
				continue
			}
			i := int32(len(k.ways))
			k.ways, k.parent = append(k.ways, way{int32(n), int32(j)}), append(k.parent, i)
			if i > 0 && k.ways[i-1] == (way{int32(n), int32(j) - 1}) {
				k.join(i-1, i) // it begins where the last one ended
			}
		}
	}
	k.meet()
	k.gather()
	for i := range k.parent {
		k.parent[i] = k.root(int32(i)) // read from several places at once from here on
	}
	return k
}

func (k *kerfs) root(i int32) int32 {
	for k.parent[i] != i {
		k.parent[i] = k.parent[k.parent[i]]
		i = k.parent[i]
	}
	return i
}

// join makes two ways one kerf; the smallest number stands for all.
func (k *kerfs) join(a, b int32) {
	a, b = k.root(a), k.root(b)
	k.parent[max(a, b)] = min(a, b)
}

// of returns the number of the kerf that a move belongs to, -1 for none.
func (k *kerfs) of(prog, move int32) int {
	i, ok := slices.BinarySearchFunc(k.ways, way{prog, move}, compareWays)
	if !ok {
		return -1
	}
	return int(k.parent[i])
}

func (k *kerfs) move(i int32) *rs274.Move {
	w := k.ways[i]
	return &k.p.progs[w.prog].replay.Moves[w.move]
}

func (k *kerfs) radius(i int32) float64 {
	w := k.ways[i]
	return k.p.radiusOf(k.p.progs[w.prog].toolOf(int(w.move)))
}

// joinGap is the width of a web between two kerfs below which they are taken for
// one, mm: no less than what the cells of a window can tell apart.
func joinGap(a, b float64) float64 { return foil + math.Min(a, b)/2 }

// meet joins ways that come within a web's width of each other. Ways are sorted
// into squares a few diameters wide, grown so that two that meet share one.
func (k *kerfs) meet() {
	side := 2.0
	for i := range k.p.tools {
		side = math.Max(side, 4*k.p.radiusOf(i))
	}
	type entry struct {
		x, y int32
		way  int32
	}
	var all []entry
	for i := range k.ways {
		c := newCurve(k.move(int32(i)))
		r := k.radius(int32(i))
		r += joinGap(r, r)
		n := c.parts() * (1 + int(math.Min(c.length()/side, 1e5)))
		for a := range n {
			p := c.piece(float64(a)/float64(n), float64(a+1)/float64(n))
			b := p.box.Grow(r + p.slack)
			for x := int32(math.Floor(b.Min.X / side)); x <= int32(math.Floor(b.Max.X/side)); x++ {
				for y := int32(math.Floor(b.Min.Y / side)); y <= int32(math.Floor(b.Max.Y/side)); y++ {
					if e := (entry{x, y, int32(i)}); len(all) == 0 || all[len(all)-1] != e {
						all = append(all, e)
					}
				}
			}
		}
	}
	slices.SortFunc(all, func(a, b entry) int {
		return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(a.y, b.y), cmp.Compare(a.way, b.way))
	})
	all = slices.Compact(all)
	var members []int32
	for i := 0; i < len(all); {
		members = members[:0]
		j := i
		for ; j < len(all) && all[j].x == all[i].x && all[j].y == all[i].y; j++ {
			members = append(members, all[j].way)
		}
		k.meetIn(members)
		i = j
	}
}

// mostPairs is how many pairs of ways in one square are looked at; beyond that the
// kerfs count as one, which only makes what is followed together larger.
const mostPairs = 1 << 18

// meetIn joins the ways of one square.
func (k *kerfs) meetIn(members []int32) {
	first := k.root(members[0])
	if !slices.ContainsFunc(members, func(i int32) bool { return k.root(i) != first }) {
		return
	}
	look := 0
	for n, a := range members {
		for _, b := range members[:n] {
			if k.root(a) == k.root(b) {
				continue
			}
			if look++; look > mostPairs || k.near(a, b) {
				k.join(a, b)
			}
		}
	}
}

// near tells whether two ways leave no web between them that counts.
func (k *kerfs) near(a, b int32) bool {
	ra, rb := k.radius(a), k.radius(b)
	ma, mb := k.move(a), k.move(b)
	most := ra + rb + joinGap(ra, rb)
	if ba, bb := boundsOf(ma), boundsOf(mb); !ba.xy.Grow(most).Overlaps(bb.xy) {
		return false
	}
	ca, cb := newCurve(ma), newCurve(mb)
	na, nb := ca.parts(), cb.parts()
	for i := range na {
		pa := ca.piece(float64(i)/float64(na), float64(i+1)/float64(na))
		for j := range nb {
			pb := cb.piece(float64(j)/float64(nb), float64(j+1)/float64(nb))
			if pa.seg.DistSeg(pb.seg)-pa.slack-pb.slack <= most {
				return true
			}
		}
	}
	return false
}

// gather makes the list, in the order of first ways, and joins what runs out of
// the stock.
func (k *kerfs) gather() {
	at := make(map[int32]int)
	add := func(i int32) *kerf {
		r := k.root(i)
		n, ok := at[r]
		if !ok {
			n = len(k.list)
			at[r] = n
			k.list = append(k.list, kerf{number: int(r), box: geom.EmptyBox(), least: math.Inf(1), flat: true})
		}
		g := &k.list[n]
		b := boundsOf(k.move(i))
		rad := k.radius(i)
		g.box, g.least, g.most = g.box.Union(b.xy), math.Min(g.least, rad), math.Max(g.most, rad)
		w := k.ways[i]
		if c := int(k.p.verdicts[w.prog][w.move].cut); !slices.Contains(g.cuts, c) {
			g.cuts = append(g.cuts, c)
		}
		g.flat = g.flat && k.p.tools[k.p.progs[w.prog].toolOf(int(w.move))].cutter.Kind == shop.Flat
		return g
	}
	for i := range k.ways {
		add(int32(i))
	}
	stock := k.p.areas.stock
	if stock == nil {
		return
	}
	out := int32(-1)
	for i := range k.ways {
		r := k.root(int32(i))
		g := &k.list[at[r]]
		if mid := g.box.Center(); r == out || stock.Inside(mid) && stock.EdgeDist(mid) > g.box.Size().Len()/2+g.most+joinGap(g.most, g.most) {
			continue
		}
		if !k.leaves(int32(i)) {
			continue
		}
		if out < 0 {
			out = r
			continue
		}
		k.join(out, r)
		out = k.root(out)
	}
	if out < 0 {
		return
	}
	clear(at)
	k.list = k.list[:0]
	for i := range k.ways {
		add(int32(i)).edge = k.root(int32(i)) == out
	}
}

// leaves tells whether a way reaches the edge of the stock.
func (k *kerfs) leaves(i int32) bool {
	stock, r := k.p.areas.stock, k.radius(i)
	c := newCurve(k.move(i))
	n := c.parts()
	for a := range n {
		p := c.piece(float64(a)/float64(n), float64(a+1)/float64(n))
		if !stock.Inside(p.seg.A) || stock.EdgeDistSeg(p.seg) <= r+p.slack+joinGap(r, r) {
			return true
		}
	}
	return false
}

// encloses tells whether a kerf can go round a piece at all: one around it is wider
// than the cutter to both sides.
func (g *kerf) encloses() bool {
	if g.edge {
		return true
	}
	s := g.box.Size()
	least := 0.0
	if g.flat {
		least = 2*g.least + foil
	}
	return s.X > least && s.Y > least
}
