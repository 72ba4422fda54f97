package diagnose

import (
	"math"
	"math/rand/v2"
	"testing"

	"loosedog/onset"
)

// Machines of three actions, as heard; the figures are invented.
func TestActionIsDoubtedWhereTheCarriageContradictsIt(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	// ready gives release (0 where it is not heard) and landing after the strike.
	take := func(n int, ready func(position float64) (release, landing float64)) ([]onset.Stroke, []Stroke) {
		var heard []onset.Stroke
		for i := range n {
			position := i % 50
			at := 0.25 * float64(i)
			release, landing := ready(float64(position))
			h := onset.Stroke{Line: i / 50, Strike: onset.Mark{Time: at, Confidence: 1}, Landing: onset.Mark{Time: at + landing, Confidence: 1}}
			if release > 0 {
				h.Release = onset.Mark{Time: at + release, Confidence: 1}
			}
			heard = append(heard, h)
		}
		strokes := make([]Stroke, n)
		for i := range strokes {
			strokes[i].Position = i % 50
		}
		return heard, strokes
	}
	atTrip := func(p float64) (float64, float64) { return 0, 0.032 + 0.0001*p + 0.0005*r.NormFloat64() }
	onRebound := func(p float64) (float64, float64) { return 0, 0.080 + 0.0001*p + 0.003*r.NormFloat64() }
	withKey := func(p float64) (float64, float64) {
		release := 0.05 + 0.012*r.NormFloat64()
		return release, release + 0.035 + 0.0001*p
	}
	for _, c := range []struct {
		name   string
		n      int
		ready  func(float64) (float64, float64)
		halves float64 // share of letters with a half move
		told   Action
		doubt  bool
	}{
		{"down-stroke told full", 200, atTrip, 0, FullSpace, true},
		{"down-stroke told half", 200, atTrip, 0, HalfSpace, true},
		{"down-stroke told down", 200, atTrip, 0, DownStroke, false},
		{"down-stroke told full, too few", 30, atTrip, 0, FullSpace, false},
		{"one sound on the rebound told full", 200, onRebound, 0, FullSpace, false},
		{"full-space told full", 200, withKey, 0, FullSpace, false},
		{"full-space told down", 200, withKey, 0, DownStroke, true},
		{"one sound on the rebound told down", 200, onRebound, 0, DownStroke, false},
		{"half-space told full", 200, withKey, 0.6, FullSpace, true},
		{"half-space told down", 200, withKey, 0.6, DownStroke, true},
		{"half-space told half", 200, withKey, 0.6, HalfSpace, false},
		{"by chance", 200, withKey, 0.05, FullSpace, false},
		{"half moves cannot be told", 200, withKey, math.NaN(), FullSpace, false},
	} {
		heard, strokes := take(c.n, c.ready)
		if p, doubt := doubtAction(&onset.Take{Strokes: heard, Learnt: onset.Learnt{HalfMoves: c.halves}}, strokes, c.told); doubt != c.doubt {
			t.Errorf("%s: doubted %v (%s), want %v", c.name, doubt, p.Text, c.doubt)
		}
	}
}
