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
