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
	for _, u := range x {
		total += u
		totalSq += u * u
	}
	v := splitting{x, floor, total, totalSq}
	var start split
	for _, u := range x[:edge] {
		start.sum += u
		start.sq += u * u
	}
	start.at, start.cost = edge, math.Inf(1)
	if n < 128 {
		return v.best(start, n-edge, 1).at
	}
	const stride = 4
	best := v.best(start, n-edge, stride)
	around := split{math.Inf(1), best.at, best.sum, best.sq}
	for around.at > max(edge, best.at-stride+1) {
		around.at--
		around.sum -= x[around.at]
		around.sq -= x[around.at] * x[around.at]
	}
	return v.best(around, min(n-edge, best.at+stride-1), 1).at
}

// split is a place to split a stretch with its criterion, and the sum of the
// samples before it and of their squares.
type split struct {
	cost    float64
	at      int
	sum, sq float64
}

// splitting is a stretch with the sum of its samples and of their squares.
type splitting struct {
	x              []float64
	floor          float64
	total, totalSq float64
}

// best tries the splits from.at, from.at+step and so on up to last, and returns
// the best of them; from, whose cost is infinite, where none has a cost. Two logarithms a split are
// what this takes.
func (v *splitting) best(from split, last, step int) split {
	out := from
	sum, sq := from.sum, from.sq
	for k := from.at; k <= last; k += step {
		if k > from.at {
			for _, u := range v.x[k-step : k] {
				sum += u
				sq += u * u
			}
		}
		a, b := float64(k), float64(len(v.x)-k)
		ia, ib := 1/a, 1/b
		rest := v.total - sum
		left := sq*ia - (sum*ia)*(sum*ia)
		right := (v.totalSq-sq)*ib - (rest*ib)*(rest*ib)
		// Neither is less than 0 but by rounding.
		cost := a*quickLog(math.Abs(left)+v.floor) + (b-1)*quickLog(math.Abs(right)+v.floor)
		if cost < out.cost {
			out = split{cost, k, sum, sq}
		}
	}
	return out
}
