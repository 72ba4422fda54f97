package synth

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	codecBlock = 2048 // samples, as AAC's long block (QuickTime File Format, App. G)
	codecHop   = codecBlock / 2
)

// codec imitates what a lossy transform codec does to clicks: it cuts the top of
// the band and adds quantisation noise to each band of each block of a modified
// discrete cosine transform with sine windows, so the noise spreads over the
// whole block, ahead of a click too (pre-echo).
type codec struct {
	fft    *fourier.CmplxFFT
	r      *rand.Rand
	noise  float64 // factor against each band's own level
	cut    int     // first bin that is dropped
	window []float64
	// Turns before and after the transforms, there and back.
	before, after, backBefore, backAfter []complex128
	pending                              []float64 // input not yet in a full block, after the last hop
	last                                 []float64 // second half of the block before
	overlap                              []float64 // second half of its output
	buf                                  []complex128
	spec                                 []complex128
	bins                                 []float64
	out                                  []float64
}

func newCodec(rec Recording, r *rand.Rand) *codec {
	c := &codec{
		fft: fourier.NewCmplxFFT(codecBlock), r: r, cut: codecHop,
		window: make([]float64, codecBlock),
		last:   make([]float64, codecHop), overlap: make([]float64, codecHop),
		buf: make([]complex128, codecBlock), spec: make([]complex128, codecBlock),
		bins: make([]float64, codecHop),
	}
	if on(rec.CodecNoise) {
		c.noise = factor(rec.CodecNoise)
	}
	if rec.CodecBand > 0 {
		c.cut = min(codecHop, int(rec.CodecBand/rec.Rate*codecBlock))
	}
	const n = codecBlock
	const n0 = n/4 + 0.5
	for i := range c.window {
		t := float64(i)
		c.window[i] = math.Sin(math.Pi * (t + 0.5) / n)
		c.before = append(c.before, cmplx.Rect(1, -math.Pi*t/n))
		c.after = append(c.after, cmplx.Rect(1, -2*math.Pi*n0*(t+0.5)/n))
		c.backBefore = append(c.backBefore, cmplx.Rect(1, 2*math.Pi*n0*t/n))
		c.backAfter = append(c.backAfter, cmplx.Rect(1, math.Pi*(t+n0)/n))
	}
	return c
}

// process codes and decodes; what comes out is codecHop samples late.
func (c *codec) process(x []float64) []float64 {
	c.pending = append(c.pending, x...)
	c.out = c.out[:0]
	for len(c.pending) >= codecHop {
		c.block(c.pending[:codecHop])
		c.pending = c.pending[:copy(c.pending, c.pending[codecHop:])]
	}
	return c.out
}

// block takes one hop of input and appends one hop of output.
//
// The transform, N = codecBlock, n0 = N/4 + 1/2:
//
//	X[k] = sum x[n] w[n] cos(2 pi/N (n + n0)(k + 1/2))
func (c *codec) block(hop []float64) {
	const n = codecBlock
	for i := range n {
		x := 0.0
		if i < codecHop {
			x = c.last[i]
		} else {
			x = hop[i-codecHop]
		}
		c.buf[i] = complex(x*c.window[i], 0) * c.before[i]
	}
	copy(c.last, hop)
	c.fft.Coefficients(c.spec, c.buf)
	for k := range c.bins {
		c.bins[k] = real(c.spec[k] * c.after[k])
	}
	c.quantise()
	for k := range c.buf {
		c.buf[k] = 0
		if k < codecHop {
			c.buf[k] = complex(c.bins[k], 0) * c.backBefore[k]
		}
	}
	c.fft.Sequence(c.spec, c.buf)
	for i := range n {
		y := real(c.spec[i]*c.backAfter[i]) * c.window[i] * 4 / n
		if i < codecHop {
			c.out = append(c.out, c.overlap[i]+y)
		} else {
			c.overlap[i-codecHop] = y
		}
	}
}

// quantise cuts the band and adds noise in proportion to each band's level;
// bands widen with frequency, as hearing's do.
func (c *codec) quantise() {
	for lo := 0; lo < codecHop; {
		hi := min(codecHop, lo+4+lo/6)
		power := 0.0
		for _, v := range c.bins[lo:hi] {
			power += v * v
		}
		sigma := c.noise * math.Sqrt(power/float64(hi-lo))
		for k := lo; k < hi; k++ {
			if k >= c.cut {
				c.bins[k] = 0
			} else {
				c.bins[k] += sigma * c.r.NormFloat64()
			}
		}
		lo = hi
	}
}
