package compare

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/combin"
)

const (
	// mostDealings is how many ways of dealing lines out are all tried; of more, as
	// many are drawn at random, the same in every run.
	mostDealings = 20000
	drawnSeed    = 0x10053d06
	// mostDealt bounds how many lines are dealt out in all; a take of very many lines
	// gets fewer drawings, at least fewestDealings.
	mostDealt      = 10_000_000
	fewestDealings = 500
)

// dealt is the outcome of a permutation test.
type dealt struct {
	P float64
	// Tried is how many ways of dealing were tried; Exact that these are all.
	Tried int
	Exact bool
}

// dealLines is the permutation test whose units are whole lines: how many of all
// ways to deal the m+n lines out again, m of them to the first side, give a
// statistic as far from 0 as the one seen (Fisher, R. A. (1935), The Design of
// Experiments, section 21). of gets the indexes of the lines dealt to the first
// side as a mask over all m+n; the lines seen on it are the first m. Where not all
// ways are tried, P counts the one seen as one more. NaN where a side is empty or
// the statistic is.
func dealLines(m, n int, of func(first []bool) float64) dealt {
	mask := make([]bool, m+n)
	set := func(which []int) {
		clear(mask)
		for _, i := range which {
			mask[i] = true
		}
	}
	if m == 0 || n == 0 {
		return dealt{P: math.NaN()}
	}
	seen := make([]int, m)
	for i := range seen {
		seen[i] = i
	}
	set(seen)
	// Sums taken in another order may differ in the last digit.
	limit := math.Abs(of(mask)) * (1 - 1e-9)
	if math.IsNaN(limit) {
		return dealt{P: math.NaN()}
	}
	as := func() bool { return !(math.Abs(of(mask)) < limit) }
	far := 0
	if combin.GeneralizedBinomial(float64(m+n), float64(m)) <= mostDealings {
		g, tried := combin.NewCombinationGenerator(m+n, m), 0
		for g.Next() {
			set(g.Combination(seen))
			if as() {
				far++
			}
			tried++
		}
		return dealt{float64(far) / float64(tried), tried, true}
	}
	r := rand.New(rand.NewPCG(drawnSeed, uint64(m)<<32|uint64(n)))
	drawings := min(mostDealings, max(fewestDealings, mostDealt/(m+n)))
	for range drawings {
		set(r.Perm(m + n)[:m])
		if as() {
			far++
		}
	}
	return dealt{float64(far+1) / float64(drawings+1), drawings, false}
}
