package report

import (
	"errors"
	"io"
	"math"
)

// ReadWaveform reads the stretch from one time to another, in seconds, of a
// sound that is read from its start. It gives what there is of it: less where
// the sound ends before. The error is that of src.
func ReadWaveform(src SoundSource, from, to float64) (Waveform, error) {
	rate := src.SampleRate()
	first := int64(math.Max(0, math.Floor(from*rate)))
	last := int64(math.Ceil(to * rate))
	out := Waveform{Start: float64(first) / rate, SampleRate: rate}
	block := make([]float64, 1<<15)
	for at := int64(0); at < last; {
		n, err := src.Read(block)
		if a := max(first-at, 0); a < int64(n) {
			out.Samples = append(out.Samples, block[a:min(int64(n), last-at)]...)
		}
		at += int64(n)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return Waveform{}, err
		}
	}
	return out, nil
}
