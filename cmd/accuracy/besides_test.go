package main

import (
	"math"
	"os/exec"
	"testing"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/onset"
)

// What lies at a noise and at nothing true is taken for an event; what is true, or
// nearer to something true, is not the noise's.
func TestTakenFor(t *testing.T) {
	five := 5.0
	tr := &truth{
		Strokes: []mechanism.TruthStroke{{Strike: 1, Landing: &five}, {Strike: 2, Space: true}},
		Noises: []mechanism.TruthNoise{
			{Kind: "shift", Start: 1.1, End: 1.2, At: []float64{1.1, 1.2}},
			{Kind: "tabulator", Start: 3, End: 3.5, At: []float64{3}, Lasts: &[2]float64{3.1, 3.5}},
			{Kind: "shift", Start: 4.998, End: 4.998, At: []float64{4.998}},
		},
	}
	stroke := func(kind string, strike, landing float64) diagnose.Stroke {
		n := diagnose.Number(math.NaN())
		return diagnose.Stroke{Kind: kind, StrikeS: diagnose.Number(strike), LandingS: diagnose.Number(landing), TripS: n, ReleaseS: n}
	}
	none := math.NaN()
	take := &diagnose.Take{Strokes: []diagnose.Stroke{
		stroke(diagnose.KindType, 1.0005, none), // true
		stroke(diagnose.KindSpace, 1.101, 1.2),  // a shift
		stroke(diagnose.KindType, 3.3, 3.52),    // a tab run
		stroke(diagnose.KindType, 2.001, none),  // a space, taken for a letter: no noise's
		stroke(diagnose.KindType, 7, 4.9995),    // from nowhere, with a true landing
	}}
	got := takenFor(tr, &onset.Take{}, take, false)
	for _, c := range []struct {
		kind, event string
		want        int
	}{
		{"shift", "space bar", 1}, {"shift", "landing", 1}, {"shift", "strike", 0},
		{"tabulator", "strike", 1}, {"tabulator", "landing", 1}, {"tabulator", "space bar", 0},
	} {
		if n := got[c.kind].taken[c.event]; n != c.want {
			t.Errorf("%s taken for %s: %d, want %d", c.kind, c.event, n, c.want)
		}
	}
	if got["shift"].noises != 2 || got["tabulator"].noises != 1 {
		t.Errorf("%d and %d noises", got["shift"].noises, got["tabulator"].noises)
	}
}

// A voice is mixed in at the level asked for, where it is asked for.
func TestVoiceMixes(t *testing.T) {
	v := &voice{rate: 16000, level: math.Sqrt2 / 2}
	for i := range 16000 {
		v.samples = append(v.samples, math.Sin(2*math.Pi*440*float64(i)/16000))
	}
	x := make([]float64, 48000)
	v.mix(x, 48000, 12000, 36000, 0.3, 0.1)
	sum := 0.0
	for i, y := range x {
		if (i < 12000 || i >= 36000) && y != 0 {
			t.Fatalf("sample %d is %g", i, y)
		}
		if i >= 18000 && i < 30000 {
			sum += y * y
		}
	}
	if rms := math.Sqrt(sum / 12000); math.Abs(rms-0.1) > 0.002 {
		t.Errorf("RMS %.4f, want 0.1", rms)
	}
}

// Whoever talks between lines does so when nothing of the machine is heard.
func TestGapsAreQuiet(t *testing.T) {
	h := mechanism.Calm()
	h.LinePause, h.WordPause, h.PauseLength = 1.5, 0.2, 1.5
	p, err := mechanism.Simulate(mechanism.Sound(), h, mechanism.Quay, 4)
	if err != nil {
		t.Fatal(err)
	}
	lines, words := gaps(p, betweenLines), gaps(p, betweenWords)
	if len(lines) < 5 || len(words) <= len(lines) {
		t.Fatalf("%d gaps between lines, %d with those between words", len(lines), len(words))
	}
	for _, s := range p.Sounds() {
		for _, g := range words {
			if end := s.Time + s.Duration; end > g[0] && s.Time < g[1] {
				t.Errorf("%v from %.3f to %.3f s in a gap from %.3f to %.3f s", s.Kind, s.Time, end, g[0], g[1])
			}
		}
	}
}

// The table has its takes, each with its noises, and the same without them.
func TestBesidesJobs(t *testing.T) {
	if _, err := exec.LookPath("espeak-ng"); err == nil {
		v, err := syntheticVoice(t.Context(), t.TempDir())
		if err != nil || len(v.samples) < 10*int(v.rate) {
			t.Fatalf("no voice: %v", err)
		}
	}
	jobs := besides(tuningSeed, 1, nil)
	if want := 4 * len(mechanism.Besides()); len(jobs) != want {
		t.Fatalf("%d takes, want %d", len(jobs), want)
	}
	for i, j := range []job{jobs[0], jobs[2]} {
		_, tr, err := j.take(t.Context(), t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		if (len(tr.Noises) > 0) != (i == 0) {
			t.Errorf("%s: %d noises", j.name, len(tr.Noises))
		}
	}
}
