package diagnose

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// bootstrapQuantile is the percentile-bootstrap interval of the p-quantile of
// sorted values at the given level (for instance 0.95).
//
// Nothing is resampled: for an order statistic the bootstrap distribution is
// known exactly. The r-th smallest of a resample of n is at most the k-th
// smallest value of the sample with the probability that at least r of n draws
// fall on the k smallest,
//
//	P(X*(r) <= x(k)) = P(Binomial(n, k/n) >= r)
//
// (Efron, B. (1979), "Bootstrap methods: another look at the jackknife", Annals
// of Statistics 7:1-26, section 3). That is the limit of ever more resamples,
// the same in every run, and takes some tens of binomial sums whatever n is.
// Where the quantile lies between two order statistics the lower limit is that
// of the lower one and the upper limit that of the upper one, so the interval
// errs on the wide side. No values: NaN, NaN.
func bootstrapQuantile(s []float64, p, level float64) (low, high float64) {
	n := len(s)
	if n == 0 {
		return math.NaN(), math.NaN()
	}
	h := p * float64(n-1)
	tail := (1 - level) / 2
	low = s[bootstrapRank(n, int(math.Floor(h))+1, tail)-1]
	high = s[bootstrapRank(n, int(math.Ceil(h))+1, 1-tail)-1]
	return low, high
}

// bootstrapRank is the smallest rank k (1 to n) of the sample that the r-th
// smallest value of a resample stays at or under with probability alpha.
func bootstrapRank(n, r int, alpha float64) int {
	k := 1 + sort.Search(n-1, func(i int) bool { return bootstrapCDF(n, r, i+1) >= alpha })
	return min(k, n)
}

// bootstrapCDF is the probability that the r-th smallest of a resample of n is
// at most the k-th smallest value of the sample.
func bootstrapCDF(n, r, k int) float64 {
	switch {
	case k <= 0:
		return 0
	case k >= n || r <= 0:
		return 1
	}
	b := distuv.Binomial{N: float64(n), P: float64(k) / float64(n)}
	return 1 - b.CDF(float64(r-1))
}
