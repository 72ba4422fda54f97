package diagnose

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"loosedog/onset"
)

// heardLine is a line of n strokes a fifth of a second apart, each with all its
// sounds, from start on.
func heardLine(start float64, line, n int) []onset.Stroke {
	var out []onset.Stroke
	mark := func(at float64) onset.Mark { return onset.Mark{Time: at, Confidence: 0.9, Level: -20} }
	for i := range n {
		at := start + 0.2*float64(i)
		out = append(out, onset.Stroke{Line: line, Trip: mark(at - 0.004), Strike: mark(at),
			Release: mark(at + 0.05), Landing: mark(at + 0.09), Skip: onset.Mark{Time: math.NaN()}})
	}
	return out
}

func heardTwoLines() *onset.Take {
	t := &onset.Take{SampleRate: 48000, Duration: 20, Usable: true,
		Strokes: append(heardLine(1, 0, 10), heardLine(8, 1, 10)...)}
	t.Lines = []onset.Line{
		{First: 0, Count: 10, Start: 1, End: 2.8, Bell: 3, Return: 4},
		{First: 10, Count: 10, Start: 8, End: 9.8, Bell: math.NaN(), Return: math.NaN()},
	}
	return t
}

func TestCorrect(t *testing.T) {
	no := Unknown()
	for _, c := range []struct {
		name    string
		list    []Correction
		strokes int
		leftOut int
		see     func(t *Take) bool
	}{
		{"a landing is moved", []Correction{{Event: EventLanding, StrokeS: 1.4, ToS: 1.52}}, 20, 0,
			func(t *Take) bool {
				return t.Strokes[2].LandingS == 1.52 && reflect.DeepEqual(t.Strokes[2].Corrected, []string{"landing"}) && t.Strokes[2].Confidence.Landing == 1
			}},
		{"a release is taken away", []Correction{{Event: EventRelease, StrokeS: 1.4, ToS: no}}, 20, 0,
			func(t *Take) bool { return !t.Strokes[2].ReleaseS.Known() && !t.Strokes[2].TravelMS.Known() }},
		{"a strike is moved, then its landing", []Correction{
			{Event: EventStrike, StrokeS: 1.4, ToS: 1.41}, {Event: EventLanding, StrokeS: 1.41, ToS: 1.5}}, 20, 0,
			func(t *Take) bool {
				return t.Strokes[2].StrikeS == 1.41 && len(t.Strokes[2].Corrected) == 2 && math.Abs(float64(t.Strokes[2].ReadyMS)-90) < 1e-6
			}},
		{"a stroke is taken away", []Correction{{Event: EventStrike, StrokeS: 1.4, ToS: no}}, 19, 0,
			func(t *Take) bool { return t.Lines[0].Strokes == 9 && float64(t.Strokes[2].StrikeS) > 1.5 }},
		{"a stroke is added", []Correction{{Event: EventStrike, StrokeS: no, ToS: 8.1, Kind: KindSpace}}, 21, 0,
			func(t *Take) bool {
				return t.Strokes[11].Kind == KindSpace && t.Strokes[11].Line == 1 && t.Lines[1].Strokes == 11
			}},
		{"the last stroke of a line goes", func() (list []Correction) {
			for i := range 10 {
				list = append(list, Correction{Event: EventStrike, StrokeS: Number(1 + 0.2*float64(i)), ToS: no})
			}
			return list
		}(), 10, 0, func(t *Take) bool { return len(t.Lines) == 1 && t.Strokes[0].Line == 0 }},
		{"no strike is there", []Correction{{Event: EventLanding, StrokeS: 1.5, ToS: 1.52}}, 20, 1, nil},
		{"past its neighbour", []Correction{{Event: EventStrike, StrokeS: 1.4, ToS: 1.61}}, 20, 1, nil},
		{"after the end", []Correction{{Event: EventTrip, StrokeS: 1.4, ToS: 21}}, 20, 1, nil},
		{"no such event", []Correction{{Event: "bell\x1b[31m", StrokeS: 1.4, ToS: 1.4}}, 20, 1, nil},
		{"a stroke on a stroke", []Correction{{Event: EventStrike, StrokeS: no, ToS: 1.401}}, 20, 1, nil},
		{"nothing said", []Correction{{Event: EventStrike, StrokeS: no, ToS: no}}, 20, 1, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			heard := heardTwoLines()
			take := Measure("a.wav", heard, nil, Options{Corrections: c.list})
			if len(take.Strokes) != c.strokes {
				t.Errorf("%d strokes, want %d", len(take.Strokes), c.strokes)
			}
			n := 0
			for _, p := range take.Recording.Problems {
				if p.Code == "correction" {
					n++
				}
			}
			if n != c.leftOut {
				t.Errorf("%d left out, want %d: %v", n, c.leftOut, take.Recording.Problems)
			}
			if c.see != nil && !c.see(take) {
				t.Errorf("not as wanted: %+v", take.Strokes)
			}
			if !reflect.DeepEqual(heard.Lines[0], heardTwoLines().Lines[0]) || len(heard.Strokes) != 20 || heard.Strokes[2].Landing.Time != 1.49 {
				t.Error("what was heard was changed itself")
			}
		})
	}
}

// Whatever is asked for, strokes stay in order, lines hold them all, and nothing
// panics.
func TestCorrectKeepsOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.OneOf(rapid.Just(Unknown()), rapid.Map(rapid.IntRange(-5, 110), func(i int) Number { return Number(float64(i) / 10) }))
		list := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Correction {
			return Correction{
				Event:   rapid.SampledFrom([]string{EventTrip, EventStrike, EventRelease, EventLanding, "x"}).Draw(t, "event"),
				StrokeS: number.Draw(t, "stroke"), ToS: number.Draw(t, "to"),
				Kind: rapid.SampledFrom([]string{"", KindType, KindSpace}).Draw(t, "kind"),
			}
		}), 0, 40).Draw(t, "list")
		take := Measure("a.wav", heardTwoLines(), nil, Options{Corrections: list})
		for i := 1; i < len(take.Strokes); i++ {
			if !(take.Strokes[i].StrikeS > take.Strokes[i-1].StrikeS) || take.Strokes[i].Line < take.Strokes[i-1].Line {
				t.Fatalf("strokes %d and %d are out of order", i-1, i)
			}
		}
		n := 0
		for _, l := range take.Lines {
			n += l.Strokes
			if l.Strokes == 0 {
				t.Fatal("an empty line")
			}
		}
		if n != len(take.Strokes) {
			t.Fatalf("the lines hold %d of %d strokes", n, len(take.Strokes))
		}
	})
}
