package report

import (
	"io"

	"loosedog/diagnose"
)

// TextOptions say how much [Text] prints.
type TextOptions struct {
	// Pairs is how many flagged pairs are listed at most; 12 when 0.
	Pairs int
}

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

func Text(w io.Writer, t *diagnose.Take, opt TextOptions) error  { return nil }
func JSON(w io.Writer, t *diagnose.Take) error                   { return nil }
func CSV(w io.Writer, t *diagnose.Take) error                    { return nil }
func Labels(w io.Writer, t *diagnose.Take) error                 { return nil }
func PNG(w io.Writer, t *diagnose.Take, clip Waveform) error     { return nil }
func PictureSpan(t *diagnose.Take) (start, end float64, ok bool) { return 0, 0, false }
