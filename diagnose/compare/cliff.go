package compare

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"

	"loosedog/diagnose"
)

// effect is Cliff's delta with its interval: how often a value of y is greater
// than one of x less how often it is smaller, -1 to 1.
type effect struct{ Delta, Low, High float64 }

// cliff compares all pairs of x and y (Cliff, N. (1993), "Dominance statistics",
// Psychological Bulletin 114:494-509): delta with the unbiased estimate of its
// variance and Cliff's asymmetric interval at the given level, quantiles of
// Student's t with len(x)+len(y)-2 degrees of freedom. Low and High are NaN for
// fewer than two values a side, and equal Delta where every pair goes one way.
func cliff(x, y []float64, level float64) effect {
	nan := math.NaN()
	m, n := len(x), len(y)
	if m == 0 || n == 0 {
		return effect{nan, nan, nan}
	}
	ofX, squares := dominances(x, y)
	ofY, _ := dominances(y, x)
	var sum float64
	for _, d := range ofX {
		sum += d
	}
	fm, fn := float64(m), float64(n)
	e := effect{-sum / (fm * fn), nan, nan} // ofX counts x over y
	if m < 2 || n < 2 {
		return e
	}
	var rows, columns float64
	for _, d := range ofX {
		rows += (d/fn + e.Delta) * (d/fn + e.Delta)
	}
	for _, d := range ofY {
		columns += (d/fm - e.Delta) * (d/fm - e.Delta)
	}
	cells := squares - fm*fn*e.Delta*e.Delta
	variance := (fn*fn*rows + fm*fm*columns - cells) / (fm * fn * (fm - 1) * (fn - 1))
	variance = math.Max(variance, (1-e.Delta*e.Delta)/(fm*fn-1))
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: fm + fn - 2}.Quantile((1 + level) / 2)
	d, s := e.Delta, math.Sqrt(variance)
	half := t * s * math.Sqrt((1-d*d)*(1-d*d)+t*t*variance)
	whole := 1 - d*d + t*t*variance
	if whole <= 0 {
		e.Low, e.High = d, d
		return e
	}
	e.Low = math.Max(-1, (d-d*d*d-half)/whole)
	e.High = math.Min(1, (d-d*d*d+half)/whole)
	return e
}

// dominances gives for each value of x how many of y are smaller less how many
// are greater, and how many pairs do not tie.
func dominances(x, y []float64) (each []float64, untied float64) {
	s := diagnose.Sorted(y)
	each = make([]float64, len(x))
	for i, v := range x {
		smaller := sort.SearchFloat64s(s, v)
		greater := len(s) - sort.Search(len(s), func(k int) bool { return s[k] > v })
		each[i] = float64(smaller - greater)
		untied += float64(smaller + greater)
	}
	return each, untied
}
