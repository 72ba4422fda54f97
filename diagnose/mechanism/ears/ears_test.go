package ears

import (
	"math"
	"reflect"
	"testing"

	"loosedog/diagnose/mechanism"
)

func performance(t *testing.T) *mechanism.Performance {
	t.Helper()
	p, err := mechanism.Simulate(mechanism.Sound(), mechanism.Calm(), mechanism.Shelf, 3)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPerfectEarsHearTheTruth(t *testing.T) {
	p := performance(t)
	got := Perfect().Hear(p, 1)
	if len(got.Strokes) != len(p.Strokes) || len(got.Lines) != len(p.Lines) {
		t.Fatalf("%d strokes on %d lines, want %d on %d", len(got.Strokes), len(got.Lines), len(p.Strokes), len(p.Lines))
	}
	for i, k := range p.Strokes {
		s := got.Strokes[i]
		for _, c := range [][2]float64{{s.Trip.Time, k.Trip}, {s.Strike.Time, k.Strike}, {s.Release.Time, k.Release}, {s.Landing.Time, k.Landing}} {
			if c[0] != c[1] && !(math.IsNaN(c[0]) && math.IsNaN(c[1])) {
				t.Fatalf("stroke %d: heard at %v, was at %v", i, c[0], c[1])
			}
		}
		if s.Missed != k.Missed || s.Shared != k.Shared || s.Space != k.Space || s.Line != k.Line {
			t.Fatalf("stroke %d is told wrong", i)
		}
	}
}

func TestEarsErrAsTold(t *testing.T) {
	p := performance(t)
	e := Ears{Jitter: 0.0005, Deaf: 0.1, Later: 0.001}
	var sum, squares, n, lost float64
	for seed := range uint64(20) {
		for i, s := range e.Hear(p, seed).Strokes {
			if !s.Landing.Heard() {
				if !math.IsNaN(p.Strokes[i].Landing) {
					lost++
				}
				continue
			}
			d := s.Landing.Time - p.Strokes[i].Landing - e.Later
			sum, squares, n = sum+d, squares+d*d, n+1
		}
	}
	if mean, sd := sum/n, math.Sqrt(squares/n); math.Abs(mean) > 0.00003 || math.Abs(sd/e.Jitter-1) > 0.05 {
		t.Errorf("off by %.2g, spread %.2g", mean, sd)
	}
	if share := lost / (lost + n); math.Abs(share-e.Deaf) > 0.015 {
		t.Errorf("%.3f not heard, want %.3f", share, e.Deaf)
	}
	if !reflect.DeepEqual(e.Hear(p, 4).Strokes[3].Strike, e.Hear(p, 4).Strokes[3].Strike) {
		t.Error("the same seed gives another take")
	}
}
