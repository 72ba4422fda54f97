package diagnose

import (
	"math/rand/v2"
	"testing"

	"loosedog/onset"
)

// latencies makes a line of strokes 300 ms apart with the given latencies.
func latencies(all []float64) *Take {
	var l []onset.Stroke
	for i, v := range all {
		s := 1000 + 300*float64(i)
		l = append(l, letter(s-3, s, s+v, s+v+35))
	}
	return Measure("a.wav", take(l), nil, Options{})
}

func TestMachineLatency(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 5))
	draw := func(n int, mean, sd float64) []float64 {
		x := make([]float64, n)
		for i := range x {
			x[i] = max(mean+sd*rnd.NormFloat64(), 1)
		}
		return x
	}
	for _, c := range []struct {
		name      string
		latency   []float64
		low, high float64 // where the machine's share must lie
		p95       bool
	}{
		// 400 held strokes and 12 flicked ones: the machine's is the flicked ones'.
		{"a few flicked", append(draw(400, 58, 8), draw(12, 9, 1)...), 8, 10, false},
		{"half flicked", append(draw(100, 58, 8), draw(100, 9, 1)...), 8.5, 9.5, true},
		// One wrong event in a hundred does not decide.
		{"wrong events", append(draw(400, 58, 8), 2, 9, 21), 40, 50, false},
		// A hand that holds every key: no more than a bound is known.
		{"all held", draw(400, 58, 8), 40, 50, false},
		// The escapement lets go on the rebound: all of it is the machine's.
		{"rebound", draw(400, 50, 1.5), 49, 51, true},
	} {
		f := latencies(c.latency).Summary.MachineLatencyMS
		if v := float64(f.Median); v < c.low || v > c.high {
			t.Errorf("%s: machine's share %g ms, want %g to %g", c.name, v, c.low, c.high)
		}
		if !(f.Low <= f.Median && f.Median <= f.High) {
			t.Errorf("%s: %g outside (%g, %g)", c.name, f.Median, f.Low, f.High)
		}
		if f.P95.Known() != c.p95 {
			t.Errorf("%s: 95th percentile known: %v, want %v", c.name, f.P95.Known(), c.p95)
		}
	}
	if f := latencies(draw(19, 58, 8)).Summary.MachineLatencyMS; f.Median.Known() {
		t.Errorf("a machine's share from 19 strokes: %+v", f)
	}
}

func TestDoubtfulReleasesDoNotSpeakOfTheMachine(t *testing.T) {
	var l []onset.Stroke
	for i := range 60 {
		s := 1000 + 300*float64(i)
		v := 50 + 10*float64(i%5)
		k := letter(s-3, s, s+v, s+v+35)
		if i%3 == 0 { // rings taken for releases
			k = letter(s-3, s, s+6, s+v+35)
			k.Release.Confidence = 0.2
		}
		l = append(l, k)
	}
	m := Measure("a.wav", take(l), nil, Options{})
	if f := m.Summary.MachineLatencyMS; f.Median < 49 {
		t.Errorf("machine's share %g ms rests on doubtful releases", f.Median)
	}
}

func TestHandLatency(t *testing.T) {
	var all []float64
	for i := range 100 {
		if i < 10 {
			all = append(all, 9+float64(i%3)) // flicked: 9, 10, 11
		} else {
			all = append(all, 40+float64(i%30))
		}
	}
	m := latencies(all)
	hand := HandLatency(m)
	for i, h := range hand {
		want := max(0, all[i]-float64(m.Summary.MachineLatencyMS.Median))
		if !near(float64(h), want, 1e-6) {
			t.Errorf("stroke %d: the hand's share is %g, want %g", i, h, want)
		}
	}
	// 48 to 52 ms whatever the finger does: nothing of it is the hand's.
	for i := range all {
		all[i] = 48 + float64(i%5)
	}
	for i, h := range HandLatency(latencies(all)) {
		if h != 0 {
			t.Errorf("stroke %d on a rebound machine: the hand's share is %g, want 0", i, h)
		}
	}
	// Unknown where the machine's share is.
	for _, h := range HandLatency(latencies(all[:10])) {
		if h.Known() {
			t.Error("a hand's share without the machine's")
		}
	}
}
