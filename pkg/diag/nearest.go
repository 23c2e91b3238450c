package diag

import (
	"sort"
	"strings"
)

// Nearest returns the name that is most like the mistyped word, or "" when none
// is near enough to be meant. Case does not count. Distance is that of Damerau
// and Levenshtein (restricted), at most a third of the word's length, at least 1.
func Nearest(word string, names []string) string {
	best, bestDist := "", len(word)/3+1
	sorted := append([]string(nil), names...)
	sort.Strings(sorted)
	for _, n := range sorted {
		if d := editDistance(strings.ToLower(word), strings.ToLower(n)); d < bestDist || d == bestDist && best == "" {
			best, bestDist = n, d
		}
	}
	return best
}

// DidYouMean returns a help text: the nearest real name if there is one, and
// the names there are, when they are few.
func DidYouMean(word string, names []string) string {
	var parts []string
	if n := Nearest(word, names); n != "" {
		parts = append(parts, "did you mean "+n+"?")
	}
	if len(names) > 0 && len(names) <= 24 {
		s := append([]string(nil), names...)
		sort.Strings(s)
		parts = append(parts, "there is: "+strings.Join(s, ", "))
	}
	return strings.Join(parts, " ")
}

func editDistance(a, b string) int {
	x, y := []rune(a), []rune(b)
	two, one, cur := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range one {
		one[j] = j
	}
	for i := 1; i <= len(x); i++ {
		cur[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			cur[j] = min(one[j]+1, cur[j-1]+1, one[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				cur[j] = min(cur[j], two[j-2]+1)
			}
		}
		two, one, cur = one, cur, two
	}
	return one[len(y)]
}
