package audio

import (
	"context"
	"fmt"
)

// Mono is the one signal of a recording that is measured.
type Mono struct {
	s   *Stream
	mix Mix
	buf []float64
}

// OpenMono opens a recording and takes from it what mix says (Quality.Mix has
// it). It must be closed.
func OpenMono(ctx context.Context, path string, mix Mix) (*Mono, error) {
	s, err := Open(ctx, path)
	if err != nil {
		return nil, err
	}
	if ch := s.Format().Channels; mix.Channel < Sum || mix.Channel >= ch {
		s.Close()
		return nil, fmt.Errorf("cannot take channel %d of %q: it has %d", mix.Channel+1, path, ch)
	}
	return &Mono{s: s, mix: mix}, nil
}

// SampleRate is in Hz.
func (m *Mono) SampleRate() float64 { return float64(m.s.Format().SampleRate) }

// Announced is as for Stream.
func (m *Mono) Announced() int64 { return m.s.Announced() }

// Problems are as for Stream.
func (m *Mono) Problems() []Problem { return m.s.Problems() }

// monoBlock is how many frames are taken from a recording of several channels
// at once.
const monoBlock = 4096

// Read fills dst with samples, full scale being 1; n is less than len(dst) only
// at the end. At the end it returns 0 and io.EOF.
func (m *Mono) Read(dst []float64) (n int, err error) {
	ch := m.s.Format().Channels
	if ch == 1 || len(dst) == 0 {
		return m.s.Read(dst)
	}
	if m.buf == nil {
		m.buf = make([]float64, monoBlock*ch)
	}
	for n < len(dst) {
		k, err := m.s.Read(m.buf[:min(monoBlock, len(dst)-n)*ch])
		if err != nil {
			if n > 0 {
				return n, nil // the error is still there at the next call
			}
			return 0, err
		}
		mixDown(dst[n:n+k], m.buf[:k*ch], ch, m.mix.Channel)
		n += k
	}
	return n, nil
}

// Close lets go of the file.
func (m *Mono) Close() error { return m.s.Close() }

// mixDown takes one channel of interleaved samples, or the mean of all.
func mixDown(dst, src []float64, channels, channel int) {
	switch {
	case channels == 1:
		copy(dst, src)
	case channel == Sum && channels == 2:
		src = src[:2*len(dst)]
		for i := range dst {
			dst[i] = 0.5 * (src[2*i] + src[2*i+1])
		}
	case channel == Sum:
		g := 1 / float64(channels)
		for i := range dst {
			var t float64
			for _, v := range src[i*channels : (i+1)*channels] {
				t += v
			}
			dst[i] = t * g
		}
	default:
		for i := range dst {
			dst[i] = src[i*channels+channel]
		}
	}
}
