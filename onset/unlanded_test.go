package onset

import (
	"math"
	"testing"
)

// R. Shier, Statistics 2.3 The Mann-Whitney U test (2004), as SciPy's documentation
// of mannwhitneyu gives it: U = 17, two-sided p without continuity 0.0864107.
func TestRankZ(t *testing.T) {
	males, females := []float64{19, 22, 16, 29, 24}, []float64{20, 11, 17, 12}
	z := rankZ(males, females)
	if p := math.Erfc(z / math.Sqrt2); math.Abs(p-0.0864107329737) > 1e-10 {
		t.Errorf("p %.12f", p)
	}
	if back := rankZ(females, males); back != -z {
		t.Errorf("%v one way, %v the other", z, back)
	}
	if same := rankZ(males, males); same != 0 {
		t.Errorf("%v against itself", same)
	}
}

// evenTake is a decoded line of n letters with both sounds of the carriage and of rest
// with only a release, all with room between them; what was taken for a release is as
// much like one as usual says for the ones, doubted for the others. stray puts a sound
// that might be a landing where the others' are due; level is how loud all of it is.
func evenTake(n, rest int, usual, doubted float64, stray bool, level float32) (*session, *model) {
	m := taught()
	s := newScene(1)
	e := &s.session
	var l line
	put := func(k kindOfSound, t float64, as int, odds float64) int {
		s.sound(k, t, "")
		llr := [5]float64{-9, -9, -9, -9, -9}
		llr[as] = odds
		m.llr = append(m.llr, llr)
		return len(s.found) - 1
	}
	for i := range n + rest {
		t, odds := 1+0.25*float64(i), usual
		if i >= n {
			odds = doubted
		}
		st := stroke{time: t, strike: put(strikeSound, t, asStrike, 7), landing: -1, position: float64(i)}
		st.release = put(releaseSound, t+usualLatency, asRelease, odds+0.01*float64(i%7))
		if i < n {
			st.landing = put(landingSound, t+usualLatency+usualTravel, asLanding, 5)
		} else if stray {
			put(landingSound, t+usualLatency+usualTravel, asLanding, 1)
		}
		l.strokes = append(l.strokes, st)
	}
	l.last = len(s.found)
	e.lines = []line{l}
	e.isSecond = make([]bool, len(s.found))
	e.taken = e.usedBy(e.lines)
	e.heard, e.chance = 0.9, 0.1
	e.frames = make([]frame, int((2+0.25*float64(n+rest))/e.frameLength()))
	for i := range e.frames {
		for b := range maxBands {
			e.frames[i].level[b] = level
		}
	}
	e.samples = int64(float64(len(e.frames)) * e.frameLength() * e.rate)
	return e, m
}

func TestUnlanded(t *testing.T) {
	const quiet, loud = -90, 0
	for _, c := range []struct {
		name           string
		rest           int
		usual, doubted float64
		stray          bool
		level          float32
		want           int
	}{
		{"sounds less like releases", 12, 5, 2, false, quiet, 12},
		{"releases as good as the others", 12, 5, 5, false, quiet, 0},
		{"too few to tell", 3, 5, 2, false, quiet, 0},
		{"something like a landing after each", 12, 5, 2, true, quiet, 0},
		{"too loud to hear a landing", 12, 5, 2, false, loud, 0},
	} {
		e, m := evenTake(40, c.rest, c.usual, c.doubted, c.stray, c.level)
		e.unlanded(m)
		got := 0
		for k := range e.lines[0].strokes {
			st := &e.lines[0].strokes[k]
			if !st.unlanded {
				continue
			}
			got++
			if shared, missed := e.without(m, &e.lines[0], k); st.release >= 0 || shared || !missed {
				t.Errorf("%s: stroke %d has release %d, shared %v, missed %v", c.name, k, st.release, shared, missed)
			}
		}
		if got != c.want {
			t.Errorf("%s: %d made no space, want %d", c.name, got, c.want)
		}
	}
}

// A space is missed where it was quiet, not where it was as loud as landings leave it.
func TestSilenceSaysMissedOnlyWhereItWasQuiet(t *testing.T) {
	for _, c := range []struct {
		level float32 // where the landing would have been, dB
		want  bool
	}{{-90, true}, {-70, true}, {-45, false}, {-20, false}} {
		e, m := evenTake(40, 4, 5, 5, false, -90)
		l := &e.lines[0]
		at := func(t float64) *frame { return &e.frames[int(t/e.frameLength())] }
		for k := range l.strokes {
			st := &l.strokes[k]
			due := st.time + usualLatency + usualTravel
			for b := range maxBands {
				if k < 40 {
					at(due).level[b] = float32(m.landing.band(b)) - 8
				} else {
					at(due).level[b] = c.level
				}
			}
			if k >= 40 {
				st.release = -1
			}
		}
		e.hush = e.learnHush(m)
		e.missedShare = e.missShares(m)
		if got := e.missedShare[0] > 0.05; got != c.want {
			t.Errorf("%v dB: %.3f of the letters are missed", c.level, e.missedShare[0])
		}
		for k := 40; k < len(l.strokes); k++ {
			if _, missed := e.without(m, l, k); missed != c.want {
				t.Errorf("%v dB: stroke %d missed: %v", c.level, k, missed)
			}
		}
	}
}

// Of a stroke in whose midst the take ends nobody knows what the carriage did.
func TestStrokeCutOffIsNoMissedSpace(t *testing.T) {
	for _, heard := range []bool{false, true} { // its release
		for _, cut := range []bool{false, true} {
			e, m := evenTake(40, 12, 5, 2, false, -90)
			l := &e.lines[0]
			last := &l.strokes[len(l.strokes)-1]
			if !heard {
				last.release = -1
			}
			if cut {
				e.samples = int64((last.time + usualLatency + 0.005) * e.rate)
				e.frames = e.frames[:int(e.end()/e.frameLength())]
			}
			e.unlanded(m)
			e.hush = e.learnHush(m)
			e.missedShare = e.missShares(m)
			if _, missed := e.without(m, l, len(l.strokes)-1); missed == cut {
				t.Errorf("release heard: %v, take cut: %v, missed: %v", heard, cut, missed)
			}
		}
	}
}

// Letters that the finger leaves at once land early; where landings come late they are
// not missing.
func TestFlickedAway(t *testing.T) {
	e, m := evenTake(12, 0, 5, 5, false, -90)
	st := &e.lines[0].strokes[3]
	st.release = -1
	e.found[st.landing].time = st.time + usualTravel + 0.006
	if e.flickedAway(m, st) {
		t.Error("in a take without flicks")
	}
	m.flicked, m.flickLag = 0.1, 0.006
	if !e.flickedAway(m, st) {
		t.Error("one of them is not told")
	}
	if other := &e.lines[0].strokes[4]; e.flickedAway(m, other) {
		t.Error("one that was held is taken for one")
	}
	heard, _ := e.answers(m)
	e.found[st.landing].time = st.time + usualTravel + 0.020
	if again, _ := e.answers(m); !(again < heard) {
		t.Errorf("%.2f heard with a flick, %.2f with a landing that is lost", heard, again)
	}
}

// Where the recorder left out what came after a strike nobody knows what the carriage
// did. In a take that is silent down to the floor wherever nothing sounds, the same
// silence is quiet.
func TestHoleIsNoMissedSpace(t *testing.T) {
	for _, heard := range []bool{false, true} { // its release
		for _, quiet := range []float32{-90, -100} {
			e, m := evenTake(40, 12, 5, 2, false, quiet)
			l := &e.lines[0]
			last := &l.strokes[len(l.strokes)-1]
			if !heard {
				last.release = -1
			}
			due := int((last.time + usualLatency + usualTravel) / e.frameLength())
			for b := range maxBands {
				e.frames[due].level[b] = -100
			}
			e.unlanded(m)
			e.hush = e.learnHush(m)
			e.missedShare = e.missShares(m)
			if _, missed := e.without(m, l, len(l.strokes)-1); missed != (quiet == -100) {
				t.Errorf("release heard: %v, quiet at %g dB, missed: %v", heard, quiet, missed)
			}
		}
	}
}

// Silence where landings are due does not say that no space was made where something
// like a landing comes as early as after a flick.
func TestMayBeFlicked(t *testing.T) {
	e, m := evenTake(12, 1, 5, 5, false, -90)
	st := &e.lines[0].strokes[12]
	st.release = -1
	if e.mayBeFlicked(m, st) {
		t.Error("with nothing after it")
	}
	e.found = append(e.found, landingSound.at(st.time+usualTravel+0.006, newScene(2).r))
	m.llr = append(m.llr, [5]float64{-9, -9, -9, 2, -9})
	e.isSecond, e.taken = append(e.isSecond, false), append(e.taken, false)
	if !e.mayBeFlicked(m, st) {
		t.Error("with something like a landing soon after it")
	}
	e.taken[len(e.found)-1] = true
	if e.mayBeFlicked(m, st) {
		t.Error("with another stroke's landing soon after it")
	}
}
