package diagnose

import (
	"slices"
	"testing"

	"loosedog/onset"
)

// What was heard of the desk's ring stays with its strokes when some are put in
// or taken out.
func TestCorrectionsMoveTheRing(t *testing.T) {
	heard := &onset.Take{Duration: 10, Lines: []onset.Line{{Count: 5}}}
	for i := range 5 {
		heard.Strokes = append(heard.Strokes, onset.Stroke{Strike: onset.Mark{Time: 1 + float64(i), Confidence: 1}})
	}
	heard.Ring = &onset.Ring{Strokes: []int{0, 2, 4}, Level: []float64{-1, -3, -5}, Fall: []float64{1, 3, 5}, Over: []float64{10, 30, 50}}
	for _, c := range []struct {
		name   string
		fix    Correction
		want   []int
		levels []float64
	}{
		{"one without a ring goes", Correction{StrokeS: 2, Event: EventStrike, ToS: Unknown()}, []int{0, 1, 3}, []float64{-1, -3, -5}},
		{"one with a ring goes", Correction{StrokeS: 3, Event: EventStrike, ToS: Unknown()}, []int{0, 3}, []float64{-1, -5}},
		{"one comes", Correction{StrokeS: Unknown(), Event: EventStrike, ToS: 2.5, Kind: KindType}, []int{0, 3, 5}, []float64{-1, -3, -5}},
	} {
		got, _, problems := correct(heard, []Correction{c.fix})
		if len(problems) > 0 {
			t.Errorf("%s: %v", c.name, problems)
			continue
		}
		if !slices.Equal(got.Ring.Strokes, c.want) || !slices.Equal(got.Ring.Level, c.levels) {
			t.Errorf("%s: strokes %v levels %v, want %v %v", c.name, got.Ring.Strokes, got.Ring.Level, c.want, c.levels)
		}
	}
	if !slices.Equal(heard.Ring.Strokes, []int{0, 2, 4}) {
		t.Errorf("what was heard was changed: %v", heard.Ring.Strokes)
	}
}
