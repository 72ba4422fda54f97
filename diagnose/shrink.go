package diagnose

import "math"

// shrunk are effects drawn toward their mean by how little each is known.
type shrunk struct {
	Mean    float64
	Between float64   // variance of the true effects about the mean
	Effect  []float64 // of each group
	Error   []float64 // standard error that is left of each
}

// shrink draws the effects of groups, each with its standard error, toward their
// mean: with variance A between groups an effect y with error s becomes
//
//	mean + (y - mean) A / (A + s^2)
//
// A and the mean are found together so that the weighted squares about the mean
// sum up to the groups less one (the moment estimate of Efron, B. and Morris, C.
// (1975), "Data analysis using Stein's estimator and its generalizations", JASA
// 70:311-319, section 5; Paule and Mandel's of 1982). With equal errors it is the
// James-Stein estimate toward the mean but for k-1 in place of k-3.
func shrink(effect, se []float64) shrunk {
	k := len(effect)
	out := shrunk{Effect: make([]float64, k), Error: make([]float64, k)}
	if k == 0 {
		out.Mean = math.NaN()
		return out
	}
	at := func(a float64) (mean, squares float64) {
		var sum, weights float64
		for i, y := range effect {
			w := 1 / (a + se[i]*se[i])
			sum, weights = sum+w*y, weights+w
		}
		mean = sum / weights
		for i, y := range effect {
			squares += (y - mean) * (y - mean) / (a + se[i]*se[i])
		}
		return mean, squares
	}
	low, high := 0.0, 0.0
	for i, y := range effect {
		high = math.Max(high, math.Max(y*y, se[i]*se[i]))
	}
	high = 4*high*float64(k) + 1e-12
	for range 200 {
		a := (low + high) / 2
		if _, squares := at(a); squares > float64(k-1) {
			low = a
		} else {
			high = a
		}
	}
	out.Between = high
	if high < 1e-9 {
		out.Between = 0
	}
	out.Mean, _ = at(out.Between)
	for i, y := range effect {
		keep := out.Between / (out.Between + se[i]*se[i])
		out.Effect[i] = out.Mean + (y-out.Mean)*keep
		out.Error[i] = math.Sqrt(keep) * se[i]
	}
	return out
}
