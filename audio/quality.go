package audio

// Mix says which signal of a recording of several channels is measured.
type Mix struct {
	// Channel counts from 0; Sum means the mean of all channels.
	Channel int
	// Why is one line for people.
	Why string
}

// Sum as Mix.Channel takes the mean of all channels.
const Sum = -1

// Quality is what can be said of a whole take before any stroke is known.
// Levels are dB relative to full scale (a sine's positive peak at 1.0: AES17),
// so that a full-scale sine has Peak 0 and RMS 0, though its root mean square is
// 0.707; NaN where a thing cannot be told.
type Quality struct {
	Format Format
	// Frames were read, Duration is Frames over the sample rate in seconds.
	Frames   int64
	Duration float64
	// Peak and RMS are of the mixed signal; NaN for digital silence.
	Peak, RMS float64
	// ClippedShare is the share of samples that stand at a ceiling: in flat runs,
	// or where the sharpest peaks of many strokes reach the same height.
	ClippedShare float64
	// NoiseFloor is the RMS level of the quiet parts, without what is slower than
	// some 100 Hz; NaN where most of them are digital silence.
	NoiseFloor float64
	// NoiseFreqs (Hz) and NoiseDensity (dB relative to a full-scale sine's power,
	// per Hz) are the power spectrum of the quiet parts; nil where NoiseFloor is
	// NaN or the take is too short.
	NoiseFreqs, NoiseDensity []float64
	// BandLimit is the frequency in Hz above which the take holds nothing, as
	// lossy codecs cut it; NaN when it reaches the Nyquist frequency.
	BandLimit float64
	// Gated: the quiet parts are cut to near silence. Pumped: the noise floor
	// moves with the typing, as automatic gain makes it.
	Gated, Pumped bool
	// Mix is the signal to measure.
	Mix Mix
	// Problems found; those of the container (cut short, lying sizes) too.
	Problems []Problem
}
