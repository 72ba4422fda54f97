package audio

import "math"

// frameLength is the number of samples, a power of two of 8 to 12 ms, over
// which levels are taken: short enough to fall between two strokes.
func frameLength(rate int) int {
	n := 64
	for float64(n*2) <= 0.012*float64(rate) {
		n *= 2
	}
	return n
}

// seriesHours of a take are looked at for gating and pumping; what comes later
// adds to all else.
const seriesHours = 12

// meter takes the measure of one signal, frame by frame.
type meter struct {
	hi, lo float64 // extremes
	square float64 // sum over all samples
	n      int64   // samples

	stored float64 // step of the stored samples; 0 when not known
	fine   float64 // smallest difference seen between neighbours
	frames int64   // added
	levels spread
	silent int64   // frames in which no sample differs from the next
	codes  []uint8 // one level a frame
	limit  int     // of len(codes)
	ceil   ceilings
}

// newMeter makes a meter for a signal whose samples were stored in steps of
// step, 0 when that is not known.
func newMeter(rate int, step float64) *meter {
	return &meter{
		hi: math.Inf(-1), lo: math.Inf(1),
		limit:  seriesHours * 3600 * rate / frameLength(rate),
		stored: step,
		fine:   math.Inf(1),
	}
}

// sums are what a frame's level follows from.
type sums struct {
	n           int
	sum, square float64
	moment      float64 // sum of i x[i], i from 0
}

// sumsOf is the sums of one signal's frame. The moment follows from the sum of
// all partial sums: x[i] is in n-i of them.
func sumsOf(x []float64) sums {
	var sum, partial, square float64
	for _, a := range x {
		sum += a
		partial += sum
		square += a * a
	}
	n := len(x)
	return sums{n, sum, square, float64(n)*sum - partial}
}

// sumsOfPair is the sums of a stereo frame's channels and of their mean, in one
// pass over the interleaved samples.
func sumsOfPair(x []float64) (left, right, mean sums) {
	var sumA, partA, sqA, sumB, partB, sqB, sqC float64
	for i := 1; i < len(x); i += 2 {
		a, b := x[i-1], x[i]
		sumA += a
		partA += sumA
		sqA += a * a
		sumB += b
		partB += sumB
		sqB += b * b
		c := a + b
		sqC += c * c
	}
	n := len(x) / 2
	left = sums{n, sumA, sqA, float64(n)*sumA - partA}
	right = sums{n, sumB, sqB, float64(n)*sumB - partB}
	mean = sums{n, (sumA + sumB) / 2, sqC / 4, (left.moment + right.moment) / 2}
	return left, right, mean
}

// flat tells whether all samples may be equal: the square of their sum is then n
// times the sum of their squares, but for rounding.
func (s sums) flat() bool {
	all := s.square * float64(s.n)
	return all-s.sum*s.sum <= 1e-9*all
}

// needs tells whether look has to see the samples of the frame that add is told
// of next. Most frames are quiet: their sum of squares shows that no sample of
// them comes near the extremes so far.
func (m *meter) needs(s sums) bool {
	near := topShare * min(m.hi, -m.lo)
	return m.wantsStep() || s.flat() || !(near > 0 && s.square < near*near)
}

// wantsStep tells whether the frame that add is told of next is looked at for the
// smallest step. Once it is as small as that of the stored samples, none is.
func (m *meter) wantsStep() bool { return m.frames%fineEvery == 0 && m.fine > m.stored }

// look sees the samples of a frame and tells whether they are all equal.
func (m *meter) look(x []float64) (silent bool) {
	if len(x) == 0 {
		return false
	}
	hi, lo := x[0], x[0]
	for _, a := range x {
		if a > hi {
			hi = a
		}
		if a < lo {
			lo = a
		}
	}
	if hi > m.hi {
		m.hi = hi
	}
	if lo < m.lo {
		m.lo = lo
	}
	if m.wantsStep() {
		for i := 1; i < len(x); i++ {
			if d := math.Abs(x[i] - x[i-1]); d < m.fine && d > 0 {
				m.fine = d
			}
		}
	}
	m.ceil.add(x, hi, lo, m.hi, m.lo, m.step())
	return hi == lo
}

// add counts one frame and returns its power about a straight line: what is
// slower than the frame (an offset, rumble under some 100 Hz) does not count,
// since it hides no click. A frame that is not whole (the last) has no level,
// and one that is silent has no power.
func (m *meter) add(s sums, whole, silent bool) (power float64) {
	m.n += int64(s.n)
	m.square += s.square
	m.frames++
	if !whole {
		return 0
	}
	var code uint8
	if silent {
		m.silent++
	} else {
		power = aboutLine(s.n, s.sum, s.square, s.moment)
		db := decibels(power)
		m.levels.add(power, db)
		code = codeOf(db)
	}
	if len(m.codes) < m.limit {
		m.codes = append(m.codes, code)
	}
	return power
}

// peak is the largest magnitude.
func (m *meter) peak() float64 { return max(0, m.hi, -m.lo) }

// aboutLine is the mean power of n samples about the straight line that fits
// them best, from sum(x), sum(x^2) and sum(i x).
func aboutLine(n int, sum, square, moment float64) float64 {
	c := float64(n)
	slope := moment - (c-1)/2*sum // sum((i-mid) x)
	return max(0, (square-sum*sum/c-slope*slope*12/(c*(c*c-1)))/c)
}

// step is that of the samples' values: the file's own may be finer, since a take
// of few bits may have been written with more, or as float.
func (m *meter) step() float64 {
	if m.frames < fineLeast*fineEvery || math.IsInf(m.fine, 1) {
		return m.stored
	}
	return m.fine
}

// coarse tells whether the signal's peak is so few steps that a quiet room would
// lie under one: a room can be 72 dB under a stroke's peak.
func (m *meter) coarse() bool { return m.peak() < coarsePeak*m.step() }

const (
	coarsePeak = 4096
	// Every so many frames are looked at for the smallest step, and at least so
	// many before it is believed.
	fineEvery, fineLeast = 16, 8
)

// rms is the root mean square of all samples.
func (m *meter) rms() float64 { return math.Sqrt(m.square / float64(m.n)) }

// floor is the mean power of the quiet frames; NaN where most of the quiet is
// digital silence or there is none.
func (m *meter) floor() float64 {
	n, mean := m.levels.below(m.levels.quiet() + quietSpan)
	if m.levels.n == 0 || m.silent > n {
		return math.NaN()
	}
	return mean
}
