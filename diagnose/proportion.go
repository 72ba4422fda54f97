package diagnose

import (
	"math"

	"gonum.org/v1/gonum/stat/combin"
	"gonum.org/v1/gonum/stat/distuv"
)

// share of k in n with its exact interval at the given level: Clopper, C. J. and
// Pearson, E. S. (1934), "The use of confidence or fiducial limits illustrated in
// the case of the binomial", Biometrika 26:404-413. All NaN for n = 0.
func share(k, n int, level float64) (value, low, high float64) {
	if n <= 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	tail := (1 - level) / 2
	low, high = 0, 1
	if k > 0 {
		low = distuv.Beta{Alpha: float64(k), Beta: float64(n - k + 1)}.Quantile(tail)
	}
	if k < n {
		high = distuv.Beta{Alpha: float64(k + 1), Beta: float64(n - k)}.Quantile(1 - tail)
	}
	return float64(k) / float64(n), low, high
}

// exactGreater is the probability of k or more of the first group's n where both
// groups have one share, given the sum of both: Fisher's exact test, one-sided.
// The other group has k2 of n2.
func exactGreater(k, n, k2, n2 int) float64 {
	total := k + k2
	p := 0.0
	for i := k; i <= min(n, total); i++ {
		if total-i > n2 {
			continue
		}
		p += math.Exp(logChoose(n, i) + logChoose(n2, total-i) - logChoose(n+n2, total))
	}
	return math.Min(p, 1)
}

// atLeast is the probability of k or more of n, each with probability p.
func atLeast(k, n int, p float64) float64 {
	switch {
	case k <= 0:
		return 1
	case k > n || p <= 0:
		return 0
	case p >= 1:
		return 1
	}
	// 1 - CDF loses small probabilities to rounding: the beta function keeps them.
	return distuv.Beta{Alpha: float64(k), Beta: float64(n - k + 1)}.CDF(p)
}

// logChoose is the logarithm of n choose k.
func logChoose(n, k int) float64 {
	return combin.LogGeneralizedBinomial(float64(n), float64(k))
}
