package report

import (
	"math"
	"sort"

	"loosedog/diagnose"
)

// pair is two strokes in a row on one line: the second is struck an interval
// after the first.
type pair struct {
	// first and second are places in the take's Strokes.
	first, second int
	// interval, ready and slack are the first stroke's, in ms; NaN when unknown.
	interval, ready, slack float64
	// spacing is the second stroke's; empty when it cannot be told.
	spacing string
	// short is by how much of a space the second letter stands short; NaN when
	// unknown.
	short float64
	// number is the pair's rank among the flagged from 1, the worst; 0 when the
	// pair is not flagged. Text and picture use the same numbers.
	number int
}

// flagged tells whether the pair was struck faster than the carriage could
// space.
func (p pair) flagged() bool {
	return p.spacing == diagnose.SpacingCrowded || p.spacing == diagnose.SpacingPiled || p.slack < 0
}

// pairsOf lists every pair of a take in order of time, the flagged ones
// numbered.
func pairsOf(t *diagnose.Take) []pair {
	var pairs []pair
	for i := 0; i+1 < len(t.Strokes); i++ {
		a, b := &t.Strokes[i], &t.Strokes[i+1]
		if a.Line != b.Line {
			continue
		}
		pairs = append(pairs, pair{
			first: i, second: i + 1,
			interval: float(a.IntervalMS), ready: float(a.ReadyMS), slack: float(a.SlackMS),
			spacing: orEmpty(b.Spacing), short: float(b.ShortBy),
		})
	}
	var worst []int
	for i, p := range pairs {
		if p.flagged() {
			worst = append(worst, i)
		}
	}
	sort.SliceStable(worst, func(i, j int) bool { return worse(pairs[worst[i]], pairs[worst[j]]) })
	for rank, i := range worst {
		pairs[i].number = rank + 1
	}
	return pairs
}

// worse orders flagged pairs: by what is seen on the page first (a letter on top
// of another, then by how much it stands short), then by slack.
func worse(p, q pair) bool {
	if a, b := shortness(p), shortness(q); a != b {
		return a > b
	}
	return orInf(p.slack) < orInf(q.slack)
}

// shortness is by how much of a space a flagged pair's letter stands short, as
// far as it can be told.
func shortness(p pair) float64 {
	switch {
	case !math.IsNaN(p.short):
		return p.short
	case p.spacing == diagnose.SpacingPiled:
		return 1
	default:
		return 0
	}
}

// worstPairs are the flagged pairs, the worst first.
func worstPairs(pairs []pair) []pair {
	var out []pair
	for _, p := range pairs {
		if p.number > 0 {
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
		if !a.Known() || !b.Known() || a < 0 || b < a {
			continue
		}
		if !ok || better(p, shown) {
			shown, ok = p, true
		}
	}
	return shown, ok
}

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
