package onset

import "loosedog/audio"

// Mark is one sound of the mechanism placed in time.
type Mark struct {
	// Time is the arrival at the microphone in seconds from the start of the
	// file; NaN when the sound was not heard.
	Time float64
	// Confidence runs from 0 (not heard) to 1 (certain).
	Confidence float64
	// Level is the largest amplitude, without rumble, in the 3 ms from Time on, in
	// dB relative to full scale; NaN when the sound was not heard, and for a trip
	// so close before its strike that it has no peak of its own.
	Level float64
}

// Heard tells whether the sound was found in the recording.
func (m Mark) Heard() bool { return m.Confidence > 0 }

// Stroke is one operation of a key or of the space bar with the sounds that
// belong to it.
type Stroke struct {
	// Space is true for a stroke of the space bar; Strike is then its thump.
	Space bool
	// Line is the index of its line in [Take].Lines, from 0.
	Line int
	// Trip, Strike, Release and Landing are the stroke's own sounds. Where only
	// one carriage sound can be told it is the landing.
	Trip, Strike, Release, Landing Mark
	// Skip is the second landing of a stroke after which the carriage moved two
	// spaces.
	Skip Mark
	// Shared is true when the stroke has no release of its own because the next
	// stroke tripped before this one had released: the two share that one's
	// release and landing.
	Shared bool
	// Missed is true when no space was made for this stroke although nothing
	// was shared: a missed space.
	Missed bool
}

// Line is one line of the page.
type Line struct {
	// First is the index of the line's first stroke, Count how many it has.
	First, Count int
	// Start and End are the times of its first and last strike in seconds.
	Start, End float64
	// Bell and Return are the start of the bell and of the carriage return that
	// ended the line, in seconds; NaN when not heard.
	Bell, Return float64
}

// Take is everything that was heard in one recording.
type Take struct {
	// SampleRate is in Hz, Duration in seconds.
	SampleRate, Duration float64
	// Strokes are in order of their strikes.
	Strokes []Stroke
	// Lines are in order; together they hold every stroke.
	Lines []Line
	// Learnt is what the take taught about its own sounds.
	Learnt Learnt
	// Usable is false when the recording cannot be measured; Problems say why
	// and what to change. Strokes then hold only what is sure, strikes and trips,
	// and are empty where no typing was heard. A usable take can have Problems.
	Usable   bool
	Problems []audio.Problem
	// Ring is the low ring after the strikes ([MeasureRing]); nil when it was not
	// measured.
	Ring *Ring
}
