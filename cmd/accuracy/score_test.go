package main

import (
	"bytes"
	"math"
	"testing"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/onset"
)

func at(t float64) *float64 { return &t }

func spacing(s string) *string { return &s }

// handTake is a take of five strokes by hand: the second's pair is bad and
// found, the third's is bad and missed, the fourth's is good and called bad,
// the fifth is not found at all; a sixth was found that never was.
func handTake() (*truth, *diagnose.Take) {
	t := &truth{Strokes: []mechanism.TruthStroke{
		{Strike: 1, Trip: at(0.996), Release: at(1.05), Landing: at(1.08), Label: "clear"},
		{Strike: 1.07, Release: at(1.12), Landing: at(1.15), Label: "crowded", Position: 1},
		{Strike: 1.14, Label: "piled", Missed: true, Position: 2},
		{Strike: 2, Space: true, Release: at(2.05), Landing: at(2.08), Label: "clear", Position: 2},
		{Strike: 3, Release: at(3.05), Landing: at(3.08), Label: "crowded", Line: 1},
	}}
	u := diagnose.Unknown()
	stroke := func(kind string, strike, landing diagnose.Number, label string) diagnose.Stroke {
		return diagnose.Stroke{Kind: kind, StrikeS: strike, TripS: u, ReleaseS: u, LandingS: landing, TravelMS: u, Spacing: spacing(label)}
	}
	return t, &diagnose.Take{Recording: diagnose.Recording{Usable: true}, Lines: make([]diagnose.Line, 3), Strokes: []diagnose.Stroke{
		stroke("type", 1.0005, 1.081, "clear"),
		stroke("type", 1.0701, 1.1503, "crowded"),
		stroke("type", 1.1401, u, "clear"),
		stroke("space", 2.001, 2.0804, "piled"),
		stroke("type", 4, u, "piled"),
	}}
}

func TestScoreTakeHandWorked(t *testing.T) {
	tr, take := handTake()
	sounds := &onset.Take{Strokes: []onset.Stroke{{Skip: onset.Mark{Time: 9, Confidence: 0.5}}, {Skip: onset.Mark{Time: math.NaN()}}}}
	s := scoreTake(tr, sounds, take, false)
	for _, c := range []struct {
		kind           string
		ref, est, hits int
	}{
		{"strike", 4, 4, 3}, {"space bar", 1, 1, 1}, {"trip", 1, 0, 0}, {"release", 4, 0, 0},
		{"landing", 4, 4, 3}, // 1.081, 1.1503, 2.0804 and the skip's
	} {
		if e := s.events[c.kind]; e.ref != c.ref || e.est != c.est || e.hits != c.hits {
			t.Errorf("%s: %d true, %d found, %d hits; want %+v", c.kind, e.ref, e.est, e.hits, c)
		}
	}
	if s.badTrue != 3 || s.badFound != 3 || s.badBoth != 1 {
		t.Errorf("pairs: %d true, %d found, %d both; want 3, 3, 1", s.badTrue, s.badFound, s.badBoth)
	}
	if recall, precision := s.labels(); recall != 1.0/3 || precision != 1.0/3 {
		t.Errorf("labels: recall %v, precision %v", recall, precision)
	}
	if s.linesTrue != 2 || s.linesFound != 3 || s.unusable != 0 {
		t.Errorf("lines %d, %d; unusable %d", s.linesTrue, s.linesFound, s.unusable)
	}
	if travel, _ := s.travelErrors(); !math.IsNaN(worst(travel)) {
		t.Errorf("travel was not measured, its error cannot be %v", travel)
	}
	// Pooled with itself everything doubles.
	both := newTakeScore()
	both.add(s)
	both.add(s)
	if both.takes != 2 || both.badTrue != 6 || both.events["landing"].hits != 6 {
		t.Errorf("pooled: %+v", both)
	}
	var b bytes.Buffer
	if err := writeBlocks(&b, []block{{"by hand", both}}); err != nil {
		t.Fatal(err)
	}
	b.WriteByte('\n')
	if err := writeGoals(&b, []string{"by hand"}, [][]block{{{allClean, both}}}); err != nil {
		t.Fatal(err)
	}
	width := 0
	for i, l := range bytes.Split(bytes.TrimSuffix(b.Bytes(), []byte("\n")), []byte("\n")) {
		if len(l) == 0 {
			width = 0
			continue
		}
		if width != 0 && len(l) != width {
			t.Errorf("line %d is not as wide as the one above it:\n%s", i, b.String())
		}
		width = len(l)
	}
}

func TestWorst(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		in            []float64
		worst, median float64
	}{{nil, nan, nan}, {[]float64{1, 3, 2}, 3, 2}, {[]float64{1, nan, 2}, nan, nan}, {[]float64{nan}, nan, nan}} {
		same := func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }
		if w, m := worst(c.in), medianOrNaN(c.in); !same(w, c.worst) || !same(m, c.median) {
			t.Errorf("%v: worst %v, median %v", c.in, w, m)
		}
	}
}

// TestPullLost: 1/travel^2 falls from 900 by 6 a space, so a quarter and more
// is gone after 50 spaces: 300/900. One wild stroke does not bend the line.
func TestPullLost(t *testing.T) {
	var pos, travel []float64
	for i := range 51 {
		pos = append(pos, float64(i))
		travel = append(travel, 1/math.Sqrt(900-6*float64(i)))
	}
	travel[10] = 0.5
	slope, lost := pullLost(pos, travel, 50)
	if math.Abs(slope+6) > 1e-9 || math.Abs(lost-1.0/3) > 1e-9 {
		t.Errorf("slope %v, lost %v; want -6 and 1/3", slope, lost)
	}
	if slope, lost := pullLost(nil, nil, 50); !math.IsNaN(slope) || !math.IsNaN(lost) {
		t.Errorf("out of nothing: %v, %v", slope, lost)
	}
}

// TestOutsideOffsetIsTakenOff: a detector that marks every sound 5 ms late is
// as good as one that does not.
func TestOutsideOffsetIsTakenOff(t *testing.T) {
	s := scoreOutside([]float64{1, 2, 3}, []float64{1.005, 2.0052, 3.0049}, 0.002)
	if s.hits != 3 {
		t.Errorf("%d of 3", s.hits)
	}
}

// TestConditionsAreListed: every condition comes with a name of its own and as
// many takes as asked for.
func TestConditionsAreListed(t *testing.T) {
	seen := map[string]int{}
	for _, j := range simulated(heldOutSeed, 2, false) {
		seen[j.name]++
	}
	if len(seen) != len(mechanism.Conditions()) {
		t.Errorf("%d names for %d conditions", len(seen), len(mechanism.Conditions()))
	}
	for name, n := range seen {
		if n != 2 {
			t.Errorf("%s: %d takes", name, n)
		}
	}
}
