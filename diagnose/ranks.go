package diagnose

import (
	"cmp"
	"slices"
)

// DoubledRanks gives twice the rank of every value, ranks counting from 1 and ties
// sharing the mean of theirs (so all are whole numbers and can be counted), and
// the sum over ties of t^3 - t. v holds no NaN.
func DoubledRanks(v []float64) (ranks []int, ties float64) {
	order := make([]int, len(v))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(v[a], v[b]) })
	ranks = make([]int, len(v))
	for i := 0; i < len(order); {
		j := i
		for j < len(order) && v[order[j]] == v[order[i]] {
			j++
		}
		for _, k := range order[i:j] {
			ranks[k] = i + j + 1 // twice the mean of ranks i+1 to j
		}
		t := float64(j - i)
		ties += t*t*t - t
		i = j
	}
	return ranks, ties
}
