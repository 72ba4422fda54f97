package onset

import "math"

// aic places the onset in x by the Akaike information criterion of Maeda
// (1985),
//
//	AIC(k) = k log Var(x[:k]) + (n-k-1) log Var(x[k:]),
//
// the split at which the two sides are most differently loud, and returns the
// index of the first sample after the onset. Both sides keep at least four
// samples. A stretch shorter than eight samples has its middle returned; floor
// is added to each variance so that digital silence has a logarithm.
func aic(x []float64, floor float64) int {
	n := len(x)
	const edge = 4
	if n < 2*edge {
		return n / 2
	}
	var total, totalSq float64
	for _, v := range x {
		total += v
		totalSq += v * v
	}
	best, at := math.Inf(1), n/2
	var sum, sq float64
	for k := 1; k <= n-edge; k++ {
		v := x[k-1]
		sum += v
		sq += v * v
		if k < edge {
			continue
		}
		a, b := float64(k), float64(n-k)
		left := sq/a - (sum/a)*(sum/a)
		rs := total - sum
		right := (totalSq-sq)/b - (rs/b)*(rs/b)
		c := a*math.Log(max(left, 0)+floor) + (b-1)*math.Log(max(right, 0)+floor)
		if c < best {
			best, at = c, k
		}
	}
	return at
}
