package audio

import "math"

// ceilings finds samples that stand at a ceiling, as clipping leaves them;
// where the ceiling is, is not known beforehand, since a clipped take may have
// been made quieter. Each frame's extreme is tried as one. Two things show that
// it is:
//
// Flat runs: three or more samples in a row that nearly reach it, of which the
// way in or out is steep. (The top of a slow wave is flat too, but it is
// rounded: where a run covers all that lies within d of the top of a parabola,
// the next sample is at most 2.8 d under it.)
//
// A pile: the sharp peaks of a strike stay at the ceiling for a sample or two
// only, but many frames then reach the same greatest height, most of them more
// than once, and few come close to it. Unclipped strikes do not agree in height; steady tones do, so a pile
// says nothing in a take of little contrast; nor do peaks that a normaliser
// made agree, for they touch it once.
//
// All is counted by height, and judged at the end.
type ceilings struct {
	up, down tops
}

// tops are the frames' extremes of one polarity by height, in tenths of a
// decibel. There are as many as heights within topShare of the largest.
type tops map[int]top

// top is what was seen of frames whose extreme has one height: how many, how
// many samples at it, how many flat runs with how many samples in how many
// frames.
type top struct{ frames, touching, runs, flat, flatFrames int64 }

func (t top) plus(o top) top {
	return top{t.frames + o.frames, t.touching + o.touching, t.runs + o.runs, t.flat + o.flat, t.flatFrames + o.flatFrames}
}

const (
	flatRun   = 3
	flatness  = 1e-3 // of the ceiling
	steepness = 6    // times the flatness
	// heights under this share of the largest so far are not looked at
	topShare = 0.5
	// lowestCeiling in steps of the stored samples: under it all is flat.
	lowestCeiling = 16
)

// add looks at one frame, given its extremes, those of the signal so far, and
// the step between samples' values (0 when not known).
func (c *ceilings) add(x []float64, hi, lo, peakHi, peakLo, step float64) {
	if hi > lowestCeiling*step && hi >= topShare*peakHi && hi > 0 {
		c.up.look(x, 1, hi, step)
	}
	if -lo > lowestCeiling*step && -lo >= topShare*-peakLo && lo < 0 {
		c.down.look(x, -1, -lo, step)
	}
}

func (t *tops) look(x []float64, sign, height, step float64) {
	flat := max(flatness*height, 2.01*step)
	bound := height - flat
	found := top{frames: 1}
	for i := 0; i < len(x); i++ {
		if sign*x[i] < bound {
			continue
		}
		from := i
		for i < len(x) && sign*x[i] >= bound {
			i++
		}
		found.touching += int64(i - from)
		if i-from < flatRun {
			continue
		}
		if from > 0 && height-sign*x[from-1] >= steepness*flat || i < len(x) && height-sign*x[i] >= steepness*flat {
			found.flat += int64(i - from)
			found.runs++
			found.flatFrames = 1
		}
	}
	if *t == nil {
		*t = tops{}
	}
	at := tenths(height)
	(*t)[at] = (*t)[at].plus(found)
}

// tenths of a decibel.
func tenths(height float64) int { return int(math.Round(200 * math.Log10(height))) }

// clipped gives the samples at the ceiling of one polarity, whose extreme is
// peak, and the frames they stand in; contrast is the take's in dB.
func (t tops) clipped(peak, contrast float64) (samples, frames int64) {
	if !(peak > 0) {
		return 0, 0
	}
	most := tenths(peak)
	around := func(from, to int) (sum top) {
		for at := from; at <= to; at++ {
			sum = sum.plus(t[at])
		}
		return sum
	}
	// A pile at the very top, against the two decibels under it.
	pile, under := around(most-1, most), around(most-21, most-2)
	if contrast >= littleContrast && pile.frames >= 4 && float64(pile.frames) > 4*float64(under.frames)/10+1 &&
		float64(pile.touching) >= 1.5*float64(pile.frames) {
		return pile.touching, pile.frames
	}
	// Flat runs, at whatever height holds most. Chance puts a run or two
	// anywhere; a ceiling holds many, unless it is the top.
	for at := most - 60; at <= most; at++ {
		sum := around(at-1, at+1)
		if (sum.runs >= 4 || at >= most-1) && sum.flat > samples {
			samples, frames = sum.flat, sum.flatFrames
		}
	}
	return samples, frames
}

// clipped gives the samples at ceilings of both polarities, and the frames.
func (m *meter) clipped() (samples, frames int64) {
	c := m.levels.contrast()
	up, upFrames := m.ceil.up.clipped(m.hi, c)
	down, downFrames := m.ceil.down.clipped(-m.lo, c)
	return up + down, max(upFrames, downFrames)
}

// clippedShare is of all samples; 0 without any.
func (m *meter) clippedShare() float64 {
	if m.n == 0 {
		return 0
	}
	n, _ := m.clipped()
	return float64(n) / float64(m.n)
}
