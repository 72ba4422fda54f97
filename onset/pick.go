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
// is added to each variance so that digital silence has a logarithm. In
// stretches of 128 samples and more, every fourth split is tried, and then all
// about the best of those.
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
	// Two logarithms a split are what this costs.
	var best split
	best.cost = math.Inf(1)
	try := func(from, to, step int, sum, sq float64) {
		for k := from; k <= to; k++ {
			if (k-from)%step == 0 {
				a, b := float64(k), float64(n-k)
				left := sq/a - (sum/a)*(sum/a)
				rs := total - sum
				right := (totalSq-sq)/b - (rs/b)*(rs/b)
				c := a*math.Log(max(left, 0)+floor) + (b-1)*math.Log(max(right, 0)+floor)
				if c < best.cost {
					best = split{c, k, sum, sq}
				}
			}
			if k < n {
				sum += x[k]
				sq += x[k] * x[k]
			}
		}
	}
	var sum, sq float64
	for _, v := range x[:edge] {
		sum += v
		sq += v * v
	}
	stride := 4
	if n < 128 {
		stride = 1
	}
	try(edge, n-edge, stride, sum, sq)
	from, to := max(edge, best.at-stride+1), min(n-edge, best.at+stride-1)
	sum, sq = best.sum, best.sq
	for k := best.at - 1; k >= from; k-- {
		sum -= x[k]
		sq -= x[k] * x[k]
	}
	try(from, to, 1, sum, sq)
	return best.at
}

// split is a place to split a stretch with its criterion, and the sum of the
// samples before it and of their squares.
type split struct {
	cost    float64
	at      int
	sum, sq float64
}
