package diagnose

import (
	"math"

	"loosedog/onset"
)

// ms turns seconds into the milliseconds of the JSON.
func ms(seconds float64) Number { return Number(seconds * 1000) }

// seconds is a mark's time, NaN when it was not heard.
func seconds(m onset.Mark) float64 {
	if !m.Heard() || math.IsInf(m.Time, 0) {
		return math.NaN()
	}
	return m.Time
}

// certainty is a mark's confidence, unknown when it was not heard.
func certainty(m onset.Mark) Number {
	if math.IsNaN(seconds(m)) {
		return Unknown()
	}
	return Number(min(m.Confidence, 1))
}

// span is to minus from in seconds; NaN where one of them is not known or the
// order is wrong, for events out of order are not the events they are taken for.
func span(from, to float64) float64 {
	if d := to - from; d >= 0 {
		return d
	}
	return math.NaN()
}

// timed is a stroke with the times of its own events and what follows from them
// alone.
func timed(i int, h onset.Stroke, action Action) Stroke {
	s := unknownStroke()
	s.Index, s.Kind, s.Line = i, KindType, h.Line
	s.TripS, s.StrikeS = Number(seconds(h.Trip)), Number(seconds(h.Strike))
	s.ReleaseS, s.LandingS = Number(seconds(h.Release)), Number(seconds(h.Landing))
	s.Confidence = Confidence{
		Trip:    certainty(h.Trip),
		Strike:  certainty(h.Strike),
		Release: certainty(h.Release),
		Landing: certainty(h.Landing),
	}
	s.MissedSpace, s.Skipped = h.Missed && !h.Shared, h.Skip.Heard()
	if h.Space {
		s.Kind = KindSpace
	}
	if h.Shared || h.Missed {
		return s // it has no carriage move of its own
	}
	strike, release, landing := float64(s.StrikeS), float64(s.ReleaseS), float64(s.LandingS)
	start := release
	if action == DownStroke {
		start = float64(s.TripS)
		s.ReadyMS = ms(landing - strike) // the carriage may land before the type does
	} else {
		s.LatencyMS = ms(span(strike, release))
		s.ReadyMS = ms(span(strike, landing))
	}
	s.TravelMS = ms(span(start, landing))
	return s
}

// LeadMS is the stroke's lead, strike minus trip, in milliseconds. Of a
// space-bar stroke it is the thump minus the trip, which is another thing than
// a type bar's lead.
func (s Stroke) LeadMS() Number { return ms(span(float64(s.TripS), float64(s.StrikeS))) }

// space sets what a stroke owes to the next strike of its line.
func (s *Stroke) space(next Number) {
	s.IntervalMS = ms(span(float64(s.StrikeS), float64(next)))
	s.SlackMS = s.IntervalMS - s.ReadyMS
}
