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
	// steadyRatio is answeredRatio where travels are steady, answeredAlone what
	// answered must be where one sound a stroke is heard and no space bar, and
	// loosestTravel the spread of travels (s) over which pairs are none. All three
	// were set on spoiled simulated takes: no take measured rightly was beyond them.
	steadyRatio   = 1.5
	answeredAlone = 0.8
	loosestTravel = 0.0028
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

// judge decides whether t can be measured and says what is wrong with it.
func (e *session) judge(m *model, t *Take) {
	noise := 0.0
	for b, n := range e.noiseLevels() {
		if b < e.bands {
			noise += math.Pow(10, n/10)
		}
	}
	t.Learnt.NoiseLevel = db(noise + e.floor)
	t.Learnt.StrikeToNoise = m.strike.mean[loudness] - t.Learnt.NoiseLevel
	if n := len(t.Strokes); n < thinTake {
		t.Learnt.Thin = fmt.Sprintf("only %d strokes were heard; a page of typing teaches more", n)
	}
	heard, chance := e.heard, e.chance
	steady := m.pairs && m.travel.n >= fewestStrikes && m.travel.sigma < steadyTravel && m.both[0] > 0.6
	t.Usable = m.landing.n > 0 && (steady && heard >= steadyRatio*chance || heard >= answered && heard >= answeredRatio*chance)
	switch {
	case m.pairs && m.travel.sigma > loosestTravel:
		t.Usable = false
	case !m.pairs && !m.spaces && heard < answeredAlone:
		// One sound that no space bar was heard to share may be the finger's.
		t.Usable = false
	}
	if !t.Usable {
		// The strikes are sure, what follows them is not.
		for i := range t.Strokes {
			st := &t.Strokes[i]
			st.Release, st.Landing, st.Skip = silence, silence, silence
			st.Shared, st.Missed = false, false
		}
		t.Learnt.Release, t.Learnt.Landing = noSound(), noSound()
		t.Learnt.Latency, t.Learnt.Travel = spreadOf(nil), spreadOf(nil)
		t.Learnt.Pairs = false
		t.Problems = append(t.Problems, audio.Problem{Code: "carriage-not-heard",
			Text: "strikes were heard, but no carriage: its clicks are buried or cut away; " + recordAgain})
		return
	}
	if !m.pairs {
		t.Problems = append(t.Problems, audio.Problem{Code: "release-not-heard",
			Text: "only one carriage sound a stroke can be told: ready times stand, travel and latency cannot be told; laying the phone nearer to the escapement may help"})
	}
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
			if st.space || k+1 < len(l.strokes) && l.strokes[k+1].time < t+d.ready+half {
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
