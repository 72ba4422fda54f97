package audio

import (
	"math"
	"slices"
)

// What gates and automatic gain do to a take shows in how the level runs from
// frame to frame between the loud parts. All levels here are dB against the
// take's own, so nothing depends on how loud it was recorded.

// series is a take's level frame by frame.
type series struct {
	db    []float64 // silenceDB for digital silence
	frame float64   // seconds
	quiet float64
	loud  float64
}

const silenceDB = -300

func newSeries(m *meter, frame float64) *series {
	s := &series{frame: frame, quiet: m.levels.quiet(), loud: m.levels.loud()}
	s.db = make([]float64, len(m.codes))
	for i, c := range m.codes {
		s.db[i] = float64(c) - codeZero
		if c == 0 {
			s.db[i] = silenceDB
		}
	}
	return s
}

// A frame is loud within loudSpan of the loud percentile (light strokes are
// some 15 dB under heavy ones), or in the upper half where there is less room.
const loudSpan = 20

// gaps are the pieces [from,to) between loud frames that are no longer than
// longest seconds.
func (s *series) gaps(longest float64) (out [][2]int) {
	bound := max(s.loud-loudSpan, (s.loud+s.quiet)/2)
	last := -1
	for i, v := range s.db {
		if v < bound {
			continue
		}
		if last >= 0 && i > last+1 && float64(i-last-1)*s.frame <= longest {
			out = append(out, [2]int{last + 1, i})
		}
		last = i
	}
	return out
}

// Gating: the sound is shut off between strokes. Either to digital silence, or
// so that the level, after it has stood or sunk slowly, falls off all at once
// and stays down: a room's or a string's decay does the opposite, falling fast
// at first. Or the range is more than any microphone has (see gateRange).
const (
	gateGap    = 3.0  // seconds between loud frames that are still typing
	gateShare  = 0.1  // of frames at digital silence
	gatePause  = 0.15 // seconds: a shorter gap gives a gate no time to close
	gateDrop   = 20.0 // dB within two frames
	gateBefore = 10.0 // dB: range over the three frames before
	gateOften  = 0.3  // of the gaps
	gateRange  = 100.0
)

func (s *series) gated() bool {
	var between, silent, pauses, shut int
	for _, g := range s.gaps(gateGap) {
		x := s.db[g[0]:g[1]]
		between += len(x)
		closes := false
		for i, v := range x {
			if v == silenceDB {
				silent++
			}
			if i >= 3 && i+3 < len(x) {
				top := x[i-1]
				if rangeOf(x[i-3:i]) <= gateBefore && top-slices.Max(x[i+1:i+4]) >= gateDrop {
					closes = true
				}
			}
		}
		if float64(len(x))*s.frame >= gatePause {
			pauses++
			if closes {
				shut++
			}
		}
	}
	switch {
	case between > 0 && float64(silent) >= gateShare*float64(between):
		return true
	case shut >= 3 && float64(shut) >= gateOften*float64(pauses):
		return true
	}
	return s.loud-s.quiet > gateRange
}

func rangeOf(x []float64) float64 { return slices.Max(x) - slices.Min(x) }

// Pumping: automatic gain turns down at a stroke and comes back in 0.1 to 3 s,
// and the noise with it. Within a pause the floor then rises; a sound's own
// decay makes it fall. So a rise that most pauses share is the gain's.
const (
	pumpPause  = 0.4 // seconds: shortest pause looked at
	pumpLong   = 3.0
	pumpEarly  = 0.1  // seconds from the last loud frame
	pumpEarlyN = 0.12 // seconds
	pumpRise   = 3.0  // dB, median
	pumpMost   = 0.8  // of the pauses rise
	pumpLeast  = 5    // pauses
)

func (s *series) pumped() bool {
	if s.loud-s.quiet < pumpRise {
		return false
	}
	var rises []float64
	up := 0
	n := func(seconds float64) int { return int(math.Round(seconds / s.frame)) }
	for _, g := range s.gaps(60) {
		x := s.db[g[0]:g[1]]
		// the last frames belong to the next stroke's own small sounds
		x = x[:max(0, len(x)-n(0.06))]
		x = x[:min(len(x), n(pumpLong))]
		if len(x) < n(pumpPause) {
			continue
		}
		early := x[n(pumpEarly) : n(pumpEarly)+n(pumpEarlyN)]
		late := x[len(x)-len(x)*2/5:]
		rise := low(late) - low(early)
		if math.Abs(rise) > 100 {
			continue // digital silence
		}
		rises = append(rises, rise)
		if rise >= 1 {
			up++
		}
	}
	if len(rises) < pumpLeast {
		return false
	}
	slices.Sort(rises)
	return rises[len(rises)/2] >= pumpRise && float64(up) >= pumpMost*float64(len(rises))
}

// low is the lower quartile.
func low(x []float64) float64 {
	y := slices.Clone(x)
	slices.Sort(y)
	return y[len(y)/4]
}
