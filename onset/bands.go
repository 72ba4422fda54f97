package onset

import "math"

// maxBands is how many frequency bands a take is split into; fewer at low
// sample rates.
const maxBands = 4

// bandEdges are the lower and upper edges of the bands in Hz: the lowest two and
// a half octaves wide, the others one to one and a half; narrow enough to tell a
// click from a thump, wide enough that a millisecond of noise in a band is a
// steady figure. The highest band that a sample rate has room for holds all above
// its lower edge.
var bandEdges = [maxBands][2]float64{{150, 900}, {900, 2800}, {2800, 7000}, {7000, 16000}}

// hopSeconds is the step of the envelopes in s, before it is rounded to samples.
const hopSeconds = 0.25e-3

// biquad is a second-order recursive filter in transposed direct form II.
type biquad struct {
	b0, b1, b2, a1, a2 float64
	z1, z2             float64
}

// The three designs follow the bilinear transform of the analogue prototypes
// as given in R. Bristow-Johnson's filter cookbook (public text, 1998, now a
// W3C note). q is the quality factor, f the corner in Hz, lo and hi the edges of
// the pass band in Hz, rate the sample rate in Hz.

func lowPass(f, q, rate float64) biquad {
	cos, alpha := warp(f, q, rate)
	return normal((1-cos)/2, 1-cos, (1-cos)/2, cos, alpha)
}

func highPass(f, q, rate float64) biquad {
	cos, alpha := warp(f, q, rate)
	return normal((1+cos)/2, -(1 + cos), (1+cos)/2, cos, alpha)
}

func bandPass(lo, hi, rate float64) biquad {
	f := math.Sqrt(lo * hi)
	cos, alpha := warp(f, f/(hi-lo), rate)
	return normal(alpha, 0, -alpha, cos, alpha)
}

func warp(f, q, rate float64) (cos, alpha float64) {
	w := 2 * math.Pi * f / rate
	return math.Cos(w), math.Sin(w) / (2 * q)
}

func normal(b0, b1, b2, cos, alpha float64) biquad {
	a0 := 1 + alpha
	return biquad{b0: b0 / a0, b1: b1 / a0, b2: b2 / a0, a1: -2 * cos / a0, a2: (1 - alpha) / a0}
}

// bank splits a signal into bands and sums their energy in hops of
// hopSeconds.
type bank struct {
	rate  float64
	hop   int // samples
	bands int
	// sigma is each band's spread of the rise in dB in steady noise.
	sigma [maxBands]float64

	rumble biquad // takes away what lies below the lowest band
	filter [maxBands]biquad

	fill int // samples in the open hop
	acc  [maxBands]float64
}

func newBank(rate float64) *bank {
	b := &bank{rate: rate, hop: max(2, int(math.Round(rate*hopSeconds)))}
	b.rumble = highPass(bandEdges[0][0], math.Sqrt2/2, rate)
	for i, e := range bandEdges {
		if e[0] <= 0.4*rate {
			b.bands = i + 1
		}
	}
	for i, e := range bandEdges[:b.bands] {
		hi := min(e[1], 0.45*rate)
		switch {
		case i == 0:
			b.filter[i] = lowPass(hi, math.Sqrt2/2, rate)
		case i < b.bands-1:
			b.filter[i] = bandPass(e[0], hi, rate)
		default:
			b.filter[i] = highPass(e[0], math.Sqrt2/2, rate)
		}
		// A band of width W over a time T holds about 2WT independent squares;
		// the level of their mean spreads by 4.34 sqrt(2/(2WT)) dB.
		after := 2 * (hi - e[0]) * riseAfter * hopSeconds
		before := 2 * (hi - e[0]) * riseBefore * hopSeconds
		b.sigma[i] = 10 / math.Ln10 * math.Sqrt(2/max(after, 1)+2/max(before, 1))
	}
	return b
}

// run filters x, appends the rumble-free signal to y and each finished hop's
// mean energy to env, and returns both.
func (b *bank) run(x, y []float64, env [][maxBands]float64) ([]float64, [][maxBands]float64) {
	r, f := b.rumble, b.filter
	acc, fill := b.acc, b.fill
	scale := 1 / float64(b.hop)
	for _, v := range x {
		u := r.b0*v + r.z1
		r.z1 = r.b1*v - r.a1*u + r.z2
		r.z2 = r.b2*v - r.a2*u
		y = append(y, u)

		o0 := f[0].b0*u + f[0].z1
		f[0].z1 = f[0].b1*u - f[0].a1*o0 + f[0].z2
		f[0].z2 = f[0].b2*u - f[0].a2*o0
		acc[0] += o0 * o0

		o1 := f[1].b0*u + f[1].z1
		f[1].z1 = f[1].b1*u - f[1].a1*o1 + f[1].z2
		f[1].z2 = f[1].b2*u - f[1].a2*o1
		acc[1] += o1 * o1

		o2 := f[2].b0*u + f[2].z1
		f[2].z1 = f[2].b1*u - f[2].a1*o2 + f[2].z2
		f[2].z2 = f[2].b2*u - f[2].a2*o2
		acc[2] += o2 * o2

		o3 := f[3].b0*u + f[3].z1
		f[3].z1 = f[3].b1*u - f[3].a1*o3 + f[3].z2
		f[3].z2 = f[3].b2*u - f[3].a2*o3
		acc[3] += o3 * o3

		if fill++; fill == b.hop {
			env = append(env, [maxBands]float64{acc[0] * scale, acc[1] * scale, acc[2] * scale, acc[3] * scale})
			acc, fill = [maxBands]float64{}, 0
		}
	}
	b.rumble, b.filter, b.acc, b.fill = r, f, acc, fill
	return y, env
}
