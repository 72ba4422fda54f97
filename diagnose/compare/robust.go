package compare

import (
	"math"
	"slices"
)

// sorted is a sorted copy of the finite values of v.
func sorted(v []float64) []float64 {
	s := make([]float64, 0, len(v))
	for _, x := range v {
		if !math.IsNaN(x) && !math.IsInf(x, 0) {
			s = append(s, x)
		}
	}
	slices.Sort(s)
	return s
}

// quantile of sorted values, linear between the order statistics (type 7 of
// Hyndman and Fan 1996, so that p = 1/2 is the usual median, which gonum's
// interpolation of the cumulative distribution does not give); NaN for none.
func quantile(s []float64, p float64) float64 {
	if len(s) == 0 {
		return math.NaN()
	}
	h := min(max(p, 0), 1) * float64(len(s)-1)
	i := int(h)
	if i >= len(s)-1 {
		return s[len(s)-1]
	}
	return s[i] + (h-float64(i))*(s[i+1]-s[i])
}

// median of values in any order; NaN for none.
func median(v []float64) float64 { return quantile(sorted(v), 0.5) }
