package synth

import "math/rand/v2"

// Recording is where the machine stands and what records it. Start from Plain
// or DrawRecording. Levels are dB relative to full scale; a noise level of
// Silent (or 0, the zero value) leaves that noise out.
type Recording struct {
	Rate     float64 // samples per second
	Channels int     // 1, or 2 (interleaved); 0 means 1
	Duration float64 // seconds; 0 means until a second after the last sound

	// StrikeLevel is the peak of the machine's usual strike, as it arrives
	// (before AGC and clipping).
	StrikeLevel float64
	// Delay in seconds is added to every sound: the way through the air.
	Delay float64

	// The room: Reflections early echoes within EarlySpan seconds, the first
	// at EarlyLevel dB under the direct sound; then a diffuse tail at
	// TailLevel dB (against the direct sound) that falls 60 dB in RT60 seconds.
	Reflections           int
	EarlyLevel, EarlySpan float64
	RT60, TailLevel       float64

	// The microphone: cut below LowCut Hz, above HighCut Hz (0: none),
	// treble tilted by Tilt dB above 3 kHz, and one resonance.
	LowCut, HighCut, Tilt     float64
	Resonance, ResonanceLevel float64 // Hz, dB

	// Noise, RMS in dB relative to full scale.
	Hiss, RoomNoise, Hum float64
	HumFreq              float64 // Hz, 50 when 0
	Knocks               float64 // foreign knocks a minute

	// What the recorder does. AGC pulls loud sound down by up to AGC dB and
	// lets it rise again over AGCRelease seconds. Gate cuts what lies under
	// that level (0: no gate), by GateDepth dB (0: to nothing), falling to 1/e
	// in GateFall seconds (0: 0.01). Clip flattens at that level (0: full scale).
	AGC, AGCRelease           float64
	Gate, GateDepth, GateFall float64
	Clip                      float64
	// Bits rounds the samples to that many bits (0: not at all).
	Bits int
	// CodecBand cuts steeply above that frequency in Hz, as lossy codecs do
	// (0: not), and CodecNoise (dB relative to the sound in each block, 0: none)
	// spreads quantisation noise over blocks of 2048 samples, ahead of clicks
	// too.
	CodecBand, CodecNoise float64
}

// Plain is a quiet, dry recording at 48 kHz: nothing done to it but a little
// hiss at -90 dB.
func Plain() Recording {
	return Recording{Rate: 48000, Channels: 1, StrikeLevel: -12, Hiss: -90, RoomNoise: Silent, Hum: Silent}
}

// DrawRecording draws an ordinary recording: phone on or beside the machine in
// a furnished room, some noise, nothing that spoils it.
func DrawRecording(seed uint64) Recording {
	r := rand.New(rand.NewPCG(seed, 0x4ec0))
	rec := Recording{
		Rate: 48000, Channels: 1,
		StrikeLevel: span{-18, -9}.draw(r),
		Reflections: 4 + r.IntN(8), EarlyLevel: span{-22, -9}.draw(r), EarlySpan: span{0.006, 0.025}.draw(r),
		RT60: span{0.12, 0.45}.draw(r), TailLevel: span{-40, -26}.draw(r),
		LowCut: span{30, 150}.log(r), HighCut: span{14000, 21000}.draw(r), Tilt: span{-5, 5}.draw(r),
		Resonance: span{1500, 9000}.log(r), ResonanceLevel: span{-4, 7}.draw(r),
		Hiss: span{-86, -72}.draw(r), RoomNoise: span{-74, -60}.draw(r), Hum: span{-90, -66}.draw(r),
		HumFreq: 50,
	}
	if r.IntN(2) == 0 {
		rec.Rate = 44100
	}
	return rec
}

// channels is at least 1.
func (rec Recording) channels() int { return min(max(rec.Channels, 1), 2) }

// on tells whether a level in dB asks for anything.
func on(db float64) bool { return db != 0 && db > Silent }
