package passage

import (
	"math"
	"testing"
)

func TestPlan(t *testing.T) {
	s, err := NewSheet(50, 12)
	if err != nil {
		t.Fatal(err)
	}
	for _, rate := range []float64{SlowestRate, 4.5, FastestRate} {
		beats, err := s.Plan(rate)
		if err != nil {
			t.Fatal(err)
		}
		lines := s.Lines()
		counted, struck, returned := make([]int, len(lines)), make([]int, len(lines)), make([]int, len(lines))
		last := beats[0]
		for i, b := range beats {
			switch b.Kind {
			case CountIn:
				counted[b.Line]++
			case Strike:
				if b.Column != struck[b.Line] {
					t.Fatalf("line %d: stroke %d where %d is due", b.Line, b.Column, struck[b.Line])
				}
				struck[b.Line]++
			case Return:
				returned[b.Line]++
			}
			if i > 0 && b.Time <= last.Time {
				t.Fatalf("beat %d at %g s, not after %g", i, b.Time, last.Time)
			}
			if b.Kind == CountIn && last.Kind == Return && b.Time-last.Time < 2 {
				t.Errorf("line %d: only %g s to return the carriage", b.Line, b.Time-last.Time)
			}
			if b.Kind == CountIn && last.Kind == CountIn && i > 0 && b.Time-last.Time < 0.25 {
				t.Errorf("line %d: counted in every %g s", b.Line, b.Time-last.Time)
			}
			last = b
		}
		for i, l := range lines {
			if counted[i] != countIns || struck[i] != len(l) || returned[i] != 1 {
				t.Errorf("line %d: %d counted in, %d of %d strokes, %d returns", i, counted[i], struck[i], len(l), returned[i])
			}
		}
		// An ordinary line goes at the rate, a slow one slower, a brisk one faster.
		step := func(line int) float64 {
			var times []float64
			for _, b := range beats {
				if b.Kind == Strike && b.Line == line {
					times = append(times, b.Time)
				}
			}
			return (times[len(times)-1] - times[0]) / float64(len(times)-1)
		}
		line := 0
		for _, p := range s.Parts {
			for range p.Lines {
				if got, want := step(line)*rate*p.Pace, 1.0; math.Abs(got-want) > 1e-9 {
					t.Errorf("%s: a stroke takes %g of what it should", p.Name, got)
				}
				line++
			}
		}
	}
}

func TestPlanRefuses(t *testing.T) {
	s, err := NewSheet(UsualWidth, 10)
	if err != nil {
		t.Fatal(err)
	}
	for _, rate := range []float64{0, -3, 0.9, 16, math.NaN(), math.Inf(1)} {
		if beats, err := s.Plan(rate); err == nil || beats != nil {
			t.Errorf("rate %g: no error", rate)
		}
	}
	if Clicks(nil) != nil {
		t.Error("clicks of no beats")
	}
}

func TestClicksStandWhereTheyAreDue(t *testing.T) {
	s, err := NewSheet(NarrowestWidth, 10)
	if err != nil {
		t.Fatal(err)
	}
	beats, err := s.Plan(6)
	if err != nil {
		t.Fatal(err)
	}
	v := Clicks(beats)
	for _, x := range v {
		if math.Abs(x) > 1 {
			t.Fatalf("a sample of %g clips", x)
		}
	}
	for i, b := range beats {
		at := int(math.Round(b.Time * ClickRate))
		if at < 10 || math.Abs(v[at]) < 0.4 {
			t.Errorf("beat %d at %g s: nothing to hear", i, b.Time)
		}
		for k := at - 10; k < at; k++ {
			if math.Abs(v[k]) > 0.01 {
				t.Errorf("beat %d at %g s: sound before it", i, b.Time)
				break
			}
		}
	}
}
