package diagnose

import (
	"math"
	"slices"
)

// madToSD scales a median absolute deviation to the standard deviation of
// normal values: 1/quantile(3/4) of the normal distribution.
const madToSD = 1.4826

// sorted returns a sorted copy of the finite values of x.
func sorted(x []float64) []float64 {
	s := make([]float64, 0, len(x))
	for _, v := range x {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			s = append(s, v)
		}
	}
	slices.Sort(s)
	return s
}

// quantile is the p-quantile (0 <= p <= 1) of sorted values, linear between the
// order statistics (type 7 of Hyndman and Fan 1996, so that p = 1/2 is the
// usual median); NaN for no values. gonum's stat.Quantile interpolates the
// cumulative distribution instead: its median of 1, 2, 3, 4 is 2.
func quantile(s []float64, p float64) float64 {
	if len(s) == 0 {
		return math.NaN()
	}
	h := p * float64(len(s)-1)
	i := int(h)
	if i >= len(s)-1 {
		return s[len(s)-1]
	}
	return s[i] + (h-float64(i))*(s[i+1]-s[i])
}

// median of values in any order; NaN for none.
func median(x []float64) float64 { return quantile(sorted(x), 0.5) }

// mad is the median absolute deviation from the median, not scaled.
func mad(x []float64) float64 {
	m := median(x)
	d := make([]float64, len(x))
	for i, v := range x {
		d[i] = math.Abs(v - m)
	}
	return median(d)
}
