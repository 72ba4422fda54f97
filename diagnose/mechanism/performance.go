package mechanism

import "math"

// Where a letter stands against the one before it.
const (
	Clear   = "clear"
	Crowded = "crowded" // printed while the carriage was still travelling
	Piled   = "piled"   // no space was made since the letter before it
)

// Stroke is one stroke and all that it did. Times are seconds from the start of
// the take; NaN where the thing did not happen.
type Stroke struct {
	Char  rune
	Space bool
	Line  int // from 0
	Col   int // strokes before it on its line
	// Position is the carriage position: where the paper stands, in spaces from the
	// line's start. Backspaces take from it what they take the carriage back, runs to
	// a tab stop add what they run; without either it is the spaces made before it on
	// its line.
	Position int
	// Moved is by how many spaces the hand moved the carriage between the stroke
	// before and this one (backspaces, tabulator).
	Moved   int
	Key     float64 // place under the universal bar, 0 leftmost to 1 rightmost
	Speed   float64 // m/s, type bar at the platen; of the space bar the finger's
	Flicked bool    // the finger was off before the strike
	Burst   bool    // typed in a burst

	Lever, Linkage float64 // key set in motion; tiny clicks on the way
	Trip, Strike   float64 // of the space bar: trip and thump
	BarBack        float64 // its bar passes the release point
	// Release is when the rocker swings back; Start when the carriage starts to
	// move on it (the trip on a down-stroke action; later than both where it
	// still travelled).
	Release, Start float64
	HalfLanding    float64 // of the half move on the trip, half-space only
	Landing        float64
	SkipLanding    float64 // the second landing of a skip
	BarRest, KeyUp float64

	// Travel is the time of the move to Landing from its start, s.
	Travel float64
	// Label of its letter against the one before it; the first of a line is
	// clear. ShortBy is by how much of a space it stands short, of crowded ones.
	Label   string
	ShortBy float64
	// Missed: tripped too briefly, no space was made. Shared: no space of its
	// own, because another stroke held the escapement tripped (its neighbour has
	// the release and landing).
	Missed, Shared bool
	// Tooth of the escape wheel that its landing brought to the dog; -1 without.
	Tooth int
}

// Latency is release minus strike in s, NaN without a release.
func (s *Stroke) Latency() float64 { return s.Release - s.Strike }

// Lead is strike minus trip in s.
func (s *Stroke) Lead() float64 { return s.Strike - s.Trip }

// Line is what ended one line.
type Line struct {
	First, Count int // strokes
	// Bell, ReturnStart and ReturnEnd in s; NaN where there was none.
	Bell, ReturnStart, ReturnEnd float64
}

// Performance is one text typed on one machine by one hand.
type Performance struct {
	Name    string
	Machine Machine
	Hand    Hand
	Seed    uint64
	Text    string
	Strokes []Stroke
	Lines   []Line
	// Operations are what the hand did besides typing, in order.
	Operations []Operation
	// Duration in s, with a second of quiet at the end.
	Duration float64
}

// Count of strokes with a label.
func (p *Performance) Count(label string) int {
	n := 0
	for i := range p.Strokes {
		if p.Strokes[i].Label == label {
			n++
		}
	}
	return n
}

func none() float64 { return math.NaN() }

func happened(t float64) bool { return !math.IsNaN(t) }
