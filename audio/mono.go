package audio

import (
	"context"
	"fmt"
)

// Mono is the one signal of a recording that is measured.
type Mono struct {
	s   *Stream
	mix Mix
	buf []float64 // interleaved
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

// Read fills dst with samples, full scale being 1; n is less than len(dst) only
// at the end. At the end it returns 0 and io.EOF.
func (m *Mono) Read(dst []float64) (n int, err error) {
	s := m.s
	ch, channel := s.format.Channels, m.mix.Channel
	if ch == 1 || len(dst) == 0 {
		return s.Read(dst)
	}
	return s.each(len(dst), func(from, n int, src []byte) {
		out := dst[from : from+n]
		if ch == 2 && decodePair(out, src, s.lay.enc, channel) {
			return
		}
		if len(m.buf) < n*ch {
			m.buf = make([]float64, n*ch)
		}
		s.bad += decode(m.buf[:n*ch], src, s.lay.enc)
		mixDown(out, m.buf[:n*ch], ch, channel)
	})
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
