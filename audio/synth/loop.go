package synth

import "io"

// Loop reads a mono take Times times over, for long benchmarks without long
// memory.
type Loop struct {
	Samples []float64
	Rate    float64
	Times   int

	at, done int
}

// SampleRate in Hz.
func (l *Loop) SampleRate() float64 { return l.Rate }

// Read fills dst with the next samples; io.EOF at the end.
func (l *Loop) Read(dst []float64) (int, error) {
	n := 0
	for n < len(dst) && l.done < l.Times && len(l.Samples) > 0 {
		k := copy(dst[n:], l.Samples[l.at:])
		n += k
		l.at += k
		if l.at == len(l.Samples) {
			l.at = 0
			l.done++
		}
	}
	if n == 0 && len(dst) > 0 {
		return 0, io.EOF
	}
	return n, nil
}
