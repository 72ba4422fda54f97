package diagnose

import (
	"math"

	"loosedog/onset"
)

// fewest is how many values a median needs before anything is said: with 6 the
// extremes first enclose it with 95 % confidence (1 - 2/2^6 = 0.97).
const fewest = 6

// move is the carriage move that a stroke made, as far as it can be told; times
// in seconds, NaN where unknown.
type move struct {
	// none: the stroke made no space (missed). shared: its space is the next
	// stroke's.
	none, shared bool
	// start and end are when the carriage started and landed. travel is end
	// minus start, or what other strokes of the take taught where one was not
	// heard.
	start, end, travel float64
	// startSlop and endSlop are how far off start and end may be; 0 where the
	// event was heard well.
	startSlop, endSlop float64
	// skip: the carriage moved a second space after end.
	skip bool
}

// learnt is the travel that the take's strokes agree on in seconds, and how far
// a single one may be from it; NaN where fewer than [fewest] tell.
func learnt(strokes []Stroke) (travel, slop float64) {
	t := sorted(column(strokes, func(s Stroke) Number { return s.TravelMS }))
	if len(t) < fewest {
		return math.NaN(), math.NaN()
	}
	return quantile(t, 0.5) / 1000, 3 * madToSD * mad(t) / 1000
}

// moves works out the carriage move of every stroke.
func moves(strokes []Stroke, heard []onset.Stroke, action Action) []move {
	travel, spread := learnt(strokes)
	all := make([]move, len(strokes))
	for i, s := range strokes {
		h := heard[i]
		m := move{none: s.MissedSpace, shared: h.Shared, skip: s.Skipped, start: math.NaN(), end: math.NaN(), travel: math.NaN()}
		if !m.none && !m.shared {
			begin, certain := s.ReleaseS, s.Confidence.Release
			if action == DownStroke {
				begin, certain = s.TripS, s.Confidence.Trip
			}
			m.start, m.startSlop = float64(begin), slop(certain)
			m.end, m.endSlop = float64(s.LandingS), slop(s.Confidence.Landing)
			if m.end < m.start {
				m.start = math.NaN() // not this landing's release
			}
			m.complete(travel, spread)
		}
		all[i] = m
	}
	return all
}

// complete fills in the one end of a move that was not heard from the travel
// that the take taught.
func (m *move) complete(travel, spread float64) {
	switch heardStart, heardEnd := !math.IsNaN(m.start), !math.IsNaN(m.end); {
	case heardStart && heardEnd:
		m.travel = m.end - m.start
	case heardStart:
		m.travel = travel
		m.end, m.endSlop = m.start+travel, m.startSlop+spread
	case heardEnd:
		m.travel = travel
		m.start, m.startSlop = m.end-travel, m.endSlop+spread
	}
}

// slop is how far off an event may be in seconds.
func slop(confidence Number) float64 {
	if confidence < doubtful {
		return tolerance
	}
	return 0
}

const (
	// doubtful is the confidence under which an event is not taken at its word.
	doubtful = 0.5
	// tolerance of a doubtful release or landing in seconds: what the program's
	// goal allows them (3 ms).
	tolerance = 0.003
)

// setPositions counts the spaces of each line. A stroke's position is where the
// carriage stood, or was heading, when its letter was struck: the spaces of its
// line whose move had begun by then. A missed space adds none, two strokes that
// share a release add one, a skip adds a second one. A move whose start was not
// heard counts as begun before the next strike.
func setPositions(strokes []Stroke, all []move) {
	type pending struct{ start float64 }
	var ahead []pending
	at := 0
	for i := range strokes {
		if i > 0 && strokes[i].Line != strokes[i-1].Line {
			ahead, at = ahead[:0], 0
		}
		rest := ahead[:0]
		for _, p := range ahead {
			if p.start > float64(strokes[i].StrikeS) {
				rest = append(rest, p)
				continue
			}
			at++
		}
		ahead = rest
		strokes[i].Position = at
		if m := all[i]; !m.none && !m.shared {
			ahead = append(ahead, pending{m.start})
		}
		if all[i].skip {
			ahead = append(ahead, pending{all[i].end})
		}
	}
}
