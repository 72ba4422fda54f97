package diagnose

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// rankShift is the normal score z by which the values at the indexes in stand
// higher than the rest, from all values' doubled ranks: the rank sum with its
// variance corrected for ties (Mann, H. B. and Whitney, D. R. (1947), Annals of
// Mathematical Statistics 18:50-60), without continuity correction. NaN where
// either group is empty or all are equal.
func rankShift(doubled []int, ties float64, in []int) float64 {
	n, k := float64(len(doubled)), float64(len(in))
	if k == 0 || k == n {
		return math.NaN()
	}
	sum := 0
	for _, i := range in {
		sum += doubled[i]
	}
	variance := k * (n - k) / 12 * (n + 1 - ties/(n*(n-1)))
	if !(variance > 0) {
		return math.NaN()
	}
	return (float64(sum)/2 - k*(n+1)/2) / math.Sqrt(variance)
}

// upper is the probability of a normal value above z.
func upper(z float64) float64 { return distuv.UnitNormal.Survival(z) }

// anyOf turns the p of the best of n looks into the p of finding one as good by
// chance: 1 - (1-p)^n (Sidak, Z. (1967), JASA 62:626-633).
func anyOf(p float64, n int) float64 {
	if p >= 1 {
		return 1
	}
	return -math.Expm1(float64(n) * math.Log1p(-p))
}

// shiftOver is by how much the values there stand above the rest: the median of
// all their differences, with the interval of the given level that belongs to the
// rank-sum test (Hodges, J. L. and Lehmann, E. L. (1963), "Estimates of location
// based on rank tests", Annals of Mathematical Statistics 34:598-611; normal
// approximation of the ranks). Some strays among a handful of values do not pull
// it. Of more than 1000 of the rest, 1000 are taken evenly. NaN where either is
// empty.
func shiftOver(there, rest []float64, level float64) (shift, low, high float64) {
	const most = 1000
	if len(rest) > most {
		thinned := make([]float64, most)
		for i := range thinned {
			thinned[i] = rest[i*len(rest)/most]
		}
		rest = thinned
	}
	if len(there) > most {
		there = there[:most]
	}
	m, n := float64(len(there)), float64(len(rest))
	if m == 0 || n == 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	d := make([]float64, 0, len(there)*len(rest))
	for _, a := range there {
		for _, b := range rest {
			d = append(d, a-b)
		}
	}
	slices.Sort(d)
	half := distuv.UnitNormal.Quantile((1+level)/2) * math.Sqrt(m*n*(m+n+1)/12)
	k := min(max(int(math.Round(m*n/2-half)), 1), (len(d)+1)/2) // the k-th smallest and the k-th largest
	return Quantile(d, 0.5), d[k-1], d[len(d)-k]
}
