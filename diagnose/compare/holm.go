package compare

import (
	"math"
	"slices"
)

// Holm corrects p-values for being looked at together: the smallest times their
// number m, the next times m-1 and so on, never falling, at most 1 (Holm, S.
// (1979), "A simple sequentially rejective multiple test procedure", Scandinavian
// Journal of Statistics 6:65-70). A p-value that is NaN stays NaN and does not
// count.
func Holm(p []float64) []float64 {
	out := slices.Clone(p)
	var order []int
	for i, v := range p {
		if !math.IsNaN(v) {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return a - b
	})
	least := 0.0
	for k, i := range order {
		least = max(least, min(1, p[i]*float64(len(order)-k)))
		out[i] = least
	}
	return out
}
