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
	// Strike, Thump, Trip, Release and Landing are the kinds of sound that the take
	// has.
	Strike, Thump, Trip, Release, Landing Sound
	// Bands are the edges of the bands of their spectra in Hz; what lies above the
	// last one's lower edge is in it.
	Bands [][2]float64
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
	// HalfMoves is the share of letters, over that by chance, with a sound like the
	// landings one travel after the trip, where a half-space machine has one; NaN
	// when unknown.
	HalfMoves float64
	// Thin says why the take is too thin to trust what it taught; empty when it
	// is not.
	Thin string
}

// Sound is one kind of sound of the mechanism as a take has it.
type Sound struct {
	// Level is the peak level ([Mark]) in dB relative to full scale.
	Level Spread
	// Spectrum is the middle level of each of [Learnt].Bands in its loudest
	// millisecond, in dB relative to all bands together; nil when too few were heard.
	Spectrum []float64
	// Share is the share of the strokes that should have it (the letters of a
	// strike, the space-bar strokes of a thump, all strokes of the others) of which
	// it was heard; NaN where there are none.
	Share float64
}

// soundOf sums up a kind of sound from its peak levels in dB, the family learnt of
// it and how many strokes there are that should have it.
func soundOf(levels []float64, f *family, bands, strokes int) Sound {
	s := Sound{Level: spreadOf(levels), Share: math.NaN()}
	if strokes > 0 {
		s.Share = float64(len(levels)) / float64(strokes)
	}
	if f.n > 0 && len(levels) > 0 {
		for b := range bands {
			s.Spectrum = append(s.Spectrum, f.mean[firstBand+b])
		}
	}
	return s
}

// learntNothing is what a take without typing teaches.
func learntNothing() Learnt {
	none := spreadOf(nil)
	return Learnt{
		Strike: noSound(), Thump: noSound(), Trip: noSound(), Release: noSound(), Landing: noSound(),
		Lead: none, Latency: none, Travel: none,
		NoiseLevel: math.NaN(), StrikeToNoise: math.NaN(), HalfMoves: math.NaN(),
	}
}

func noSound() Sound { return Sound{Level: spreadOf(nil), Share: math.NaN()} }

// spreadOf sums up v.
func spreadOf(v []float64) Spread {
	s := Spread{N: len(v)}
	s.Median, s.MAD = medianMAD(v)
	return s
}
