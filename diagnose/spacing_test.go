package diagnose

import (
	"math"
	"slices"
	"testing"

	"loosedog/onset"
)

// Against a stroke that struck at 1000, released at 1050 and landed at 1090
// (travel 40). Under constant pull a letter struck u after the release of a
// travel T stands at (u/T)^2 of a space.
func TestSpacing(t *testing.T) {
	before := letter(997, 1000, 1050, 1090)
	next := func(strike float64) onset.Stroke { return letter(strike-3, strike, strike+50, strike+90) }
	for _, c := range []struct {
		name          string
		before, after onset.Stroke
		want          string
		short         float64
	}{
		{"well after the landing", before, next(1200), SpacingClear, 0},
		{"at the landing", before, next(1090), SpacingClear, 0},
		{"half way in time", before, next(1070), SpacingCrowded, 1 - 0.25},
		{"a tenth of the travel", before, next(1054), SpacingCrowded, 1 - 0.01},
		{"nine tenths", before, next(1086), SpacingCrowded, 1 - 0.81},
		{"at the release", before, next(1050), SpacingPiled, 1},
		{"before the release", before, next(1045), SpacingPiled, 1},
		{"shared", shared(997, 1000), next(1040), SpacingPiled, 1},
		{"shared, struck late", shared(997, 1000), next(1200), SpacingPiled, 1},
		{"missed space", missed(998, 1000), next(1200), SpacingPiled, 1},
		{"nothing heard after the strike", letter(997, 1000, no, no), next(1200), "", no},
		{"strike not heard", before, letter(1197, no, 1250, 1290), "", no},

		// No travel is learnt from two strokes.
		{"release not heard, clear", letter(997, 1000, no, 1090), next(1100), SpacingClear, 0},
		{"release not heard, on the move", letter(997, 1000, no, 1090), next(1060), SpacingCrowded, no},
		{"landing later than any travel", letter(997, 1000, no, 1190), next(1060), "", no},
		{"landing not heard", letter(997, 1000, 1050, no), next(1070), "", no},
		{"landing not heard, before the release", letter(997, 1000, 1050, no), next(1049), SpacingPiled, 1},

		// Doubtful events may be 3 ms off.
		{"doubtful landing, close after", doubt(before, 0.3), next(1092), "", no},
		{"doubtful landing, close before", doubt(before, 0.3), next(1088), "", no},
		{"doubtful landing, far after", doubt(before, 0.3), next(1094), SpacingClear, 0},
		{"doubtful landing, half way", doubt(before, 0.3), next(1070), SpacingCrowded, 0.75},
	} {
		m := Measure("a.wav", take([]onset.Stroke{c.before, c.after}), nil, Options{})
		got, short := spacingOf(m, 1), float64(m.Strokes[1].ShortBy)
		if got != c.want || !near(short, c.short, 1e-9) {
			t.Errorf("%s: %q short by %g, want %q by %g", c.name, got, short, c.want, c.short)
		}
		if spacingOf(m, 0) != "" || m.Strokes[0].ShortBy.Known() {
			t.Errorf("%s: the first of the line has a label", c.name)
		}
	}
}

// Where a release or a landing was not heard, the travel of the other strokes
// stands in: here 40 ms at every position, or growing to that along the line as
// 1/travel^2 falls evenly, from 28 ms.
func TestSpacingFromLearntTravel(t *testing.T) {
	const n = 40
	for _, c := range []struct {
		name             string
		release, landing float64 // of the stroke before, after its strike
		next             float64
		want             string
		short            float64
	}{
		{"release unheard, half way", no, 90, 70, SpacingCrowded, 0.75},
		{"release unheard, before it", no, 90, 45, SpacingPiled, 1},
		{"release unheard, clear", no, 90, 90, SpacingClear, 0},
		{"landing unheard, half way", 50, no, 70, SpacingCrowded, 0.75},
		{"landing unheard, before the release", 50, no, 45, SpacingPiled, 1},
		{"landing unheard, clear", 50, no, 91, SpacingClear, 0},
		{"neither heard", no, no, 91, "", no},
	} {
		for _, growing := range []float64{0, 1} {
			var l []onset.Stroke
			for i := range n {
				s := 1000 + 200*float64(i)
				lost := growing * (1/(28.0*28) - 1/(40.0*40)) * (1 - float64(i)/n)
				l = append(l, letter(s-3, s, s+50, s+50+1/math.Sqrt(1/(40.0*40)+lost)))
			}
			last := 1000 + 200*float64(n)
			l = append(l, letter(last-3, last, last+c.release, last+c.landing), letter(last+c.next-3, last+c.next, last+c.next+50, last+c.next+90))
			m := Measure("a.wav", take(l), nil, Options{})
			got, short := spacingOf(m, n+1), float64(m.Strokes[n+1].ShortBy)
			if got != c.want || !near(short, c.short, 1e-6) {
				t.Errorf("%s (travel growing by %g): %q short by %g, want %q by %g", c.name, growing, got, short, c.want, c.short)
			}
		}
	}
}

// A stroke that is released before the carriage has landed from the one before
// (here from its skip, at 1120) starts there: the next letter, 10 ms into a travel
// of 35, has (10/35)^2 of a space.
func TestMovesFollowOneAnother(t *testing.T) {
	skip := letter(997, 1000, 1050, 1085)
	skip.Skip = at(1120)
	for _, c := range []struct {
		landing float64
		want    float64
	}{{1155, 1 - 100.0/1225}, {no, no}} {
		m := Measure("a.wav", take([]onset.Stroke{
			skip, letter(1087, 1090, 1110, c.landing), letter(1127, 1130, 1180, 1215),
		}), nil, Options{})
		if short := float64(m.Strokes[2].ShortBy); !near(short, c.want, 1e-9) {
			t.Errorf("landing at %g: short by %g, want %g", c.landing, short, c.want)
		}
	}
	m := Measure("a.wav", take([]onset.Stroke{
		letter(997, 1000, 1050, 1120), letter(1087, 1090, 1110, 1155), letter(1112, 1115, 1180, 1215),
	}), nil, Options{})
	if spacingOf(m, 2) != SpacingPiled || m.Strokes[2].Position != 2 {
		t.Errorf("struck after the release, before the move: %q at %d, want piled at 2", spacingOf(m, 2), m.Strokes[2].Position)
	}
}

// An estimated landing is as uncertain as the travels it is learnt from: strikes
// close to it get no label.
func TestNoLabelCloseToAnEstimatedLanding(t *testing.T) {
	var l []onset.Stroke
	for i := range 40 {
		s := 1000 + 200*float64(i)
		l = append(l, letter(s-3, s, s+50, s+50+40+2*float64(i%3-1))) // 38, 40, 42
	}
	l = append(l, letter(8997, 9000, 9050, no), letter(9091, 9094, 9150, 9190))
	if got := spacingOf(Measure("a.wav", take(l), nil, Options{}), 41); got != "" {
		t.Errorf("%q, 4 ms from a landing known to some ms", got)
	}
	l[41] = letter(9117, 9120, 9150, 9190)
	if got := spacingOf(Measure("a.wav", take(l), nil, Options{}), 41); got != SpacingClear {
		t.Errorf("%q, 30 ms after an estimated landing", got)
	}
}

func TestSpacingOfOtherActions(t *testing.T) {
	next := func(strike float64) onset.Stroke { return letter(strike-3, strike, strike+50, strike+75) }
	for _, c := range []struct {
		name   string
		action Action
		before onset.Stroke
		strike float64
		want   string
		short  float64
	}{
		// The half on the trip is made; 25 ms for the other.
		{"half-space, half of the time", HalfSpace, letter(997, 1000, 1050, 1075), 1062.5, SpacingCrowded, 0.5 * 0.75},
		{"half-space, before the release", HalfSpace, letter(997, 1000, 1050, 1075), 1045, SpacingCrowded, 0.5},
		{"half-space, shared", HalfSpace, shared(997, 1000), 1045, SpacingCrowded, 0.5},
		{"half-space, missed", HalfSpace, missed(997, 1000), 1200, SpacingPiled, 1},
		{"half-space, clear", HalfSpace, letter(997, 1000, 1050, 1075), 1080, SpacingClear, 0},
		// The carriage starts on the trip at 997 and lands at 1037.
		{"down-stroke, half of the time", DownStroke, letter(997, 1000, no, 1037), 1017, SpacingCrowded, 0.75},
		{"down-stroke, key still down", DownStroke, letter(997, 1000, 1080, 1037), 1050, SpacingClear, 0},
		{"down-stroke, missed", DownStroke, missed(997, 1000), 1200, SpacingPiled, 1},
	} {
		m := Measure("a.wav", take([]onset.Stroke{c.before, next(c.strike)}), nil, Options{Action: c.action})
		if got, short := spacingOf(m, 1), float64(m.Strokes[1].ShortBy); got != c.want || !near(short, c.short, 1e-9) {
			t.Errorf("%s: %q short by %g, want %q by %g", c.name, got, short, c.want, c.short)
		}
	}
	m := Measure("a.wav", take([]onset.Stroke{letter(997, 1000, 1080, 1037)}), nil, Options{Action: DownStroke})
	if s := m.Strokes[0]; !near(float64(s.TravelMS), 40, 1e-9) || s.LatencyMS.Known() || !near(float64(s.ReadyMS), 37, 1e-9) {
		t.Errorf("down-stroke: travel %g, latency %g, ready %g; want 40, unknown, 37", s.TravelMS, s.LatencyMS, s.ReadyMS)
	}
}

func TestPositions(t *testing.T) {
	skip := letter(1197, 1200, 1250, 1285)
	skip.Skip = at(1320)
	for _, c := range []struct {
		name string
		line []onset.Stroke
		want []int
	}{
		{"sound", even(4, 1000, 200, 3, 50, 35), []int{0, 1, 2, 3}},
		{"a missed space moves nothing", []onset.Stroke{
			letter(997, 1000, 1050, 1085), missed(1199, 1200), letter(1397, 1400, 1450, 1485), letter(1597, 1600, 1650, 1685),
		}, []int{0, 1, 1, 2}},
		{"a shared release moves once", []onset.Stroke{
			shared(997, 1000), letter(1037, 1040, 1090, 1125), letter(1397, 1400, 1450, 1485),
		}, []int{0, 0, 1}},
		{"three share one", []onset.Stroke{
			shared(997, 1000), shared(1037, 1040), letter(1077, 1080, 1090, 1125), letter(1397, 1400, 1450, 1485),
		}, []int{0, 0, 0, 1}},
		{"a skip moves twice", []onset.Stroke{
			letter(997, 1000, 1050, 1085), skip, letter(1397, 1400, 1450, 1485),
		}, []int{0, 1, 3}},
		{"struck between the two landings of a skip", []onset.Stroke{
			skip, letter(1297, 1300, 1350, 1385), letter(1597, 1600, 1650, 1685),
		}, []int{0, 2, 3}},
		{"struck during the travel: the space ahead", []onset.Stroke{
			letter(997, 1000, 1050, 1085), letter(1057, 1060, 1110, 1145), letter(1397, 1400, 1450, 1485),
		}, []int{0, 1, 2}},
		{"struck before a release of its own", []onset.Stroke{
			letter(997, 1000, 1050, 1085), letter(1037, 1040, 1095, 1130), letter(1397, 1400, 1450, 1485),
		}, []int{0, 0, 2}},
		{"unheard spaces count", []onset.Stroke{
			letter(997, 1000, no, no), letter(1197, 1200, no, 1285), letter(1397, 1400, no, no), letter(1597, 1600, no, no),
		}, []int{0, 1, 2, 3}},
	} {
		got := positions(Measure("a.wav", take(c.line), nil, Options{}))
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestMissedAndSkippedAreCounted(t *testing.T) {
	skip := letter(1197, 1200, 1250, 1285)
	skip.Skip = at(1320)
	m := Measure("a.wav", take([]onset.Stroke{
		missed(997, 1000), skip, shared(1397, 1400), letter(1417, 1420, 1470, 1505), letter(1487, 1490, 1550, 1585),
	}), nil, Options{})
	s := m.Summary
	if s.MissedSpaces != 1 || s.Skipped != 1 || s.Piled != 2 || s.Crowded != 1 {
		t.Errorf("missed %d, skipped %d, piled %d, crowded %d; want 1, 1, 2, 1", s.MissedSpaces, s.Skipped, s.Piled, s.Crowded)
	}
	if m.Strokes[2].MissedSpace {
		t.Error("a shared release is no missed space")
	}
	if m.Strokes[0].ReadyMS.Known() || m.Strokes[2].ReadyMS.Known() {
		t.Error("a stroke without a landing has no ready time")
	}
}
