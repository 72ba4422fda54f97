package onset

import (
	"fmt"
	"math"

	"loosedog/audio"
)

const (
	// fewestStrikes is how many strikes, or travels, it takes to learn from.
	fewestStrikes = 8
	// A strike is over in a few milliseconds; speech and most music are not.
	// busyShare bounds the share of 10 ms frames as loud as the strikes' own
	// (within 10 dB). slowest is the least that the usual strike's sound falls
	// from its first 2 ms to 4..8 ms after its onset (candidate.decay), in dB, less
	// than 0 for one that still swells; unlike is how much that may spread
	// (standard deviation, dB).
	busyShare = 0.26
	slowest   = -1.0
	unlike    = 6.0
	// faintest is how far the middle strike must stand over what was there before
	// it, in dB, mean of the bands.
	faintest = 7.0
	// answered is the share of letters that must be followed by a landing where
	// the take's landings come; answeredRatio is that share over the share by
	// chance, at least.
	answered      = 0.45
	answeredRatio = 1.4
	// steadyTravel is the spread of travels (standard deviation, s) under which
	// release and landing prove one another: nothing else of the machine keeps
	// time like it. The guesses at the carriage's sounds are told apart by it, too
	// (choose).
	steadyTravel = 0.002
	// steadyRatio is answeredRatio where travels are steady, and loosestTravel the
	// spread of travels (s) over which pairs are none. Where one sound a stroke is
	// heard, answered must be answeredAlone, and no more than silentAlone of the
	// letters may be without it. All four were set on spoiled simulated takes: no take
	// measured rightly was beyond them.
	steadyRatio   = 1.5
	answeredAlone = 0.75
	silentAlone   = 0.05
	loosestTravel = 0.0028
	// proof is how many travels it takes to prove typing by the carriage alone, and
	// proofShare the share of letters that must have one.
	proof      = 40
	proofShare = 0.45
	// closeRival is the lead over the best other reading (session.lead) under which a
	// take does not decide by itself: its travel must grow along the line. Of 430
	// simulated takes, whole and spoiled, four had neither; none of them was measured
	// rightly.
	closeRival = 0.025
	// fewLandings is the share of strokes with a landing under which no take reaches
	// the goal for landings, and fewestLandings that under which those heard are
	// mostly others' sounds (F 0 to 0.7 on spoiled takes). fewThumps is the share of
	// space-bar strokes under which most of them go unheard: one in five or six is
	// usual in English text.
	fewLandings    = 0.85
	fewestLandings = 0.6
	fewThumps      = 0.05
	// passedFew sounds passed over as none of the strokes', and that share of the
	// strokes, are told of.
	passedFew   = 5
	passedShare = 0.03
	// thinTake is the number of strokes under which what a take taught is thin.
	thinTake = 40
)

const recordAgain = "record again with the phone on the machine's top cover, close to the carriage, in a quiet room, with every recorder effect off"

// typing tells whether the sounds found as strikes, of family strike, are
// strikes at all; if not, the problem says so.
func (s *scan) typing(found []int, strike family) (problem audio.Problem, ok bool) {
	if len(found) == 0 {
		return audio.Problem{Code: "no-typing", Text: "no typing was heard; " + recordAgain}, false
	}
	if len(found) < fewestStrikes {
		return audio.Problem{Code: "too-few-strokes", Text: fmt.Sprintf("only %d sounds like strikes were heard: type at least one full line", len(found))}, false
	}
	over := make([]float64, 0, len(found))
	for _, i := range found {
		sum := 0.0
		for b := range s.bands {
			sum += s.found[i].level[b] - s.found[i].before[b]
		}
		over = append(over, sum/float64(s.bands))
	}
	decay := strike.mean[fading]
	if busy := s.busy(found); busy > busyShare || decay < slowest || strike.sigma[fading] > unlike || middle(over) < faintest {
		return audio.Problem{Code: "no-typing", Text: "this does not sound like typing (no short, hard strikes apart from one another): if it is, speech, music or noise covers it; " + recordAgain}, false
	}
	return audio.Problem{}, true
}

// blurred is what is said of a take whose strikes do not sound like any, but whose
// carriage proves them.
var blurred = audio.Problem{Code: "strikes-blurred", Text: "the strikes hardly stand out of what else is heard (a room, noise or a codec covers them); the carriage shows that this is typing, but strikes, spaces and trips are less sure than usual; " + recordAgain}

// busy is the share of the frames between the first strike and the last that
// are within 10 dB of the strikes' own.
func (s *scan) busy(found []int) float64 {
	if len(s.frames) < 2 {
		return 1
	}
	fl := s.frameLength()
	at := func(t float64) int { return clamp(int(t/fl), 0, len(s.frames)-2) }
	own := make([]float64, 0, len(found))
	for _, i := range found {
		k := at(s.found[i].time)
		own = append(own, max(s.frameLevel(k), s.frameLevel(k+1)))
	}
	level := middle(own)
	first, last := at(s.found[found[0]].time), at(s.found[found[len(found)-1]].time)
	loud := 0
	for k := first; k <= last; k++ {
		if s.frameLevel(k) > level-10 {
			loud++
		}
	}
	return float64(loud) / float64(last-first+1)
}

// frameLevel is the level of frame k over all bands in dB.
func (s *scan) frameLevel(k int) float64 {
	sum := 0.0
	for b := range s.bands {
		sum += math.Exp(float64(s.frames[k].level[b]) * (math.Ln10 / 10))
	}
	return db(sum)
}

// answers is the share of letters that have a landing in the time in which this
// take's landings come, and the share that would have one by chance: at other
// times before and after the strike.
func (e *session) answers(m *model) (heard, chance float64) {
	if m.landing.n == 0 {
		return 0, 0
	}
	d := m.delay[0]
	half := clamp(1.5*d.readySigma, 0.006, 0.03)
	// Places to look at for what chance puts there, in ready times from the
	// strike. Lever noise or an echo can stand at one of those before it, and the
	// finger's own sounds at one of those after it, so their medians count.
	before := [5]float64{-0.4, -0.8, -1.2, -1.6, -2}
	after := [5]float64{0.5, 0.7, 1.4, 1.7, 2}
	var early, late [5]float64
	hits, n := 0, 0
	has := func(t float64) bool {
		for i := e.after(t - half); i < len(e.found) && e.found[i].time < t+half; i++ {
			if m.llr[i][asLanding] > 0.5 {
				return true
			}
		}
		return false
	}
	for _, l := range e.lines {
		for k, st := range l.strokes {
			t := st.time
			if st.space || k+1 < len(l.strokes) && l.strokes[k+1].time < t+d.ready+half || e.flickedAway(m, &st) {
				continue
			}
			n++
			if has(t + d.ready) {
				hits++
			}
			for p := range before {
				if has(t + before[p]*d.ready) {
					early[p]++
				}
				if has(t + after[p]*d.ready) {
					late[p]++
				}
			}
		}
	}
	if n < 5 {
		return 0, 0
	}
	return float64(hits) / float64(n), max(middle(early[:]), middle(late[:])) / float64(n)
}
