package compare

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"
)

// Hand is a way of typing that is the same for every machine.
type Hand struct {
	Name string
	// Rate is in strokes a second. Intervals are log-normal with this standard
	// deviation of the logarithm (which fits typing well: Heliyon 2021, doi
	// 10.1016/j.heliyon.2021.e08413), none shorter than Shortest seconds.
	Rate, Spread, Shortest float64
	// Hold is the median time in seconds that the finger stays on the key after the
	// strike, log-normal with HoldSpread; Flicked the share of strokes whose finger
	// has left before.
	Hold, HoldSpread, Flicked float64
}

// The fixed hands. Rates: 36, 96 and 72 words a minute of five strokes; the
// fastest manual typing on record is 147 for an hour (Bliven 1954, quoted). The
// shortest interval is the floor of about 60 ms that Dhakal et al. (2018) saw. No
// published time is known for which a finger stays on a typewriter's key after the
// strike, nor of how many strokes are flicked: these are assumptions, the same for
// all.
var (
	Slow     = Hand{"slow hand", 3, 0.30, 0.060, 0.060, 0.30, 0}
	Brisk    = Hand{"brisk hand", 8, 0.28, 0.060, 0.035, 0.30, 0.05}
	Staccato = Hand{"staccato hand", 6, 0.28, 0.060, 0.035, 0.30, 0.30}
)

// Reference is the hand of [AtReference].
var Reference = Brisk

// PageStrokes is what a page means here: eight lines of some 62 strokes.
const PageStrokes = 500

const (
	handLines  = 16
	handStroke = 62
	wordLength = 6 // every sixth stroke is the space bar
)

// The kinds of linkage: keys with their type bars, and the space bar.
const (
	letter = iota
	bar
	linkages
)

// stroke is one stroke of typing, whatever machine it falls on. Times in seconds.
type stroke struct {
	kind     int
	interval float64 // to the next strike of its line
	hold     float64 // finger on the key after the strike
	flicked  bool    // the finger had left
	// Chance, 0 to 1, the same on every machine: quantile of the lead, of the
	// machine's share of the latency, of the travel, and luck with a flicked stroke.
	lead, free, travel, luck float64
}

// chance draws what machines share.
func (s *stroke) chance(r *rand.Rand) {
	s.lead, s.free, s.travel, s.luck = r.Float64(), r.Float64(), r.Float64(), r.Float64()
}

// lines types the fixed hand's lines: the same in every run. Quantiles are spread
// evenly over each line's strokes, so that few lines stand for many.
func (h Hand) lines() [][]stroke {
	r := rand.New(rand.NewPCG(0x5a9d, math.Float64bits(h.Rate)))
	all := make([][]stroke, handLines)
	n := handLines * handStroke
	interval, hold := stratified(r, n), stratified(r, n)
	// The mean interval is 1/Rate: of a log-normal, the median times exp(s^2/2).
	middle := math.Exp(-h.Spread*h.Spread/2) / h.Rate
	for i := range all {
		line := make([]stroke, handStroke)
		for j := range line {
			k := i*handStroke + j
			s := &line[j]
			if j%wordLength == wordLength-1 {
				s.kind = bar
			}
			s.interval = max(h.Shortest, middle*math.Exp(h.Spread*distuv.UnitNormal.Quantile(interval[k])))
			s.chance(r)
			if s.flicked = r.Float64() < h.Flicked; !s.flicked {
				s.hold = h.Hold * math.Exp(h.HoldSpread*distuv.UnitNormal.Quantile(hold[k]))
			}
		}
		all[i] = line
	}
	return all
}

// stratified draws n numbers between 0 and 1, one in each n-th part, shuffled.
func stratified(r *rand.Rand, n int) []float64 {
	u := make([]float64, n)
	for i, k := range r.Perm(n) {
		u[i] = (float64(k) + r.Float64()) / float64(n)
	}
	return u
}
