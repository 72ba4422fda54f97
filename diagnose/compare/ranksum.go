package compare

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"loosedog/diagnose"
)

// rankTest is the outcome of a rank-sum test.
type rankTest struct {
	// U is the number of pairs (x, y) with x > y, ties counted half.
	U float64
	// Greater is the one-sided p-value of x being greater, TwoSided that of the
	// two differing.
	Greater, TwoSided float64
	// Exact tells that all ways of dealing the values out were counted; else the
	// normal approximation stands.
	Exact bool
}

// mostExact is how many values in all are still counted exactly.
const mostExact = 80

// rankSum is the Wilcoxon-Mann-Whitney test of two samples of finite values: the
// exact conditional distribution of the rank sum, mid-ranks for ties (Mann, H. B.
// and Whitney, D. R. (1947), Annals of Mathematical Statistics 18:50-60; with ties
// as StatXact counts it); of more than [mostExact] values in all the normal
// approximation, its variance corrected for ties and with continuity. Two-sided p
// is the share of dealings whose rank sum lies as far from its mean as the one
// seen. All NaN where a sample is empty.
func rankSum(x, y []float64) rankTest {
	m, n := len(x), len(y)
	if m == 0 || n == 0 {
		return rankTest{math.NaN(), math.NaN(), math.NaN(), false}
	}
	ranks, ties := diagnose.DoubledRanks(slices.Concat(x, y))
	sum := 0
	for _, r := range ranks[:m] {
		sum += r
	}
	t := rankTest{U: float64(sum)/2 - float64(m*(m+1))/2}
	if m+n > mostExact {
		return normalRankSum(t.U, ties, m, n)
	}
	t.Exact = true
	ways := subsetSums(ranks, m)
	var all, greater, far float64
	twiceMean := m * (m + n + 1) // of the doubled ranks' sum
	away := abs(sum - twiceMean)
	for s, w := range ways {
		all += w
		if s >= sum {
			greater += w
		}
		if abs(s-twiceMean) >= away {
			far += w
		}
	}
	t.Greater, t.TwoSided = greater/all, far/all
	return t
}

// normalRankSum is the normal approximation to the test of U won pairs of m and
// n values; ties is the sum of t^3 - t over groups of equal ones.
func normalRankSum(u, ties float64, m, n int) rankTest {
	t := rankTest{U: u, Greater: 1, TwoSided: 1}
	mean, total := float64(m*n)/2, float64(m+n)
	sd := math.Sqrt(float64(m*n) / 12 * (total + 1 - ties/(total*(total-1))))
	if !(sd > 0) {
		return t
	}
	t.Greater = distuv.UnitNormal.Survival((u - mean - 0.5) / sd)
	away := math.Max(0, math.Abs(u-mean)-0.5)
	t.TwoSided = math.Min(1, 2*distuv.UnitNormal.Survival(away/sd))
	return t
}

// subsetSums counts the subsets of m of the values by their sum.
func subsetSums(values []int, m int) []float64 {
	total := 0
	for _, v := range values {
		total += v
	}
	ways := make([][]float64, m+1)
	for k := range ways {
		ways[k] = make([]float64, total+1)
	}
	ways[0][0] = 1
	for _, v := range values {
		for k := m; k >= 1; k-- {
			to, from := ways[k], ways[k-1]
			for s := total; s >= v; s-- {
				to[s] += from[s-v]
			}
		}
	}
	return ways[m]
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

// shiftOf is the Hodges-Lehmann shift of y against x with its interval.
type shiftOf struct {
	Shift, Low, High float64
	// Level is the coverage that the interval has when the values are independent
	// and do not tie, at least the one asked for.
	Level float64
}

// hodgesLehmann is the median of all differences y - x with the interval that
// belongs to the rank-sum test (Hodges, J. L. and Lehmann, E. L. (1963), Annals of
// Mathematical Statistics 34:598-611): without ties the order statistics C and
// mn+1-C of the differences, C the lower alpha/2 quantile of U (Hollander and Wolfe
// 1973); with ties, of up to [mostTied] values, the innermost ones that the exact
// conditional test rejects. Low, High and Level are NaN where the samples
// are too small for the level (of equal sizes and 0.95: under four each). Of more
// than [mostOfSide] values a side that many are taken, evenly from the sorted ones.
func hodgesLehmann(x, y []float64, level float64) shiftOf {
	x, y = evenly(x, mostOfSide), evenly(y, mostOfSide)
	nan := math.NaN()
	m, n := len(x), len(y)
	if m == 0 || n == 0 {
		return shiftOf{nan, nan, nan, nan}
	}
	diffs := make([]float64, 0, m*n)
	for _, a := range x {
		for _, b := range y {
			diffs = append(diffs, b-a)
		}
	}
	slices.Sort(diffs)
	s := shiftOf{diagnose.Quantile(diffs, 0.5), nan, nan, nan}
	c, covered := shiftRank(m, n, level)
	if c < 1 {
		return s
	}
	s.Low, s.High, s.Level = diffs[c-1], diffs[m*n-c], covered
	if m+n <= mostTied && (tied(x) || tied(y)) {
		s.Low, s.High = notRejected(x, y, diffs, (1-level)/2)
	}
	return s
}

// mostOfSide bounds the differences to four million.
const mostOfSide = 2000

// evenly takes at most limit values, evenly from the sorted ones.
func evenly(v []float64, limit int) []float64 {
	if len(v) <= limit {
		return v
	}
	s := diagnose.Sorted(v)
	out := make([]float64, limit)
	for i := range out {
		out[i] = s[i*len(s)/limit]
	}
	return out
}

// mostTied is how many values in all the conditional test is inverted for.
const mostTied = 30

func tied(v []float64) bool {
	s := diagnose.Sorted(v)
	for i := 1; i < len(s); i++ {
		if s[i] == s[i-1] {
			return true
		}
	}
	return false
}

// notRejected are the innermost differences that the one-sided test rejects as
// shifts of y at tail, the outermost difference where it rejects none: what
// StatXact and exactRankTests give as limits.
func notRejected(x, y, diffs []float64, tail float64) (low, high float64) {
	steps := slices.Compact(slices.Clone(diffs))
	moved := make([]float64, len(y))
	at := func(shift float64) []float64 {
		for i, v := range y {
			moved[i] = v - shift
		}
		return moved
	}
	low, high = steps[0], steps[len(steps)-1]
	for i := 0; i < len(steps) && rankSum(at(steps[i]), x).Greater <= tail; i++ {
		low = steps[i]
	}
	for i := len(steps) - 1; i >= 0 && rankSum(x, at(steps[i])).Greater <= tail; i-- {
		high = steps[i]
	}
	return low, high
}

// shiftRank is the rank of the difference that limits the interval, from 1, and
// what it covers; 0 where there is none.
func shiftRank(m, n int, level float64) (c int, covered float64) {
	tail := (1 - level) / 2
	if m+n > mostExact {
		mean := float64(m*n) / 2
		sd := math.Sqrt(float64(m*n) * float64(m+n+1) / 12)
		c = int(math.Floor(mean - distuv.UnitNormal.Quantile(1-tail)*sd))
		return max(c, 0), level
	}
	ranks := make([]int, m+n)
	for i := range ranks {
		ranks[i] = i + 1
	}
	ways := subsetSums(ranks, m)
	all := 0.0
	for _, w := range ways {
		all += w
	}
	least := m * (m + 1) / 2
	below := 0.0
	for u := 0; u < m*n; u++ {
		below += ways[least+u] / all // P(U <= u)
		if below > tail {
			return u, covered
		}
		covered = 1 - 2*below
	}
	return 0, math.NaN()
}
