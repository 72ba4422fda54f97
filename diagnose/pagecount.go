package diagnose

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// PageCount holds what was heard against what the owner counted on the paper.
type PageCount struct {
	// Counted is the number of crowded and piled letters on the paper, Heard how
	// many of those that the take gives would be seen there.
	Counted int `json:"counted"`
	Heard   int `json:"heard"`
	// Low and High are the least and the greatest count that agrees with what was
	// heard, Agree tells whether Counted lies between them. All are null where the
	// take cannot be measured.
	Low   *int  `json:"low"`
	High  *int  `json:"high"`
	Agree *bool `json:"agree"`
}

const (
	// visible is by how much of a space a letter must stand too close before it is
	// seen on paper without a rule: a fifth, half a millimetre. Letters of a sound
	// machine stand that much apart by their shapes alone (common practice).
	visible = 0.2
	// pageRecall is the share of crowded and piled letters that are heard as such,
	// and pageFalse how many more are heard for each hundred pairs: pooled over the
	// clean held-out takes of the accuracy table (DEVELOPERS.md says when).
	pageRecall = 0.90
	pageFalse  = 0.5
	// mostOnPage bounds the search for the counts that agree.
	mostOnPage = 10_000
)

// pageCount holds a count against the take. The rule: of N letters on the paper
// the ear finds Binomial(N, pageRecall) and adds Poisson(pageFalse in a hundred
// pairs) that are none; the two agree unless so many heard, or more, has a chance
// of less than 2.5 %, or so few, or fewer.
func pageCount(t *Take, counted *int) *PageCount {
	if counted == nil {
		return nil
	}
	c := &PageCount{Counted: *counted}
	if !t.Recording.Usable {
		return c
	}
	pairs := Pairs(t)
	for _, p := range pairs {
		if p.Flagged() && p.Seen && t.Strokes[p.Second].Kind == KindType && !(p.ShortBy < visible) {
			c.Heard++
		}
	}
	extra := pageFalse * float64(len(pairs)) / 100
	// Both tails fall or rise with the number on the paper.
	low := sort.Search(mostOnPage, func(n int) bool { return tooMany(n, c.Heard, extra) >= tail })
	high := sort.Search(mostOnPage, func(n int) bool { return tooFew(n, c.Heard, extra) < tail }) - 1
	yes := low <= *counted && *counted <= high
	c.Low, c.High, c.Agree = &low, &high, &yes
	return c
}

// tail is the chance under which so many heard, or so few, contradict a count.
const tail = (1 - level) / 2

// tooMany is the chance that as many as heard, or more, are heard when n letters
// stand wrong on the paper, tooFew that as many or fewer are.
func tooMany(n, heard int, extra float64) float64 {
	return 1 - atMost(heard-1, n, pageRecall, extra)
}

func tooFew(n, heard int, extra float64) float64 { return atMost(heard, n, pageRecall, extra) }

// atMost is P(Binomial(n, recall) + Poisson(extra) <= k).
func atMost(k, n int, recall, extra float64) float64 {
	if k < 0 {
		return 0
	}
	found := distuv.Binomial{N: float64(n), P: recall}
	others := func(k int) float64 {
		if extra <= 0 {
			return 1
		}
		return distuv.Poisson{Lambda: extra}.CDF(float64(k))
	}
	sum := 0.0
	for i := range min(k, n) + 1 {
		sum += found.Prob(float64(i)) * others(k-i)
	}
	return math.Min(sum, 1)
}
