package nest

// mendRounds is how often copies that break a rule are laid again.
const mendRounds = 3

// mended returns the layout after the last look at it on the outlines as drawn. Should
// the search have been wrong about a copy, that is taken up and laid again; what still
// breaks a rule in the end has found no room. Copies laid by hand stay.
func (n *nesting) mended() *Layout {
	l := n.layout()
	for round := 0; round <= mendRounds; round++ {
		wrong := n.wrong(l)
		if len(wrong) == 0 {
			break
		}
		up := n.takeUp(wrong)
		if round < mendRounds {
			up = n.relay(up)
		}
		n.homeless = append(n.homeless, up...)
		l = n.layout()
	}
	return l
}

// wrong lists, by part and copy, the copies without which every rule holds.
func (n *nesting) wrong(l *Layout) map[[2]int]bool {
	out := map[[2]int]bool{}
	for _, f := range faults(n.parts, n.sheets, l, n.o) {
		if f.i < 0 {
			continue
		}
		k := f.i
		if l.Placements[k].Locked && f.j >= 0 || f.j >= 0 && !l.Placements[f.j].Locked && n.smaller(l, f.j, k) {
			k = f.j
		}
		if p := l.Placements[k]; !p.Locked {
			out[[2]int{p.Part, p.Copy}] = true
		}
	}
	return out
}

func (n *nesting) smaller(l *Layout, i, j int) bool {
	return n.parts[l.Placements[i].Part].Region.Area() < n.parts[l.Placements[j].Part].Region.Area()
}

// takeUp takes copies off their pieces and returns their items, but for those of
// fillers, of which nobody asked for so many.
func (n *nesting) takeUp(wrong map[[2]int]bool) (up []int) {
	for k, l := range n.piles {
		if l == nil {
			continue
		}
		held := n.held[k]
		lay := make([]place, len(held))
		for j := range held {
			lay[j] = place{x: l.x[j], y: l.y[j], v: l.v[j]}
		}
		l.clear()
		n.held[k] = nil
		for j, i := range held {
			it := &n.items[i]
			switch {
			case !wrong[[2]int{it.part, it.copy}]:
				l.add(lay[j])
				n.held[k] = append(n.held[k], i)
			case n.parts[it.part].Quantity != Fill:
				up = append(up, i)
			}
		}
		if len(l.x) == 0 && len(n.locked[n.pieces[k]]) == 0 {
			n.piles[k] = nil
		}
	}
	return up
}

// relay lays items on the pieces in use and then on others, and returns those that
// found no room.
func (n *nesting) relay(rest []int) []int {
	for k := range n.pieces {
		if len(rest) == 0 {
			break
		}
		if n.piles[k] == nil {
			n.piles[k] = n.newPile(k)
		}
		var held []int
		held, rest = n.layOn(n.piles[k], rest)
		n.held[k] = append(n.held[k], held...)
		if len(n.piles[k].x) == 0 && len(n.locked[n.pieces[k]]) == 0 {
			n.piles[k] = nil
		}
	}
	return rest
}
