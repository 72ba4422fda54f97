package audio

// Format says what a recording is.
type Format struct {
	// SampleRate is in Hz.
	SampleRate int
	Channels   int
	// Bits per sample as stored, 0 when that is not known (what comes through
	// ffmpeg); Float is true for floating point.
	Bits  int
	Float bool
	// Name describes it for people, for instance "WAV, 24-bit PCM" or "m4a,
	// through ffmpeg".
	Name string
}
