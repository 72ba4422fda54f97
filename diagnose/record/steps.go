package record

import (
	"math"
	"math/rand/v2"
	"slices"

	"loosedog/diagnose"
	"loosedog/diagnose/compare"
)

const (
	// alpha is the chance that a measure which never changed is given a change, for
	// all measures and all changes of a history together.
	alpha = 0.05
	// dealings is how often the lines are dealt out anew for a p-value, and mostDealt
	// how many lines are dealt in all, so that thousands of takes stay quick.
	dealings  = 9999
	mostDealt = 20_000_000
	// enough dealings that go as far settle that it was chance, and the p-value is
	// their share so far (Besag, J. and Clifford, P. (1991), "Sequential Monte Carlo
	// p-values", Biometrika 78:301-304; from memory).
	enough = 60
	// wander is how many times the usual step from take to take a change must be. Of
	// takes that scatter with s, half of the steps are under 0.95 s, and a difference of
	// two takes scatters with 1.4 s: three times is two of its standard deviations.
	wander = 3
)

// pettitt gives, for every boundary behind a take, the rank sum of what stands before
// it less its mean, doubled: Pettitt's U (Pettitt, A. N. (1979), "A non-parametric
// approach to the change-point problem", Applied Statistics 28:126-135), but looked at
// between takes only. ranks are doubled mid-ranks from 2 up, sizes the values of each
// take.
func pettitt(ranks []int, sizes []int, each func(at, before, u int)) {
	n := len(ranks)
	sum, k := 0, 0
	for at, size := range sizes[:len(sizes)-1] {
		for range size {
			sum += ranks[k]
			k++
		}
		each(at+1, k, sum-k*(n+1))
	}
}

// split finds where takes change most: the boundary (how many takes stand before it)
// at which U is the most of its standard deviations from 0, which unlike U itself
// finds a change near either end as well as one in the middle; and the p-value of its
// being so far by chance, from dealing the lines out anew to the takes. Every take
// has at least one value. ok is false of fewer than two takes.
func split(takes [][]float64) (at int, p float64, ok bool) {
	if len(takes) < 2 {
		return 0, math.NaN(), false
	}
	var all []float64
	sizes := make([]int, len(takes))
	for i, v := range takes {
		all = append(all, v...)
		sizes[i] = len(v)
	}
	ranks, _ := diagnose.DoubledRanks(all)
	n := len(all)
	largest := func() (where int, z float64) {
		pettitt(ranks, sizes, func(b, before, u int) {
			// The variance of U without ties: before (n-before) (n+1) / 3.
			d := math.Abs(float64(u)) / math.Sqrt(float64(before)*float64(n-before)*float64(n+1)/3)
			if d > z {
				where, z = b, d
			}
		})
		return where, z
	}
	at, seen := largest()
	if at == 0 {
		return 0, 1, true // all are equal
	}
	r := rand.New(rand.NewPCG(0xc4a, uint64(n)))
	rounds := max(199, min(dealings, mostDealt/n))
	far := 0
	for k := range rounds {
		r.Shuffle(n, func(i, j int) { ranks[i], ranks[j] = ranks[j], ranks[i] })
		if _, z := largest(); z >= seen*(1-1e-12) {
			if far++; far == enough {
				return at, enough / float64(k+1), true
			}
		}
	}
	return at, float64(far+1) / float64(rounds+1), true // the one that was seen is one of them
}

// stretch is the takes lo to hi-1 of a series, between which it may change.
type stretch struct{ series, lo, hi int }

// step is a change that was found.
type step struct {
	stretch
	at           int // the first take behind it
	shift        compare.Range
	p, corrected float64
}

// steps finds the changes of several series, lines[series][take] with no take empty;
// floor is the least shift of each that counts, factor by how much its level must
// grow or shrink (1 for any). A stretch is split where it changes
// most, then either side, and so on. All splits that are tried in one round are
// corrected together (Holm) and held against half of what was left of alpha, so that
// all rounds together stay under it. What is shown must besides be greater than the
// floor and than the takes' own wander, where there are takes enough to see it.
func steps(lines [][][]float64, floor, factor []float64) []step {
	var found []step
	var try []stretch
	for i := range lines {
		try = append(try, stretch{i, 0, len(lines[i])})
	}
	for left := alpha / 2; len(try) > 0; left /= 2 {
		var round []step
		var p []float64
		for _, s := range try {
			if at, q, ok := split(lines[s.series][s.lo:s.hi]); ok {
				round, p = append(round, step{stretch: s, at: s.lo + at, p: q}), append(p, q)
			}
		}
		try = nil
		for i, q := range compare.Holm(p) {
			k := round[i]
			k.corrected = math.Min(1, q*alpha/left)
			if !(q < left) {
				continue // before the shift, which takes millions of differences
			}
			of := lines[k.series]
			before, after := flat(of[k.lo:k.at]), flat(of[k.at:k.hi])
			size := math.Abs(float64(compare.Shift(before, after).Value))
			if !(size >= floor[k.series]) || !(size > wander*usualStep(of[k.lo:k.hi])) || !grown(before, after, factor[k.series]) {
				continue
			}
			found = append(found, k)
			try = append(try, stretch{k.series, k.lo, k.at}, stretch{k.series, k.at, k.hi})
		}
	}
	slices.SortFunc(found, func(a, b step) int {
		if a.series != b.series {
			return a.series - b.series
		}
		return a.at - b.at
	})
	return prune(found, lines, floor, factor)
}

// prune measures every change between its neighbours, the changes before and behind
// it, and takes away, the smallest first, those that are none there: a split that came
// first may have stood beside the place that a later one found.
func prune(found []step, lines [][][]float64, floor, factor []float64) []step {
	for {
		weakest, size := -1, math.Inf(1)
		for i := range found {
			k := &found[i]
			of := lines[k.series]
			k.lo, k.hi = 0, len(of)
			if i > 0 && found[i-1].series == k.series {
				k.lo = found[i-1].at
			}
			if i+1 < len(found) && found[i+1].series == k.series {
				k.hi = found[i+1].at
			}
			before, after := flat(of[k.lo:k.at]), flat(of[k.at:k.hi])
			k.shift = compare.Shift(before, after)
			shift := math.Abs(float64(k.shift.Value))
			none := k.shift.Low <= 0 && k.shift.High >= 0
			if (none || shift < floor[k.series] || !grown(before, after, factor[k.series])) && shift < size {
				weakest, size = i, shift
			}
		}
		if weakest < 0 {
			return found
		}
		found = slices.Delete(found, weakest, weakest+1)
	}
}

// grown tells whether the median of b is at least factor times that of a, or the
// other way round.
func grown(a, b []float64, factor float64) bool {
	x, y := diagnose.Median(a), diagnose.Median(b)
	return y >= factor*x || x >= factor*y
}

// usualStep is the (lower) median of the steps between neighbouring takes' medians; 0
// of fewer than two.
func usualStep(takes [][]float64) float64 {
	var d []float64
	for i := 1; i < len(takes); i++ {
		d = append(d, math.Abs(diagnose.Median(takes[i])-diagnose.Median(takes[i-1])))
	}
	if len(d) < 2 {
		return 0
	}
	slices.Sort(d)
	return d[(len(d)-1)/2]
}

func flat(takes [][]float64) []float64 {
	var all []float64
	for _, v := range takes {
		all = append(all, v...)
	}
	return all
}
