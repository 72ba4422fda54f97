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
	db []float64 // silenceDB for digital silence
	// coarse: the quiet may lie under the smallest step, so that silence is the
	// rounding's doing.
	coarse bool
	frame  float64 // seconds
	// levels in dB: see spread
	quiet, middle, loud float64
}

const silenceDB = -300

func newSeries(m *meter, frame float64) *series {
	s := &series{frame: frame, coarse: m.coarse(), quiet: m.levels.quiet(), middle: m.levels.percentile(0.5), loud: m.levels.loud()}
	s.db = make([]float64, len(m.codes))
	for i, c := range m.codes {
		s.db[i] = float64(c) - codeZero
		if c == 0 {
			s.db[i] = silenceDB
		}
	}
	return s
}

// A frame is loud when it stands out of the middle of the take by loudOver, as
// long as that is between loudNear and loudFar under the loud percentile, all
// in dB: light strokes are some 15 dB under heavy ones, but automatic gain can
// bring the noise of a pause to within 20 dB.
const (
	loudOver = 6
	loudNear = 12
	loudFar  = 20
)

// gaps are the pieces [from,to) between loud frames that are no longer than
// longest seconds.
func (s *series) gaps(longest float64) (out [][2]int) {
	bound := min(max(s.middle+loudOver, s.loud-loudFar), s.loud-loudNear)
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
	gateRange  = 85.0 // dB; a phone's microphone has 65, a good recorder's in a still room 80
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
			if i >= 3 && i+3 < len(x) && !s.coarse {
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
	case !s.coarse && between > 0 && float64(silent) >= gateShare*float64(between):
		return true
	case shut >= 3 && float64(shut) >= gateOften*float64(pauses):
		return true
	}
	return !s.coarse && s.loud-s.quiet > gateRange
}

func rangeOf(x []float64) float64 { return slices.Max(x) - slices.Min(x) }

// Pumping: automatic gain turns down at a stroke and comes back in 0.1 to 3 s,
// and the noise with it. Within a pause the floor then rises from where the
// stroke's own decay meets it to the pause's end; without gain it stands. Only
// pauses are looked at in which the stroke's small sounds (some 0.15 s) are
// long over, and a rise counts only when most pauses share it.
const (
	pumpPause = 0.4  // seconds: shortest pause looked at
	pumpRoomy = 0.7  // seconds: only longer ones when there are enough
	pumpLong  = 3.0  // seconds: as much of a longer one
	pumpAfter = 0.03 // seconds from the last loud frame that are left out
	pumpEnd   = 0.06 // seconds before the next that are: its lever noise
	pumpOver  = 0.05 // seconds over which levels are averaged
	pumpRise  = 2.0  // dB, median of the pauses; steady noise makes 0 to 1
	pumpEach  = 1.5  // dB
	pumpMost  = 0.8  // of the pauses rise by that
	pumpLeast = 3    // pauses
	// pumpEven is the most by which the level of a pause's last third may step from
	// frame to frame, dB, on average: noise that gain brings up is even (0.4 to 1.7
	// in simulated rooms), a carriage return and a hand getting ready are not (2.2
	// to 8); without this bound they were taken for a rise.
	pumpEven = 2.0
)

func (s *series) pumped() bool {
	rises := s.rises(pumpRoomy)
	if len(rises) < pumpLeast {
		rises = s.rises(pumpPause)
	}
	if len(rises) < pumpLeast {
		return false
	}
	up := 0
	for _, r := range rises {
		if r >= pumpEach {
			up++
		}
	}
	slices.Sort(rises)
	return rises[len(rises)/2] >= pumpRise && float64(up) >= pumpMost*float64(len(rises))
}

// rises gives for each pause of at least so many seconds whose last third is even
// by how many dB the lower quartile of that third (sounds of the hand getting
// ready are above it) stands over the lowest level, averaged, of the first two.
func (s *series) rises(shortest float64) (rises []float64) {
	if s.loud-s.quiet < littleContrast {
		return nil
	}
	frames := func(seconds float64) int { return int(math.Round(seconds / s.frame)) }
	over := max(1, frames(pumpOver))
	for _, g := range s.gaps(math.Inf(1)) {
		if g[1]-g[0] < frames(shortest) {
			continue
		}
		x := s.db[g[0]+frames(pumpAfter) : g[1]-frames(pumpEnd)]
		x = x[:min(len(x), frames(pumpLong))]
		if slices.Min(x) == silenceDB {
			continue
		}
		low := math.Inf(1)
		for i := 0; i+over <= len(x)*2/3; i++ {
			low = min(low, average(x[i:i+over]))
		}
		end := slices.Clone(x[len(x)*2/3:])
		if unevenness(end) > pumpEven {
			continue
		}
		slices.Sort(end)
		rises = append(rises, end[len(end)/4]-low)
	}
	return rises
}

// unevenness is the mean step from one level to the next, in dB; 0 for less than
// two.
func unevenness(x []float64) float64 {
	var sum float64
	for i := 1; i < len(x); i++ {
		sum += math.Abs(x[i] - x[i-1])
	}
	return sum / float64(max(len(x)-1, 1))
}

func average(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}
