package onset

import (
	"fmt"
	"math"

	"loosedog/audio"
)

// judge decides whether t can be measured and says what is wrong with it. What is
// not sure of one that cannot is taken out, unless open.
func (e *session) judge(m *model, t *Take, open bool) {
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
	_, landed := t.shares()
	doubt, refused := e.doubt(m, landed)
	t.Usable = !refused
	if refused {
		t.Problems = append(t.Problems, doubt)
		if !open {
			t.forgetCarriage()
		}
		return
	}
	if n := float64(e.passed); n >= passedFew && n >= passedShare*float64(len(t.Strokes)) {
		t.Problems = append(t.Problems, audio.Problem{Code: "other-sounds",
			Text: fmt.Sprintf("%d sounds like strokes moved nothing and were passed over, and others may have been taken for strokes: speech, backspaces, the tabulator; record in silence and only type", e.passed)})
	}
	if n, first := e.holes(t); n > 0 {
		t.Problems = append(t.Problems, audio.Problem{Code: "holes",
			Text: fmt.Sprintf("the recorder lost pieces of the sound (%d while it was typed, the first after %.1f s), and what fell into them is not known; close what else runs on it and record again", n, first)})
	}
	if !m.pairs {
		t.Problems = append(t.Problems, audio.Problem{Code: "release-not-heard",
			Text: "only one carriage sound a stroke can be told: ready times stand, travel and latency cannot be told; laying the phone nearer to the escapement may help"})
	}
	t.Problems = append(t.Problems, t.unheard()...)
	t.Learnt.HalfMoves = e.halfMoves(m, t)
}

// holes counts the stretches of at least shortestHole seconds of the typing in which
// nothing was recorded, and says when the first of them begins.
func (e *session) holes(t *Take) (n int, first float64) {
	const shortestHole = 0.03
	fl := e.frameLength()
	frames := int(shortestHole/fl + 0.5)
	for _, l := range t.Lines {
		run := 0
		for k := int(l.Start / fl); k < min(int(l.End/fl), len(e.frames)); k++ {
			if !e.hole(k) {
				run = 0
				continue
			}
			if run++; run == frames {
				if n++; n == 1 {
					first = float64(k+1-frames) * fl
				}
			}
		}
	}
	return n, first
}

// doubt is why nothing that was heard of the carriage is sure, if it is not.
func (e *session) doubt(m *model, landed float64) (problem audio.Problem, refused bool) {
	steady := m.pairs && m.travel.n >= fewestStrikes && m.travel.sigma < steadyTravel && m.both[0] > 0.6
	_, high := m.travel.growth()
	switch {
	case m.landing.n == 0 || landed < fewestLandings,
		!(steady && e.heard >= steadyRatio*e.chance) && !(e.heard >= answered && e.heard >= answeredRatio*e.chance) && !e.proves(m),
		m.pairs && m.travel.sigma > loosestTravel,
		// One sound that does not come after nearly every letter may be the finger's.
		!m.pairs && (e.heard < answeredAlone || m.none[0] > silentAlone):
		return audio.Problem{Code: "carriage-not-heard",
			Text: "strikes were heard, but no carriage: its clicks are buried or cut away; " + recordAgain}, true
	case m.pairs && (high < 1.5*leastGrowth || e.lead < closeRival && !(m.travel.b < 0)):
		return audio.Problem{Code: "carriage-undecided",
			Text: "strikes were heard, but more than one sound could be the carriage's, and which of them takes longer toward the end of the line, as the carriage does, does not show; type more lines, each to the margin, and " + recordAgain}, true
	case m.thump.n > m.strike.n:
		return audio.Problem{Code: "kinds-undecided",
			Text: "more strokes of the space bar than letters were heard, so the two cannot be told apart; type words of several letters, or " + recordAgain}, true
	}
	return audio.Problem{}, false
}

// proves tells whether the carriage alone shows that the take is typing, whatever
// its strikes sound like: two sounds keep a travel that only a carriage keeps, that
// surely grows along the lines as the mainspring unwinds, and no other reading of the
// take comes near. An echo or a sequencer keeps time as well, but its time does not
// grow and fall back with the lines; nothing in speech keeps time so well.
func (e *session) proves(m *model) bool {
	low, high := m.travel.growth()
	return m.pairs && m.travel.n >= proof && m.travel.sigma < steadyTravel && m.both[0] > proofShare &&
		low > leastGrowth && high < mostGrowth && !(e.lead < closeRival)
}

// forgetCarriage takes out what is not sure of a take whose strikes are.
func (t *Take) forgetCarriage() {
	for i := range t.Strokes {
		st := &t.Strokes[i]
		st.Release, st.Landing, st.Skip = silence, silence, silence
		st.Shared, st.Missed = false, false
	}
	t.Learnt.Release, t.Learnt.Landing = noSound(), noSound()
	t.Learnt.Latency, t.Learnt.Travel = spreadOf(nil), spreadOf(nil)
	t.Learnt.Pairs = false
}

// shares are those of the strokes that the space bar makes and that are followed by
// a landing.
func (t *Take) shares() (spaces, landings float64) {
	for i := range t.Strokes {
		if t.Strokes[i].Space {
			spaces++
		}
		if t.Strokes[i].Landing.Heard() {
			landings++
		}
	}
	n := math.Max(float64(len(t.Strokes)), 1)
	return spaces / n, landings / n
}

// unheard names what goes unheard so often that its goal cannot be met, though the
// rest stands.
func (t *Take) unheard() (problems []audio.Problem) {
	spaces, landings := t.shares()
	if len(t.Strokes) < thinTake {
		return nil
	}
	if spaces < fewThumps {
		problems = append(problems, audio.Problem{Code: "spaces-not-heard", Text: fmt.Sprintf(
			"only %.0f %% of the strokes were told to be the space bar's: if more were, they were not heard, and positions along the line come out too small; %s", 100*spaces, recordAgain)})
	}
	if landings < fewLandings {
		problems = append(problems, audio.Problem{Code: "landings-unsure", Text: fmt.Sprintf(
			"a landing was heard after only %.0f %% of the strokes: unless the machine misses that many spaces, crowded, piled and missed ones are less sure than usual; %s", 100*landings, recordAgain)})
	}
	return problems
}
