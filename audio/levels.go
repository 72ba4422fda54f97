package audio

import "math"

// spread counts frames by their power in steps of a quarter of a decibel, from
// lowestDB up, and sums the power in each step, so that means over a range are
// exact. Its size does not depend on the take.
type spread struct {
	count [spreadBins]int64
	power [spreadBins]float64
	n     int64
}

const (
	lowestDB   = -200.0
	binsPerDB  = 4
	spreadBins = 400 * binsPerDB
)

// decibels of a power; a power of 0 is the lowest that is told apart.
func decibels(power float64) float64 {
	if power <= 0 {
		return lowestDB
	}
	return max(lowestDB, 10*math.Log10(power))
}

func (s *spread) add(power, db float64) {
	i := min(max(int((db-lowestDB)*binsPerDB), 0), spreadBins-1)
	s.count[i]++
	s.power[i] += power
	s.n++
}

// percentile is the level in dB below which a share p (0 to 1) of the frames
// lie, good to a quarter of a decibel; NaN without frames.
func (s *spread) percentile(p float64) float64 {
	if s.n == 0 {
		return math.NaN()
	}
	want := int64(p * float64(s.n-1))
	var seen int64
	for i, c := range s.count {
		seen += c
		if seen > want {
			return lowestDB + (float64(i)+0.5)/binsPerDB
		}
	}
	return math.NaN()
}

// below gives the number of frames at or under a level and their mean power.
func (s *spread) below(db float64) (n int64, mean float64) {
	last := min(int((db-lowestDB)*binsPerDB), spreadBins-1)
	var sum float64
	for i := 0; i <= last; i++ {
		n += s.count[i]
		sum += s.power[i]
	}
	return n, sum / float64(n)
}

// total is the power of all frames added up.
func (s *spread) total() float64 {
	var sum float64
	for _, p := range s.power {
		sum += p
	}
	return sum
}

// Percentiles that stand for the quiet parts and for the loud ones. Between
// fast strokes only a few frames are quiet, and of a slow take only a few are
// loud: both ends are taken far out. Each is left by chance a dropped phone
// (a third of a second in a minute) or a breath of silence.
const (
	quietShare = 0.05
	loudShare  = 0.995
	// quietSpan above the quiet percentile still counts as quiet, dB: steady
	// noise measured over 10 ms wavers by less.
	quietSpan = 3
)

// quiet and loud are the levels in dB that stand for the parts between strokes
// and for the strokes; NaN without frames.
func (s *spread) quiet() float64 { return s.percentile(quietShare) }
func (s *spread) loud() float64  { return s.percentile(loudShare) }

// contrast is how far the loud parts stand above the quiet ones, dB.
func (s *spread) contrast() float64 { return s.loud() - s.quiet() }

// A level in one byte: 0 is digital silence, else dB + codeZero.
const codeZero = 151

func codeOf(db float64) uint8 {
	return uint8(min(max(math.Round(db)+codeZero, 1), 255))
}
