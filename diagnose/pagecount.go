package diagnose

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/combin"
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
	// Of the crowded and piled letters of a take a share is heard as such that
	// differs from take to take as Beta(recallHits, recallMisses) does, and others
	// are heard that are none, by a rate that differs as a gamma distribution of
	// shape falseShape and mean falseRate for each pair does. By maximum likelihood
	// from the 21 takes of the clean conditions, tuning seeds, that could be measured
	// on 25 November 2026, without the machine whose space bar misses spaces: that is
	// not heard (DEVELOPERS.md, "The count on the paper").
	recallHits, recallMisses = 13.0, 3.0
	falseShape, falseRate    = 1.0, 0.009
	// mostOnPage bounds the search for the counts that agree.
	mostOnPage = 10_000
)

// pageCount holds a count against the take. The rule: of N letters on the paper
// the ear finds a beta-binomial number and adds a negative-binomial one of others
// (see the constants); the two agree unless so many heard, or more, has a chance of
// less than 2.5 %, or so few, or fewer.
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
		if p.Flagged() && t.Strokes[p.Second].Kind == KindType && !(p.ShortBy < visible) {
			c.Heard++
		}
	}
	extra := falseRate * float64(len(pairs))
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
// stand wrong on the paper, tooFew that as many or fewer are; extra is how many
// others are heard on average.
func tooMany(n, heard int, extra float64) float64 { return 1 - atMost(heard-1, n, extra) }

func tooFew(n, heard int, extra float64) float64 { return atMost(heard, n, extra) }

// atMost is the chance that at most k are heard.
func atMost(k, n int, extra float64) float64 {
	if k < 0 {
		return 0
	}
	// Others, added up.
	others := make([]float64, k+1)
	sum := 0.0
	for j := range others {
		sum += negativeBinomial(j, falseShape, extra)
		others[j] = sum
	}
	total := 0.0
	for i := range min(k, n) + 1 {
		total += betaBinomial(i, n, recallHits, recallMisses) * others[k-i]
	}
	return math.Min(total, 1)
}

// betaBinomial is the chance of i hits of n when the chance of a hit is itself
// drawn from Beta(a, b): C(n, i) B(i+a, n-i+b) / B(a, b).
func betaBinomial(i, n int, a, b float64) float64 {
	f, m := float64(i), float64(n-i)
	return math.Exp(combin.LogGeneralizedBinomial(float64(n), f) + mathext.Lbeta(f+a, m+b) - mathext.Lbeta(a, b))
}

// negativeBinomial is the chance of j when the mean of a Poisson count is itself
// drawn from a gamma distribution of that shape and mean.
func negativeBinomial(j int, shape, mean float64) float64 {
	if !(mean > 0) {
		if j == 0 {
			return 1
		}
		return 0
	}
	ways, _ := math.Lgamma(float64(j) + shape)
	none, _ := math.Lgamma(shape)
	order, _ := math.Lgamma(float64(j) + 1)
	return math.Exp(ways - none - order + shape*math.Log(shape/(shape+mean)) + float64(j)*math.Log(mean/(shape+mean)))
}
