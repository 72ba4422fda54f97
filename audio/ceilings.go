package audio

import "math"

// ceilings finds samples that stand in flat runs at a ceiling, as clipping
// leaves them; where the ceiling is, is not known beforehand, since a clipped
// take may have been made quieter. Each frame's extreme is tried as one: three
// or more samples in a row that nearly reach it, of which the way in or out is
// steep. (The top of a slow wave is flat too, but it is rounded: where a run
// covers all that lies within d of the top of a parabola, the next sample is
// at most 2.8 d under it.) Runs are counted by height; at the end the height
// that holds most of them is the ceiling.
type ceilings struct {
	step float64 // one step of the stored samples; 0 for float
	up   tops
	down tops
}

// tops are flat runs of one polarity by height, in tenths of a decibel.
type tops map[int]top

type top struct{ samples, runs, frames int64 }

const (
	flatRun   = 3
	flatness  = 1e-3 // of the ceiling
	steepness = 6    // times the flatness
	// heights under this share of the largest so far are not looked at
	topShare = 0.5
)

// add looks at one frame, given its extremes and those of the signal so far.
func (c *ceilings) add(x []float64, hi, lo, peakHi, peakLo float64) {
	if hi > 16*c.step && hi >= topShare*peakHi && hi > 0 {
		c.up.look(x, 1, hi, c.step)
	}
	if -lo > 16*c.step && -lo >= topShare*-peakLo && lo < 0 {
		c.down.look(x, -1, -lo, c.step)
	}
}

func (t *tops) look(x []float64, sign, height, step float64) {
	flat := max(flatness*height, 2.01*step)
	bound := height - flat
	var found top
	for i := 0; i < len(x); i++ {
		if sign*x[i] < bound {
			continue
		}
		from := i
		for i < len(x) && sign*x[i] >= bound {
			i++
		}
		if i-from < flatRun {
			continue
		}
		steep := false
		if from > 0 && height-sign*x[from-1] >= steepness*flat {
			steep = true
		}
		if i < len(x) && height-sign*x[i] >= steepness*flat {
			steep = true
		}
		if steep {
			found.samples += int64(i - from)
			found.runs++
		}
	}
	if found.runs == 0 {
		return
	}
	if *t == nil {
		*t = tops{}
	}
	at := int(math.Round(200 * math.Log10(height)))
	old := (*t)[at]
	(*t)[at] = top{old.samples + found.samples, old.runs + found.runs, old.frames + 1}
}

// clipped sums up what stands at the ceiling of one polarity, whose extreme is
// peak.
func (t tops) clipped(peak float64) top {
	var best top
	most := int(math.Round(200 * math.Log10(peak)))
	for at := range t {
		if at < most-60 {
			continue
		}
		var sum top
		for d := -1; d <= 1; d++ {
			n := t[at+d]
			sum.samples += n.samples
			sum.runs += n.runs
			sum.frames += n.frames
		}
		// Chance puts a run or two anywhere; a ceiling holds many, unless it is
		// the very top.
		if (sum.runs >= 4 || at >= most-1) && sum.samples > best.samples {
			best = sum
		}
	}
	return best
}

// clipped gives the samples at ceilings of both polarities, and the frames.
func (m *meter) clipped() (samples, frames int64) {
	up, down := m.ceil.up.clipped(m.hi), m.ceil.down.clipped(-m.lo)
	return up.samples + down.samples, up.frames + down.frames
}

// clippedShare is of all samples; 0 without any.
func (m *meter) clippedShare() float64 {
	if m.n == 0 {
		return 0
	}
	n, _ := m.clipped()
	return float64(n) / float64(m.n)
}
