package onset

// Spread sums up a measured quantity in the unit its field states.
type Spread struct {
	// Median and MAD are the middle and the median absolute deviation (not
	// scaled); NaN when N is 0.
	Median, MAD float64
	// N is how many values it rests on.
	N int
}

// Learnt is what a take taught about its own sounds: nothing in it is fixed in
// advance.
type Learnt struct {
	// StrikeLevel, ThumpLevel, TripLevel, ReleaseLevel and LandingLevel are peak
	// levels in dB relative to full scale.
	StrikeLevel, ThumpLevel, TripLevel, ReleaseLevel, LandingLevel Spread
	// Lead is strike minus trip, Latency release minus strike, Travel landing
	// minus release; all in seconds.
	Lead, Latency, Travel Spread
	// NoiseLevel is the level of the take between strokes in dB relative to full
	// scale, in the same measure as StrikeLevel; StrikeToNoise is the median
	// strike's level over it in dB. NaN when unknown.
	NoiseLevel, StrikeToNoise float64
	// Pairs tells whether release and landing can be heard apart.
	Pairs bool
	// Thin says why the take is too thin to trust what it taught; empty when it
	// is not.
	Thin string
}
