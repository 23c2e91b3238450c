package nest

import "sort"

// fill puts as many copies as fit of the parts that ask for it on the pieces in
// use, or, when none is in use, on all that are at hand (one, if there is no
// limit).
func (n *nesting) fill() {
	var order []int
	for i, p := range n.parts {
		if p.Quantity == Fill {
			order = append(order, i)
		}
	}
	if len(order) == 0 {
		return
	}
	size := func(i int) float64 { return n.cat.shapes[n.choices[i][0][0]].lambda }
	sort.SliceStable(order, func(a, b int) bool { return size(order[a]) > size(order[b]) })
	used := false
	for _, l := range n.piles {
		used = used || l != nil
	}
	next := make([]int, len(n.parts))
	for i, p := range n.parts {
		next[i] = len(p.Locked)
	}
	for k, pc := range n.pieces {
		if n.piles[k] == nil {
			if used || n.sheets[pc.sheet].Quantity == Unlimited && pc.piece > 0 {
				continue
			}
			n.piles[k] = n.newPile(k)
		}
		l := n.piles[k]
		n.report("fill", len(n.items))
		for _, i := range order {
			for _, c := range n.mostOf(l, i) {
				l.add(c)
				n.held[k] = append(n.held[k], len(n.items))
				n.items = append(n.items, item{part: i, copy: next[i], choices: n.choices[i]})
				next[i]++
			}
		}
		if len(l.x) == 0 && len(n.locked[pc]) == 0 {
			n.piles[k] = nil
		}
	}
}

// mostOf returns places for as many copies of a part as fit on what the pile
// leaves: one by one, or by a regular pattern and then one by one, whichever takes
// more.
func (n *nesting) mostOf(l *pile, part int) []place {
	choices := n.choices[part][l.bin.fibre]
	grown := func(start []place) []place {
		m := l.clone()
		for _, c := range start {
			m.add(c)
		}
		got := start
		for !n.over() && len(n.items)+len(got) < mostCopies {
			c, ok := m.insert(choices, drawsAgain)
			if !ok {
				break
			}
			m.add(c)
			got = append(got, c)
		}
		return got
	}
	most := grown(nil)
	if t, ok := n.pattern(part, l.bin.fibre); ok && !n.over() {
		if got := grown(l.layLattice(t, mostCopies-len(n.items))); len(got) > len(most) {
			most = got
		}
	}
	return most
}
