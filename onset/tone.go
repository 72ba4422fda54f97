package onset

import (
	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"
)

// tone is the clearest tone in a short stretch of the take.
type tone struct {
	time  float64 // s, middle of the stretch
	freq  float64 // Hz; 0 where the stretch is too quiet to look
	level float64 // dB, 6 under the tone's peak amplitude
	over  float64 // dB over the median of the spectrum about it
}

// toneStep is how often the take is asked for a tone, in seconds. A bell rings
// for half a second and more, a strike's ringing for a tenth of one.
const toneStep = 0.05

// toneSeeker asks a stream for tones with one short spectrum every toneStep.
type toneSeeker struct {
	rate   float64
	halves int // how often a stretch's rate is halved
	fft    *fourier.FFT
	win    []float64
	buf    []float64
	spec   []complex128
	pow    []float64 // of the bins looked at
	near   []float64
	fill   int     // samples in buf
	skip   int     // samples to pass over before the next stretch
	step   int     // samples from stretch to stretch
	seen   int64   // samples of the take so far
	quiet  float64 // energy of a quiet stretch
}

// lowestRate is the lowest rate in Hz to which a stretch is brought before its
// spectrum is taken: no tone is looked for above 9 kHz.
const lowestRate = 20000

// newToneSeeker looks at stretches of at least 10 ms, a power of two of samples.
func newToneSeeker(rate float64) *toneSeeker {
	n := 256
	for float64(n)/rate < 0.010 {
		n *= 2
	}
	t := &toneSeeker{rate: rate, buf: make([]float64, n), step: int(toneStep * rate)}
	for r := rate / 2; r >= lowestRate; r /= 2 {
		t.halves++
		n /= 2
	}
	t.win = make([]float64, n)
	for i := range t.win {
		t.win[i] = 1
	}
	window.Hann(t.win)
	t.fft, t.spec = fourier.NewFFT(n), make([]complex128, n/2+1)
	return t
}

// halve brings x to half its sample rate, in place, and returns it. The filter is
// the half-band one of eleven taps that is flattest at both ends (the midpoint
// interpolation of Deslauriers and Dubuc, 1989, and the sample itself): 1.7 dB are
// lost at 3/16 of the rate, and what would come to lie there from above is 15 dB
// down. The ends, which the window takes to nothing, are not filtered.
func halve(x []float64) []float64 {
	const ends = 5 // samples of the result; those before are still needed otherwise
	n := len(x) / 2
	for i := range n {
		if i < ends || i >= n-ends {
			x[i] = x[2*i]
			continue
		}
		y := x[2*i-5 : 2*i+6 : 2*i+6]
		x[i] = (256*y[5] + 150*(y[4]+y[6]) - 25*(y[2]+y[8]) + 3*(y[0]+y[10])) / 512
	}
	return x[:n]
}

// feed takes the next samples and appends the tones of the stretches that they
// complete to out.
func (t *toneSeeker) feed(x []float64, out []tone) []tone {
	for len(x) > 0 {
		if t.skip > 0 {
			n := min(t.skip, len(x))
			t.skip -= n
			t.seen += int64(n)
			x = x[n:]
			continue
		}
		n := copy(t.buf[t.fill:], x)
		t.fill += n
		t.seen += int64(n)
		x = x[n:]
		if t.fill == len(t.buf) {
			out = append(out, t.read())
			t.fill = 0
			t.skip = max(0, t.step-len(t.buf))
		}
	}
	return out
}

// read is the clearest tone between 700 and 9000 Hz of the stretch in buf, which
// it spoils.
func (t *toneSeeker) read() tone {
	out := tone{time: (float64(t.seen) - float64(len(t.buf))/2) / t.rate}
	// In the quiet no bell rings: the quiet is the least energy of late, let rise
	// slowly so that it follows the room.
	energy := 1e-18
	for _, v := range t.buf {
		energy += v * v
	}
	if t.quiet == 0 {
		t.quiet = energy
	}
	t.quiet = min(energy, 1.02*t.quiet)
	if energy < 1.3*t.quiet {
		out.level = -180
		return out
	}
	x := t.buf
	for range t.halves {
		x = halve(x)
	}
	for i, w := range t.win {
		x[i] *= w
	}
	t.spec = t.fft.Coefficients(t.spec, x)
	bin := t.rate / float64(len(t.buf))
	lo, hi := int(700/bin)+1, min(len(t.spec)-1, int(9000/bin))
	t.pow = t.pow[:0]
	at, top := lo, 0.0
	for k := lo; k <= hi; k++ {
		e := real(t.spec[k])*real(t.spec[k]) + imag(t.spec[k])*imag(t.spec[k]) + 1e-18
		t.pow = append(t.pow, e)
		if e > top {
			top, at = e, k
		}
	}
	if len(t.pow) == 0 {
		return out
	}
	t.near = append(t.near[:0], t.pow[max(0, at-lo-24):min(len(t.pow), at-lo+25)]...)
	median := Nth(t.near, len(t.near)/2)
	out.freq = float64(at) * bin
	// The spectrum is unnormalised and a Hann window's mean is 1/2: a tone of
	// amplitude A in the middle of a bin stands n A/4 high.
	n := float64(len(x))
	out.level = db(top / (n * n * 0.25))
	out.over = db(top / median)
	return out
}
