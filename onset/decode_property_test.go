package onset

import (
	"testing"

	"pgregory.net/rapid"
)

// Whatever sounds there are in whatever order, no sound is used twice, strokes
// come in order and each stroke's sounds after its strike.
func TestNoSoundIsUsedTwice(t *testing.T) {
	m := taught()
	kinds := []kindOfSound{strikeSound, thumpSound, releaseSound, landingSound, leverSound}
	strokes := 0
	rapid.Check(t, func(t *rapid.T) {
		s := newScene(rapid.Uint64Range(0, 1000).Draw(t, "seed"))
		at := 1.0
		for range rapid.IntRange(0, 80).Draw(t, "sounds") {
			at += rapid.Float64Range(0.0005, 0.06).Draw(t, "gap")
			s.sound(kinds[rapid.IntRange(0, len(kinds)-1).Draw(t, "kind")], at, "")
		}
		m.llr = nil
		used := map[int]bool{}
		last, lastLanding := -1, -1
		for _, st := range s.decoded(m) {
			strokes++
			if st.strike <= last {
				t.Fatalf("stroke at %d after one at %d", st.strike, last)
			}
			last = st.strike
			before := st.strike
			for _, i := range []int{st.release, st.landing} {
				if i < 0 {
					continue
				}
				if i <= before || i <= lastLanding {
					t.Fatalf("%+v: sound %d comes before %d or %d", st, i, before, lastLanding)
				}
				before = i
			}
			lastLanding = max(lastLanding, st.release, st.landing)
			for _, i := range []int{st.strike, st.release, st.landing} {
				if i >= 0 && used[i] {
					t.Fatalf("%+v: sound %d is used twice", st, i)
				}
				if i >= 0 {
					used[i] = true
				}
			}
		}
	})
	if strokes == 0 {
		t.Error("nothing was ever decoded")
	}
}

// A way from one node to another adds mostCovered at most, or decodeLine would pass
// over nodes that it must not.
func TestWaysAddLittle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := taught()
		m.pace = rapid.Float64Range(-4, 1).Draw(t, "pace")
		m.paceSigma = rapid.Float64Range(0.2, 0.7).Draw(t, "paceSigma")
		for k := range 2 {
			m.half[k] = rapid.Float64Range(0.001, 1).Draw(t, "half")
			m.none[k] = rapid.Float64Range(0.001, 1).Draw(t, "none")
		}
		interval := rapid.Float64Range(refractory, 5)
		gap, before := interval.Draw(t, "interval"), interval.Draw(t, "interval before")
		const rounding = 1e-9
		rhythm := m.rhythm(gap)
		if v := rhythm + m.keeps(rhythm, gap, before); v > rounding {
			t.Errorf("rhythm adds %g", v)
		}
		if v := m.gap(gap); v > rounding {
			t.Errorf("gap adds %g", v)
		}
		a := &node{time: 1, space: rapid.Bool().Draw(t, "space")}
		b := &node{time: 1 + gap, trip: -1}
		if v := m.silent(a, b.time); v > rounding {
			t.Errorf("silence adds %g", v)
		}
		if v := m.covered(a, b.time, b); v > m.mostCovered() {
			t.Errorf("a covered landing adds %g, more than %g", v, m.mostCovered())
		}
	})
}
