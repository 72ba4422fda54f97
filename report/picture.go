package report

import (
	"io"

	"loosedog/diagnose"
)

// Waveform is a stretch of a take's sound.
type Waveform struct {
	// Start is the time of the first sample in seconds from the start of the
	// file.
	Start float64
	// SampleRate is in Hz.
	SampleRate float64
	// Samples are scaled so that full scale is 1; empty when there is no sound
	// to show.
	Samples []float64
}

// PNG writes the timing picture.
func PNG(w io.Writer, t *diagnose.Take, clip Waveform) error { return nil }

// PictureSpan tells which stretch of sound PNG wants.
func PictureSpan(t *diagnose.Take) (start, end float64, ok bool) { return 0, 0, false }
