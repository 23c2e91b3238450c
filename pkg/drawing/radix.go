package drawing

import (
	"cmp"
	"math"
	"slices"
)

// numbered is a thing to be put in the order of its key.
type numbered struct {
	key uint64
	at  int32
}

const digitBits = 11

// sortNumbered sorts by key; equal keys keep their order. It takes time in
// proportion to the number of things and to the bits in which their keys
// differ: a count per digit, and one pass over the things for each digit that
// is not the same in all (least digit first).
//
// Source: D. E. Knuth, "The Art of Computer Programming", volume 3, 2nd edition,
// section 5.2.5, algorithm R.
func sortNumbered(s []numbered) { sortWith(s, nil) }

// sortWith is sortNumbered with room for as many things, which is used where it
// suffices.
func sortWith(s, room []numbered) {
	if len(s) < 400 {
		slices.SortStableFunc(s, func(a, b numbered) int { return cmp.Compare(a.key, b.key) })
		return
	}
	all, none := uint64(0), ^uint64(0)
	for i := range s {
		all |= s[i].key
		none &= s[i].key
	}
	from, to := s, []numbered(nil)
	for shift := uint(0); shift < 64; shift += digitBits {
		const mask = 1<<digitBits - 1
		if (all^none)>>shift == 0 {
			break
		}
		if (all^none)>>shift&mask == 0 {
			continue
		}
		if to == nil {
			if to = room; len(to) < len(s) {
				to = make([]numbered, len(s))
			}
			to = to[:len(s)]
		}
		var next [1 << digitBits]int32
		for i := range from {
			next[from[i].key>>shift&mask]++
		}
		sum := int32(0)
		for d, n := range next {
			next[d], sum = sum, sum+n
		}
		for i := range from {
			d := from[i].key >> shift & mask
			to[next[d]] = from[i]
			next[d]++
		}
		from, to = to, from
	}
	if &from[0] != &s[0] {
		copy(s, from)
	}
}

// sortBy sorts by key, and what has equal keys by the keys that the functions
// give, the first of them first.
func sortBy(s []numbered, keys ...func(at int32) uint64) {
	sortNumbered(s)
	if len(keys) == 0 {
		return
	}
	for i := 0; i < len(s); {
		k := i + 1
		for k < len(s) && s[k].key == s[i].key {
			k++
		}
		if k-i > 1 {
			for m := i; m < k; m++ {
				s[m].key = keys[0](s[m].at)
			}
			sortBy(s[i:k], keys[1:]...)
		}
		i = k
	}
}

// ascending is a key that grows with v, which is no NaN.
func ascending(v float64) uint64 {
	b := math.Float64bits(v + 0) // -0 becomes 0
	if b>>63 != 0 {
		return ^b
	}
	return b | 1<<63
}

// descending is a key that falls with v, which is no NaN.
func descending(v float64) uint64 { return ^ascending(v) }
