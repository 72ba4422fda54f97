package diagnose

import (
	"math"
	"slices"
)

// MADToSD scales a median absolute deviation to the standard deviation of
// normal values: 1/quantile(3/4) of the normal distribution.
const MADToSD = 1.4826

// Sorted is a sorted copy of the finite values of v.
func Sorted(v []float64) []float64 {
	s := make([]float64, 0, len(v))
	for _, x := range v {
		if !math.IsNaN(x) && !math.IsInf(x, 0) {
			s = append(s, x)
		}
	}
	slices.Sort(s)
	return s
}

// Quantile is the p-quantile of sorted values, p kept within 0 to 1, linear
// between the order statistics (type 7 of Hyndman and Fan 1996, so that p = 1/2
// is the usual median); NaN for no values. gonum's stat.Quantile interpolates the
// cumulative distribution instead: its median of 1, 2, 3, 4 is 2.
func Quantile(s []float64, p float64) float64 {
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

// Median of values in any order; NaN for none.
func Median(v []float64) float64 { return Quantile(Sorted(v), 0.5) }

// MAD is the median absolute deviation from the median, not scaled.
func MAD(v []float64) float64 {
	m := Median(v)
	d := make([]float64, len(v))
	for i, x := range v {
		d[i] = math.Abs(x - m)
	}
	return Median(d)
}
