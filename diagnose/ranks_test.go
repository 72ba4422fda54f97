package diagnose

import (
	"slices"
	"testing"
)

// By hand from the definition: 1, then two that share ranks 2 and 3, then 4.
func TestDoubledRanks(t *testing.T) {
	ranks, ties := DoubledRanks([]float64{5, 2, 5, 9})
	if !slices.Equal(ranks, []int{5, 2, 5, 8}) || ties != 6 {
		t.Errorf("%v with %g, want [5 2 5 8] with 6", ranks, ties)
	}
	if ranks, ties := DoubledRanks(nil); len(ranks) != 0 || ties != 0 {
		t.Errorf("of nothing %v with %g", ranks, ties)
	}
}
