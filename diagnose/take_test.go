package diagnose

import (
	"math"

	"loosedog/onset"
)

// Hand-made takes for the tests. Times in milliseconds, for they are easier to
// read; NaN or no means that the sound was not heard.

var no = math.NaN()

func at(msec float64) onset.Mark {
	if math.IsNaN(msec) {
		return onset.Mark{Time: no, Level: no}
	}
	return onset.Mark{Time: msec / 1000, Confidence: 1, Level: -20}
}

// letter is a typed stroke.
func letter(trip, strike, release, landing float64) onset.Stroke {
	return onset.Stroke{
		Trip: at(trip), Strike: at(strike), Release: at(release), Landing: at(landing), Skip: at(no),
	}
}

func bar(trip, thump, release, landing float64) onset.Stroke {
	s := letter(trip, thump, release, landing)
	s.Space = true
	return s
}

func shared(trip, strike float64) onset.Stroke {
	s := letter(trip, strike, no, no)
	s.Shared = true
	return s
}

func missed(trip, strike float64) onset.Stroke {
	s := letter(trip, strike, no, no)
	s.Missed = true
	return s
}

// doubt takes the confidence of all marks down.
func doubt(s onset.Stroke, confidence float64) onset.Stroke {
	for _, m := range []*onset.Mark{&s.Trip, &s.Strike, &s.Release, &s.Landing} {
		if m.Heard() {
			m.Confidence = confidence
		}
	}
	return s
}

// take puts strokes on lines, one slice a line.
func take(lines ...[]onset.Stroke) *onset.Take {
	t := &onset.Take{
		SampleRate: 48000, Usable: true,
		Learnt: onset.Learnt{StrikeToNoise: no},
	}
	for i, l := range lines {
		line := onset.Line{First: len(t.Strokes), Count: len(l), Start: no, End: no, Bell: no, Return: no}
		for j, s := range l {
			s.Line = i
			if j == 0 {
				line.Start = s.Strike.Time
			}
			line.End = s.Strike.Time
			t.Duration = s.Strike.Time + 1
			t.Strokes = append(t.Strokes, s)
		}
		t.Lines = append(t.Lines, line)
	}
	return t
}

// even is a line of n strokes, interval apart, each with the same lead, latency
// and travel (milliseconds).
func even(n int, first, interval, lead, latency, travel float64) []onset.Stroke {
	var l []onset.Stroke
	for i := range n {
		s := first + float64(i)*interval
		l = append(l, letter(s-lead, s, s+latency, s+latency+travel))
	}
	return l
}

// spacingOf is the label of stroke i, "" for null.
func spacingOf(t *Take, i int) string {
	if s := t.Strokes[i].Spacing; s != nil {
		return *s
	}
	return ""
}

func positions(t *Take) []int {
	var p []int
	for _, s := range t.Strokes {
		p = append(p, s.Position)
	}
	return p
}
