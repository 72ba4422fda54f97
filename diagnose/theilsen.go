package diagnose

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"loosedog/onset"
)

// theilSenPoints bounds the work of theilSen: of more points, this many are
// taken evenly from those sorted by x (all of its range, half a million pairs).
const theilSenPoints = 1000

// robustLine is y = Intercept + Slope*x with the interval of its slope.
type robustLine struct {
	Slope, Low, High, Intercept float64
}

// theilSen is the robust line through points: the slope is the median of the
// slopes of all pairs with different x, the intercept is med(y) - slope*med(x),
// and the interval is that of the given level (for instance 0.95) from the
// normal approximation of Kendall's statistic, its variance corrected for ties:
//
//	sigma^2 = (n(n-1)(2n+5) - sum over ties t(t-1)(2t+5)) / 18
//
// Sen, P. K. (1968), "Estimates of the regression coefficient based on
// Kendall's tau", JASA 63:1379-1389; the limits are taken at the ranks that
// Sen's example and SciPy's theilslopes take. x and y are of one length and
// finite. All NaN when no two x differ.
func theilSen(x, y []float64, level float64) robustLine {
	x, y = thin(x, y, theilSenPoints)
	n := len(x)
	slopes := make([]float64, 0, n*(n-1)/2)
	for i := range n {
		for j := range i {
			if x[i] != x[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	if len(slopes) == 0 {
		nan := math.NaN()
		return robustLine{nan, nan, nan, nan}
	}
	variance := kendallTerm(n) - tieTerm(x) - tieTerm(y)
	half := distuv.UnitNormal.Quantile((1+level)/2) * math.Sqrt(math.Max(variance, 0)/18)
	pairs := float64(len(slopes))
	low := max(int(math.RoundToEven((pairs-half)/2))-1, 0)
	high := min(int(math.RoundToEven((pairs+half)/2)), len(slopes)-1)
	// Half a million slopes are not sorted for the sake of four of them.
	upper := len(slopes) / 2
	slope := onset.Nth(slopes, upper)
	if len(slopes)%2 == 0 {
		below := slices.Max(slopes[:upper])
		slope = below + 0.5*(slope-below)
	}
	return robustLine{
		Slope:     slope,
		Low:       onset.Nth(slopes, low),
		High:      onset.Nth(slopes, high),
		Intercept: Median(y) - slope*Median(x),
	}
}

// levelled is y less what it grows along x by the robust line; as it is where no
// two x differ.
func levelled(x, y []float64) []float64 {
	left := slices.Clone(y)
	if line := theilSen(x, y, level); !math.IsNaN(line.Slope) {
		for i := range left {
			left[i] -= line.Slope * x[i]
		}
	}
	return left
}

// kendallTerm is n(n-1)(2n+5).
func kendallTerm(n int) float64 {
	f := float64(n)
	return f * (f - 1) * (2*f + 5)
}

// tieTerm sums kendallTerm over the groups of equal values.
func tieTerm(v []float64) float64 {
	s := Sorted(v)
	var sum float64
	for i := 0; i < len(s); {
		j := i
		for j < len(s) && s[j] == s[i] {
			j++
		}
		sum += kendallTerm(j - i)
		i = j
	}
	return sum
}

// thin takes at most limit points, evenly from those sorted by x.
func thin(x, y []float64, limit int) (tx, ty []float64) {
	n := len(x)
	if n <= limit {
		return x, y
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	tx, ty = make([]float64, limit), make([]float64, limit)
	for i := range limit {
		k := order[i*n/limit]
		tx[i], ty[i] = x[k], y[k]
	}
	return tx, ty
}
