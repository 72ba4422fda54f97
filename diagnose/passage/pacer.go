package passage

import (
	"fmt"
	"math"
)

// Rates of the pacer in strokes a second. Under the slowest nobody needs one;
// above the fastest, 180 words a minute, no passage was typed on a machine (147
// words a minute for an hour, 1923: 81.6 ms a stroke).
const (
	SlowestRate = 1.0
	FastestRate = 15.0
)

// BeatKind is what a beat of the pacer is for.
type BeatKind int

// The kinds.
const (
	CountIn BeatKind = iota // before each line, to catch the pace
	Strike                  // one stroke: a letter or a space
	Return                  // the line is over: return the carriage
)

// Beat is one click of the pacer.
type Beat struct {
	// Time in seconds from the start.
	Time float64
	Kind BeatKind
	// Line and Column are the stroke's in the sheet, from 0.
	Line, Column int
}

// The pacer's rests, in seconds.
const (
	// leadIn is before the first click: time to put the hands on the keys, and the
	// quiet that the measuring wants.
	leadIn = 3.0
	// countIns are the clicks before each line.
	countIns = 4
	// lineRest is for the return of the carriage and a look at the next line.
	lineRest = 3.0
	// leadOut is after the last click.
	leadOut = 2.0
)

// Plan says when each stroke of the sheet is due, at rate strokes a second for
// the lines at the usual pace, and slower or faster for those that the sheet wants
// so. Before each line it counts in, after each it rests.
func (s *Sheet) Plan(rate float64) ([]Beat, error) {
	if !(rate >= SlowestRate && rate <= FastestRate) {
		return nil, fmt.Errorf("a rate of %g strokes a second cannot be had; from %g to %g can", rate, SlowestRate, FastestRate)
	}
	var beats []Beat
	at, line := leadIn, 0
	for _, p := range s.Parts {
		step := 1 / (rate * p.Pace)
		for _, l := range p.Lines {
			// Counted in no faster than one can follow: at the beat, or every second
			// or fourth of it.
			count := step
			for count < 0.25 {
				count *= 2
			}
			for i := range countIns {
				beats = append(beats, Beat{at + float64(i)*count, CountIn, line, 0})
			}
			at += countIns * count
			for i := range len([]rune(l)) {
				beats = append(beats, Beat{at + float64(i)*step, Strike, line, i})
			}
			at += float64(len([]rune(l))) * step
			beats = append(beats, Beat{at + 0.3, Return, line, 0})
			at += lineRest
			line++
		}
	}
	return beats, nil
}

// ClickRate is the sample rate of the pacer's sound in Hz.
const ClickRate = 16000

// clicks of each kind: pitch in Hz, level (1 is full scale), time in seconds in
// which it falls to 1/e.
var clicks = map[BeatKind]struct{ pitch, level, decay float64 }{
	CountIn: {2200, 0.7, 0.012},
	Strike:  {1400, 0.5, 0.006},
	Return:  {520, 0.5, 0.060},
}

// Clicks makes a plan audible: mono samples at [ClickRate], full scale 1. A click
// starts at its beat's time, to the nearest sample.
func Clicks(beats []Beat) []float64 {
	if len(beats) == 0 {
		return nil
	}
	samples := make([]float64, int((beats[len(beats)-1].Time+leadOut)*ClickRate))
	for _, b := range beats {
		c := clicks[b.Kind]
		from := int(math.Round(b.Time * ClickRate))
		for i := range int(6 * c.decay * ClickRate) {
			if from+i >= len(samples) {
				break
			}
			t := float64(i) / ClickRate
			samples[from+i] += c.level * math.Exp(-t/c.decay) * math.Cos(2*math.Pi*c.pitch*t)
		}
	}
	return samples
}
