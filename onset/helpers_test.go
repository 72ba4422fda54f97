package onset

import (
	"context"
	"io"
	"math"
	"math/rand/v2"
	"testing"
)

// playback is samples in memory as a Source that gives at most block samples a
// read (any number when 0).
type playback struct {
	rate  float64
	x     []float64
	block int
}

func (p *playback) SampleRate() float64 { return p.rate }

func (p *playback) Read(dst []float64) (int, error) {
	if len(p.x) == 0 {
		return 0, io.EOF
	}
	if p.block > 0 && len(dst) > p.block {
		dst = dst[:p.block]
	}
	n := copy(dst, p.x)
	p.x = p.x[n:]
	return n, nil
}

// scanned is scanTake on samples in memory.
func scanned(t testing.TB, rate float64, x []float64) *scan {
	t.Helper()
	s, err := scanTake(context.Background(), &playback{rate: rate, x: x}, 1e-10, nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// white is seconds of white noise with the given standard deviation.
func white(rate, seconds, sigma float64, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, int(seconds*rate))
	for i := range x {
		x[i] = sigma * r.NormFloat64()
	}
	return x
}

// click adds a damped sine that begins at t0 seconds, between samples if need
// be: amplitude amp, freq in Hz, falling to 1/e in tau seconds.
func click(x []float64, rate, t0, amp, freq, tau float64) {
	for i := max(0, int(math.Ceil(t0*rate))); i < len(x); i++ {
		t := float64(i)/rate - t0
		if t > 12*tau {
			return
		}
		x[i] += amp * math.Exp(-t/tau) * math.Sin(2*math.Pi*freq*t)
	}
}

// burst adds noise that begins at t0 seconds and falls to 1/e in tau.
func burst(x []float64, rate, t0, amp, tau float64, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 2))
	for i := max(0, int(math.Ceil(t0*rate))); i < len(x); i++ {
		t := float64(i)/rate - t0
		if t > 12*tau {
			return
		}
		x[i] += amp * math.Exp(-t/tau) * r.NormFloat64()
	}
}
