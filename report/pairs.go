package report

import (
	"math"
	"sort"

	"loosedog/diagnose"
)

// pair is a [diagnose.Pair] as text and picture need it: plain numbers, NaN
// where not known, and the pair's rank among the flagged.
type pair struct {
	// first and second are places in the take's Strokes.
	first, second int
	// interval, ready and slack are the first stroke's, in ms.
	interval, ready, slack float64
	// spacing is the second stroke's; empty when it cannot be told.
	spacing string
	// short is by how much of a space the second letter stands short.
	short float64
	// seen is false where the second stroke prints nothing that could stand
	// wrong.
	seen bool
	// number is the rank among the flagged from 1, the worst; 0 when the pair is
	// not flagged. Text and picture use the same numbers.
	number int
}

func (p pair) flagged() bool { return p.number > 0 }

// pairsOf lists every pair of a take in order of time, the flagged ones
// numbered in the order of [diagnose.Flagged].
func pairsOf(t *diagnose.Take) []pair {
	rank := map[int]int{}
	for i, p := range diagnose.Flagged(t) {
		rank[p.First] = i + 1
	}
	var pairs []pair
	for _, p := range diagnose.Pairs(t) {
		pairs = append(pairs, pair{
			first: p.First, second: p.Second,
			interval: float(p.IntervalMS), ready: float(p.ReadyMS), slack: float(p.SlackMS),
			spacing: p.Spacing, short: float(p.ShortBy), seen: p.Seen,
			number: rank[p.First],
		})
	}
	return pairs
}

// worstPairs are the flagged pairs, the worst first.
func worstPairs(pairs []pair) []pair {
	var out []pair
	for _, p := range pairs {
		if p.flagged() {
			out = append(out, p)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].number < out[j].number })
	return out
}

// shownPair is the pair whose sound the picture shows: the worst of the flagged,
// else the tightest. ok is false when no pair has both its strikes.
func shownPair(t *diagnose.Take, pairs []pair) (shown pair, ok bool) {
	better := func(p, q pair) bool {
		if p.number != q.number {
			return q.number == 0 || p.number > 0 && p.number < q.number
		}
		if a, b := orInf(p.slack), orInf(q.slack); a != b {
			return a < b
		}
		return orInf(p.interval) < orInf(q.interval)
	}
	for _, p := range pairs {
		a, b := t.Strokes[p.first].StrikeS, t.Strokes[p.second].StrikeS
		if !a.Known() || !b.Known() || a < 0 || a > longestTake || b < a {
			continue
		}
		if !ok || better(p, shown) {
			shown, ok = p, true
		}
	}
	return shown, ok
}

// longestTake is 11 days in seconds: a time beyond it is no time in a recording,
// and would cost the picture its precision.
const longestTake = 1e6

// float is n as a float64, NaN when it is not known.
func float(n diagnose.Number) float64 {
	if !n.Known() {
		return math.NaN()
	}
	return float64(n)
}

// orInf puts what is not known behind everything else.
func orInf(x float64) float64 {
	if math.IsNaN(x) {
		return math.Inf(1)
	}
	return x
}
