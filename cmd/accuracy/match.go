package main

import (
	"math"
	"slices"
)

// pair is one true event and the one found that was matched with it, as
// indexes into the two lists.
type pair struct{ ref, est int }

// match pairs events of ref and est that lie at most window apart, one to one,
// so that as many pairs as possible come out and, among those choices, the
// times differ least in sum. Both lists must ascend; seconds. The number of
// pairs is that of mir_eval's onset.f_measure (util.match_events: a maximum
// bipartite matching, window included); mir_eval does not say which of several
// largest matchings it takes, the least sum is ours.
func match(ref, est []float64, window float64) []pair {
	var pairs []pair
	// Events that no chain of candidates ties together are matched apart.
	for i, j := 0, 0; i < len(ref) && j < len(est); {
		switch {
		case !within(est[j], ref[i], window) && est[j] < ref[i]:
			j++
			continue
		case !within(est[j], ref[i], window):
			i++
			continue
		}
		i1, j1 := i+1, j+1
		for grown := true; grown; {
			grown = false
			for i1 < len(ref) && within(ref[i1], est[j1-1], window) {
				i1++
				grown = true
			}
			for j1 < len(est) && within(est[j1], ref[i1-1], window) {
				j1++
				grown = true
			}
		}
		for _, p := range matchChain(ref[i:i1], est[j:j1], window) {
			pairs = append(pairs, pair{p.ref + i, p.est + j})
		}
		i, j = i1, j1
	}
	return pairs
}

func within(a, b, window float64) bool { return math.Abs(a-b) <= window }

// matchChain solves one chain of tied events. On a line, some best matching
// never crosses, so an alignment of the two lists finds it.
func matchChain(ref, est []float64, window float64) []pair {
	type cell struct {
		pairs int
		sum   float64
		from  byte // what the last step was: pair, skip a ref, skip an est
	}
	const paired, skipRef, skipEst = 1, 2, 3
	better := func(a, b cell) bool {
		return a.pairs > b.pairs || a.pairs == b.pairs && a.sum < b.sum
	}
	n, m := len(ref), len(est)
	grid := make([]cell, (n+1)*(m+1))
	at := func(i, j int) *cell { return &grid[i*(m+1)+j] }
	for i := 0; i <= n; i++ {
		for j := 0; j <= m; j++ {
			if i == 0 && j == 0 {
				continue
			}
			best := cell{pairs: -1}
			if i > 0 {
				if c := *at(i-1, j); better(c, best) {
					best, best.from = c, skipRef
				}
			}
			if j > 0 {
				if c := *at(i, j-1); better(c, best) {
					best, best.from = c, skipEst
				}
			}
			if i > 0 && j > 0 && within(ref[i-1], est[j-1], window) {
				c := *at(i-1, j-1)
				c.pairs++
				c.sum += math.Abs(ref[i-1] - est[j-1])
				if better(c, best) {
					best, best.from = c, paired
				}
			}
			*at(i, j) = best
		}
	}
	var pairs []pair
	for i, j := n, m; i > 0 || j > 0; {
		switch at(i, j).from {
		case paired:
			i, j = i-1, j-1
			pairs = append(pairs, pair{i, j})
		case skipRef:
			i--
		default:
			j--
		}
	}
	slices.Reverse(pairs)
	return pairs
}

// score counts how well one kind of event was found; scores of several takes
// add up.
type score struct {
	ref, est, hits int
	errors         []float64 // est minus ref of each pair, in seconds
}

// scoreEvents matches ref and est (any order; seconds).
func scoreEvents(ref, est []float64, window float64) score {
	ref, est = slices.Sorted(slices.Values(ref)), slices.Sorted(slices.Values(est))
	s := score{ref: len(ref), est: len(est)}
	for _, p := range match(ref, est, window) {
		s.hits++
		s.errors = append(s.errors, est[p.est]-ref[p.ref])
	}
	return s
}

func (s *score) add(o score) {
	s.ref, s.est, s.hits = s.ref+o.ref, s.est+o.est, s.hits+o.hits
	s.errors = append(s.errors, o.errors...)
}

// fMeasure, precision and recall are mir_eval's: all 0 when either list is
// empty.
func (s *score) fMeasure() (f, precision, recall float64) {
	if s.ref == 0 || s.est == 0 || s.hits == 0 {
		return 0, 0, 0
	}
	precision = float64(s.hits) / float64(s.est)
	recall = float64(s.hits) / float64(s.ref)
	return 2 * precision * recall / (precision + recall), precision, recall
}

// spread gives the median and the 95th percentile of the absolute errors and
// the median of the signed ones, in seconds; NaN when nothing was matched.
func (s *score) spread() (median, p95, signed float64) {
	size := make([]float64, len(s.errors))
	for i, e := range s.errors {
		size[i] = math.Abs(e)
	}
	return quantile(size, 0.5), quantile(size, 0.95), quantile(s.errors, 0.5)
}

// quantile interpolates between the order statistics (R's type 7); NaN when
// there are none.
func quantile(v []float64, p float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	v = slices.Sorted(slices.Values(v))
	at := p * float64(len(v)-1)
	i := int(at)
	if i+1 >= len(v) {
		return v[len(v)-1]
	}
	return v[i] + (at-float64(i))*(v[i+1]-v[i])
}
