package onset

import "math"

// Spread sums up a measured quantity in the unit its field states.
type Spread struct {
	// Median and MAD are the middle and the median absolute deviation (not
	// scaled); NaN when N is 0.
	Median, MAD float64
	// N is how many values it rests on.
	N int
}

// Learnt is what a take taught about its own sounds: nothing in it is fixed in
// advance. Of a take that is not usable nothing is learnt about the carriage,
// of one without typing nothing at all.
type Learnt struct {
	// StrikeLevel, ThumpLevel, TripLevel, ReleaseLevel and LandingLevel are peak
	// levels ([Mark]) in dB relative to full scale.
	StrikeLevel, ThumpLevel, TripLevel, ReleaseLevel, LandingLevel Spread
	// Lead is strike minus trip, of letters only; Latency is release minus
	// strike and Travel landing minus release, of all strokes. All in seconds.
	Lead, Latency, Travel Spread
	// NoiseLevel is the level that the take's quietest fifth stays under, in dB
	// relative to full scale: power, not peak, over 10 ms and all bands.
	// StrikeToNoise is how far the loudest millisecond of the usual strike stands
	// over it in dB, in that measure. NaN when unknown.
	NoiseLevel, StrikeToNoise float64
	// Pairs tells whether release and landing can be heard apart; if not, the one
	// sound heard of the carriage is the landing.
	Pairs bool
	// Thin says why the take is too thin to trust what it taught; empty when it
	// is not.
	Thin string
}

// learntNothing is what a take without typing teaches.
func learntNothing() Learnt {
	none := spreadOf(nil)
	return Learnt{
		StrikeLevel: none, ThumpLevel: none, TripLevel: none, ReleaseLevel: none, LandingLevel: none,
		Lead: none, Latency: none, Travel: none,
		NoiseLevel: math.NaN(), StrikeToNoise: math.NaN(),
	}
}

// spreadOf sums up v.
func spreadOf(v []float64) Spread {
	s := Spread{N: len(v)}
	s.Median, s.MAD = medianMAD(v)
	return s
}
