package diagnose_test

import (
	"math"
	"strings"
	"testing"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/onset"
)

// heard is a performance as perfect ears would hear it.
func heard(p *mechanism.Performance) *onset.Take {
	mark := func(at float64) onset.Mark {
		if math.IsNaN(at) {
			return onset.Mark{Time: at, Level: at}
		}
		return onset.Mark{Time: at, Confidence: 1, Level: -20}
	}
	t := &onset.Take{SampleRate: 48000, Duration: p.Duration, Usable: true}
	for _, k := range p.Strokes {
		t.Strokes = append(t.Strokes, onset.Stroke{
			Space: k.Space, Line: k.Line,
			Trip: mark(k.Trip), Strike: mark(k.Strike), Release: mark(k.Release),
			Landing: mark(k.Landing), Skip: mark(k.SkipLanding),
			Shared: k.Shared, Missed: k.Missed,
		})
	}
	for _, l := range p.Lines {
		t.Lines = append(t.Lines, onset.Line{
			First: l.First, Count: l.Count, Bell: l.Bell, Return: l.ReturnStart,
			Start: p.Strokes[l.First].Strike, End: p.Strokes[l.First+l.Count-1].Strike,
		})
	}
	return t
}

// What the simulated machine knows it did is what Measure must make of its
// events: labels, by how much, positions. Three things the two put differently,
// on purpose, and they are left out of the comparison: a letter struck between
// the two landings of a skip (the simulator calls it short of the place that the
// skip will bring; it stands too far, not too close), half-space strokes that
// share a release (piled there; half a space apart here), and a half-space
// letter before the first half of a move was over.
func TestMeasureAgreesWithTheMechanism(t *testing.T) {
	seen := map[string]int{}
	for _, c := range mechanism.Conditions() {
		for seed := range uint64(2) {
			s := c.Make(seed + 40)
			p, err := s.Perform()
			if err != nil {
				t.Fatal(err)
			}
			action := diagnose.Action(p.Machine.Action)
			m := diagnose.Measure(c.Name, heard(p), nil, diagnose.Options{Action: action})
			for i, k := range p.Strokes {
				got := m.Strokes[i]
				if k.Col == 0 {
					if got.Spacing != nil || got.Position != 0 {
						t.Errorf("%s: stroke %d, first of its line, at %d", s.Name, i, got.Position)
					}
					continue
				}
				before := p.Strokes[i-1]
				if k.Strike < before.SkipLanding {
					continue
				}
				if got.Position != k.Position {
					t.Errorf("%s: stroke %d at position %d, want %d", s.Name, i, got.Position, k.Position)
				}
				if action == diagnose.HalfSpace && (before.Shared || k.Strike < before.HalfLanding) {
					continue
				}
				seen[k.Label]++
				label := ""
				if got.Spacing != nil {
					label = *got.Spacing
				}
				if label != k.Label {
					t.Errorf("%s: stroke %d is %q, want %q", s.Name, i, label, k.Label)
				} else if k.Label == mechanism.Crowded && math.Abs(float64(got.ShortBy)-k.ShortBy) > 1e-6 {
					t.Errorf("%s: stroke %d short by %g, want %g", s.Name, i, got.ShortBy, k.ShortBy)
				}
			}
		}
	}
	for _, label := range []string{mechanism.Clear, mechanism.Crowded, mechanism.Piled} {
		if seen[label] < 20 {
			t.Errorf("only %d strokes are %s: the comparison shows little", seen[label], label)
		}
	}
}

// The pull that the simulated mainspring loses along the line comes back out of
// the travels.
func TestProfileFindsTheMechanismsPull(t *testing.T) {
	for _, end := range []float64{1, 0.75, 0.5} {
		machine := mechanism.Sound()
		machine.PullEnd = machine.Drag + end*(machine.PullStart-machine.Drag)
		p, err := mechanism.Simulate(machine, mechanism.Calm(), mechanism.Shelf, 5)
		if err != nil {
			t.Fatal(err)
		}
		f := diagnose.TravelProfile(diagnose.Measure("a.wav", heard(p), nil, diagnose.Options{}))
		want := 1 - machine.Pull(f.To)/machine.Pull(f.From)
		if got := float64(f.PullLost); math.Abs(got-want) > 0.03 {
			t.Errorf("pull lost %.3f, want %.3f", got, want)
		}
	}
}

// The machine's share of the latency is the bar's free return: what the
// simulator gives to strokes whose finger was off.
func TestMachineLatencyOfTheMechanism(t *testing.T) {
	machine := mechanism.Sound()
	machine.Release = mechanism.WithKey
	text := strings.Repeat(mechanism.Shelf+"\n", 2)
	p, err := mechanism.Simulate(machine, mechanism.Staccato(0.15), text, 6)
	if err != nil {
		t.Fatal(err)
	}
	var sum, n float64
	for _, k := range p.Strokes {
		if k.Flicked && !k.Space && !math.IsNaN(k.Release) && !k.Shared {
			sum += k.Latency() * 1000
			n++
		}
	}
	got := float64(diagnose.Measure("a.wav", heard(p), nil, diagnose.Options{}).Summary.MachineLatencyMS.Median)
	if want := sum / n; math.Abs(got-want) > 1.5 {
		t.Errorf("machine's share %.1f ms, the flicked strokes' %.1f", got, want)
	}
}
