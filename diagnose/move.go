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
	// released is when the carriage was let go, start when it started to move:
	// later, where the move before had not landed yet. end is its landing. travel
	// is end minus start, or what other strokes of the take taught where one was
	// not heard.
	released, start, end, travel float64
	// startSlop is how far off a start that was heard may be, endSlop how far off
	// the end may be; 0 where the event was heard well.
	startSlop, endSlop float64
	// skip: the carriage moved a second space after end, and landed at skipEnd.
	skip    bool
	skipEnd float64
}

// moves works out the carriage move of every stroke, the strokes' positions and
// the travel that the take taught.
func moves(strokes []Stroke, heard []onset.Stroke, action Action) ([]move, travelModel) {
	all := make([]move, len(strokes))
	for i, s := range strokes {
		all[i] = heardMove(s, heard[i], action)
	}
	// Travel is learnt along the line, so positions come first, from what was
	// heard; filling in a start can move one of them once more.
	setPositions(strokes, all)
	travel := learnTravel(strokes)
	for i := range all {
		free := math.NaN()
		if i > 0 && strokes[i].Line == strokes[i-1].Line {
			free = all[i-1].settled()
		}
		all[i].complete(travel.at(float64(strokes[i].Position)), travel.slop, free)
	}
	setPositions(strokes, all)
	return all, travel
}

// heardMove is the move of a stroke as it was heard.
func heardMove(s Stroke, h onset.Stroke, action Action) move {
	m := move{
		none: s.MissedSpace, shared: h.Shared, skip: s.Skipped, skipEnd: seconds(h.Skip),
		released: math.NaN(), start: math.NaN(), end: math.NaN(), travel: math.NaN(),
	}
	if m.none || m.shared {
		return m
	}
	begin, certain := s.ReleaseS, s.Confidence.Release
	if action == DownStroke {
		begin, certain = s.TripS, s.Confidence.Trip
	}
	m.released, m.startSlop = float64(begin), slop(certain)
	m.end, m.endSlop = float64(s.LandingS), slop(s.Confidence.Landing)
	if m.end < m.released {
		m.released = math.NaN() // not this landing's release
	}
	return m
}

// travelModel is what a take taught about its travel: 1/travel^2, in 1/s^2, is
// proportional to the net pull, which falls evenly along the line.
type travelModel struct {
	pull, slope float64 // at position middle, and for each space from there
	middle      float64
	// slop is how far off a single travel may be from it in seconds.
	slop float64
}

// learnTravel takes a robust line of 1/travel^2 against position where enough
// strokes tell, else the median travel; all NaN of fewer than [fewest].
func learnTravel(strokes []Stroke) travelModel {
	var x, y, pull []float64
	for _, s := range strokes {
		if t := float64(s.TravelMS) / 1000; t > 0 {
			x, y, pull = append(x, float64(s.Position)), append(y, t), append(pull, 1/(t*t))
		}
	}
	if len(y) < fewest {
		nan := math.NaN()
		return travelModel{nan, nan, nan, nan}
	}
	m := travelModel{pull: Median(pull), middle: Median(x)}
	if line := theilSen(x, pull, level); len(y) >= fewestProfile && !math.IsNaN(line.Slope) {
		m.slope = line.Slope
	}
	left := make([]float64, len(y))
	for i := range y {
		left[i] = y[i] - m.at(x[i])
	}
	// One-sided 95 % of a normal spread: a strike further from the landing than
	// that is on the side where it seems to be.
	m.slop = 1.645 * MADToSD * MAD(left)
	return m
}

// at is the travel to be expected at a position in seconds, within half and twice the
// usual one: beyond the places that were heard a line says little.
func (m travelModel) at(position float64) float64 {
	pull := m.pull + m.slope*(position-m.middle)
	return 1 / math.Sqrt(min(max(pull, m.pull/4), 4*m.pull))
}

// complete fills in what of a move was not heard from the usual travel in
// seconds, which a single one may miss by spread. free is when the move before
// it was over; a carriage that was let go earlier starts then.
func (m *move) complete(usual, spread, free float64) {
	heardStart, heardEnd := !math.IsNaN(m.released), !math.IsNaN(m.end)
	m.start = m.released
	if heardStart && free > m.released && !(free >= m.end) {
		m.start = free
	}
	switch {
	case heardStart && heardEnd:
		m.travel = m.end - m.start
	case heardStart:
		m.travel = usual
		m.end, m.endSlop = m.start+usual, m.startSlop+spread
	case heardEnd:
		m.travel = usual
		m.start = m.end - usual
		m.released = m.start
	}
}

// settled is when the carriage stood again after the move; NaN where unknown.
func (m *move) settled() float64 {
	if m.skip {
		return m.skipEnd
	}
	return m.end
}

// unheard tells whether the carriage must have moved, but nothing of it was
// heard.
func (m *move) unheard() bool {
	return !m.none && !m.shared && math.IsNaN(m.released) && math.IsNaN(m.end)
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
// line that had been released by then. A missed space adds none, two strokes that
// share a release add one, a skip adds a second one. A move whose release was
// neither heard nor can be worked out counts before the next strike.
func setPositions(strokes []Stroke, all []move) {
	var ahead []float64 // releases that no strike has come after yet
	at := 0
	for i := range strokes {
		if i > 0 && strokes[i].Line != strokes[i-1].Line {
			ahead, at = ahead[:0], 0
		}
		rest := ahead[:0]
		for _, release := range ahead {
			if release > float64(strokes[i].StrikeS) {
				rest = append(rest, release)
				continue
			}
			at++
		}
		ahead = rest
		strokes[i].Position = at
		if m := all[i]; !m.none && !m.shared {
			ahead = append(ahead, m.released)
		}
		if all[i].skip {
			ahead = append(ahead, all[i].end)
		}
	}
}
