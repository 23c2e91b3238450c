package job

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestSetsOfStockCostLessAndHoldTheParts(t *testing.T) {
	counts := func(sets []stockSet) (out [][]int) {
		for _, s := range sets {
			out = append(out, s.counts)
		}
		return out
	}
	kinds := []stockKind{{cost: 5, area: 10, most: 2}, {cost: 8, area: 21, most: 3}, {cost: 30, area: 100, most: 1}}
	assert.Equal(t, [][]int{{0, 0, 1}, {1, 3, 0}, {0, 3, 0}, {2, 2, 0}, {1, 2, 0}, {0, 2, 0}, {2, 1, 0}}, counts(cheaperSets(kinds, 41, 31)))
	assert.Equal(t, [][]int{{0, 2, 0}}, counts(cheaperSets(kinds, 41, 18)), "18 itself is not cheaper")
	assert.Empty(t, cheaperSets(kinds, 41, 16))
	assert.Equal(t, [][]int{{0, 0, 1}}, counts(singles(kinds, 22)))
	assert.True(t, noMoreThan([]int{1, 2}, []int{1, 3}))
	assert.False(t, noMoreThan([]int{2, 0}, []int{1, 3}))
	var many []stockKind
	for range 12 { // more sets than anybody could look at
		many = append(many, stockKind{cost: 1, area: 1, most: 50})
	}
	assert.LessOrEqual(t, len(cheaperSets(many, 300, 1000)), mostCounted)
}
