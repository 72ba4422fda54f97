package diagnose

import (
	"encoding/json"
	"math"
	"reflect"
	"testing"

	"loosedog/onset"

	"pgregory.net/rapid"
)

// anyTake draws what onset could hand over at its worst: sounds missing, out of
// order, doubtful, flags that contradict one another.
func anyTake(t *rapid.T) *onset.Take {
	mark := func(name string, from float64) onset.Mark {
		if rapid.IntRange(0, 4).Draw(t, name+" unheard") == 0 {
			return onset.Mark{Time: math.NaN(), Level: math.NaN()}
		}
		return onset.Mark{
			Time:       from + rapid.Float64Range(-0.01, 0.15).Draw(t, name),
			Confidence: rapid.Float64Range(0.01, 1).Draw(t, name+" confidence"),
		}
	}
	var lines [][]onset.Stroke
	clock := 1.0
	for range rapid.IntRange(0, 3).Draw(t, "lines") {
		var l []onset.Stroke
		for range rapid.IntRange(1, 30).Draw(t, "strokes") {
			clock += rapid.Float64Range(0.02, 0.4).Draw(t, "interval")
			s := onset.Stroke{
				Space: rapid.Bool().Draw(t, "space"),
				Trip:  mark("trip", clock-0.02), Strike: onset.Mark{Time: clock, Confidence: 1},
				Release: mark("release", clock), Landing: mark("landing", clock+0.03),
				Shared: rapid.IntRange(0, 9).Draw(t, "shared") == 0,
				Missed: rapid.IntRange(0, 9).Draw(t, "missed") == 0,
			}
			if rapid.IntRange(0, 9).Draw(t, "skip") == 0 {
				s.Skip = mark("skip", clock+0.06)
			}
			l = append(l, s)
		}
		clock += 2
		lines = append(lines, l)
	}
	heard := take(lines...)
	heard.Usable = rapid.Bool().Draw(t, "usable")
	return heard
}

func TestMeasureProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		action := rapid.SampledFrom([]Action{"", FullSpace, HalfSpace, DownStroke}).Draw(t, "action")
		m := Measure("a.wav", anyTake(t), nil, Options{Action: action})
		for i, s := range m.Strokes {
			first := i == 0 || m.Strokes[i-1].Line != s.Line
			if first && (s.Position != 0 || s.Spacing != nil) {
				t.Fatalf("first stroke of a line at %d with label %v", s.Position, s.Spacing)
			}
			if !first && s.Position < m.Strokes[i-1].Position {
				t.Fatalf("position falls from %d to %d within a line", m.Strokes[i-1].Position, s.Position)
			}
			if s.SlackMS.Known() != (s.IntervalMS.Known() && s.ReadyMS.Known()) {
				t.Fatalf("slack %g from interval %g and ready %g", s.SlackMS, s.IntervalMS, s.ReadyMS)
			}
			if s.ReadyMS.Known() && !s.LandingS.Known() || s.LatencyMS.Known() && !s.ReleaseS.Known() || s.TravelMS.Known() && !s.LandingS.Known() {
				t.Fatalf("a time from an event that was not heard: %+v", s)
			}
			if s.Confidence.Landing.Known() != s.LandingS.Known() || s.Confidence.Trip.Known() != s.TripS.Known() {
				t.Fatalf("confidence %+v of %+v", s.Confidence, s)
			}
			if s.Spacing == nil {
				if s.ShortBy.Known() {
					t.Fatalf("short by %g without a label", s.ShortBy)
				}
				continue
			}
			switch short := s.ShortBy; *s.Spacing {
			case SpacingClear:
				if short != 0 {
					t.Fatalf("clear and short by %g", short)
				}
			case SpacingCrowded:
				if short.Known() && (short < 0 || short > 1) {
					t.Fatalf("crowded, short by %g", short)
				}
			case SpacingPiled:
				if short != 1 {
					t.Fatalf("piled and short by %g", short)
				}
			default:
				t.Fatalf("label %q", *s.Spacing)
			}
		}
		if got := len(Flagged(m)); got != m.Summary.Crowded+m.Summary.Piled {
			t.Fatalf("%d pairs flagged, %d crowded and %d piled", got, m.Summary.Crowded, m.Summary.Piled)
		}
		if !m.Recording.Usable && m.Summary.RatePerS.Known() {
			t.Fatal("a figure of an unusable take")
		}
		for _, h := range HandLatency(m) {
			if h < 0 {
				t.Fatalf("the hand's share is %g", h)
			}
		}
		TravelProfile(m)
	})
}

// Reading the JSON back gives the same take to the written decimals, with null
// for what is unknown; writing that once more changes nothing.
func TestJSONRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Measure("a.wav", anyTake(t), nil, Options{})
		once, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		var back Take
		if err := json.Unmarshal(once, &back); err != nil {
			t.Fatal(err)
		}
		for i, s := range back.Strokes {
			w := m.Strokes[i]
			if s.LandingS.Known() != w.LandingS.Known() || s.LandingS.Known() && !near(float64(s.LandingS), float64(w.LandingS), 5.1e-7) {
				t.Fatalf("landing %g came back as %g", w.LandingS, s.LandingS)
			}
			if s.SlackMS.Known() != w.SlackMS.Known() || !reflect.DeepEqual(s.Spacing, w.Spacing) {
				t.Fatalf("stroke %+v came back as %+v", w, s)
			}
		}
		twice, err := json.Marshal(&back)
		if err != nil || string(twice) != string(once) {
			t.Fatalf("%v, second writing differs:\n%s\n%s", err, once, twice)
		}
	})
}

// The same take measured twice gives the same bytes.
func TestMeasureIsDeterministic(t *testing.T) {
	heard := take(even(300, 1000, 190, 3, 50, 35))
	a, _ := json.Marshal(Measure("a.wav", heard, nil, Options{}))
	b, _ := json.Marshal(Measure("a.wav", heard, nil, Options{}))
	if string(a) != string(b) {
		t.Error("two measurements of one take differ")
	}
}
