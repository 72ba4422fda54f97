package onset

import (
	"math"
	"slices"
)

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

// section is a second-order recursive filter without its numerator: all numerators
// here are a gain times 1, n1, n2 with n1 and n2 small whole numbers, so the
// filters of a bank share theirs (direct form I; see bank.run).
type section struct {
	gain, a1, a2 float64
	o1, o2       float64 // the last two outputs, before the gain
}

// The three designs follow the bilinear transform of the analogue prototypes
// as given in R. Bristow-Johnson's filter cookbook (public text, 1998, now a
// W3C note). q is the quality factor, f the corner in Hz, lo and hi the edges of
// the pass band in Hz, rate the sample rate in Hz.

// lowPass has the numerator 1, 2, 1.
func lowPass(f, q, rate float64) section {
	cos, alpha := warp(f, q, rate)
	return normal((1-cos)/2, cos, alpha)
}

// highPass has the numerator 1, -2, 1.
func highPass(f, q, rate float64) section {
	cos, alpha := warp(f, q, rate)
	return normal((1+cos)/2, cos, alpha)
}

// bandPass has the numerator 1, 0, -1.
func bandPass(lo, hi, rate float64) section {
	f := math.Sqrt(lo * hi)
	cos, alpha := warp(f, f/(hi-lo), rate)
	return normal(alpha, cos, alpha)
}

func warp(f, q, rate float64) (cos, alpha float64) {
	w := 2 * math.Pi * f / rate
	return math.Cos(w), math.Sin(w) / (2 * q)
}

func normal(gain, cos, alpha float64) section {
	a0 := 1 + alpha
	return section{gain: gain / a0, a1: -2 * cos / a0, a2: (1 - alpha) / a0}
}

// bank splits a signal into bands and sums their energy in hops of
// hopSeconds.
type bank struct {
	rate  float64
	hop   int // samples
	bands int
	// sigma is each band's spread of the rise in dB in steady noise.
	sigma [maxBands]float64
	// much is each band's ratio of energies, after over before, at half of
	// riseThreshold (a little less, for rounding): where none of the four bands
	// reaches it, the root of their summed squares is under riseThreshold.
	much [maxBands]float64

	rumble section // a high pass that takes away what lies below the lowest band
	v1, v2 float64 // its last two inputs, times its gain
	// low and high are a low and a high pass, mid the band passes between them; the
	// second one is idle where there are three bands.
	low, high section
	mid       [2]section
	u1, u2    float64 // their last two inputs before the open hop

	fill int // samples in the open hop
}

// newBank makes the bank for a rate of 8,000 Hz or more.
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
			b.low = lowPass(hi, math.Sqrt2/2, rate)
		case i < b.bands-1:
			b.mid[i-1] = bandPass(e[0], hi, rate)
		default:
			b.high = highPass(e[0], math.Sqrt2/2, rate)
		}
		// A band of width W over a time T holds about 2WT independent squares;
		// the level of their mean spreads by 4.34 sqrt(2/(2WT)) dB.
		after := 2 * (hi - e[0]) * riseAfter * hopSeconds
		before := 2 * (hi - e[0]) * riseBefore * hopSeconds
		b.sigma[i] = 10 / math.Ln10 * math.Sqrt(2/max(after, 1)+2/max(before, 1))
	}
	for i, s := range b.sigma {
		b.much[i] = max(leastRise, 0.999*math.Pow(10, riseThreshold/math.Sqrt(maxBands)*s/10))
	}
	return b
}

// run filters x, appends the rumble-free signal to y and each finished hop's
// mean energy to env, and returns both. The end of y holds the samples of the open
// hop from the run before.
func (b *bank) run(x, y []float64, env [][maxBands]float64) ([]float64, [][maxBands]float64) {
	// Two filters at a time stay in the processor's registers.
	from := len(y) - b.fill
	y = b.clear(x, y)
	open := y[from:]
	hops := len(open) / b.hop
	b.fill = len(open) - hops*b.hop
	open = open[:hops*b.hop]
	at := len(env)
	env = slices.Grow(env, hops)[:at+hops]
	b.lower(open, env[at:])
	b.upper(open, env[at:])
	if n := len(open); n >= 2 {
		b.u1, b.u2 = open[n-1], open[n-2]
	}
	return y, env
}

// clear appends x without its rumble to y.
func (b *bank) clear(x, y []float64) []float64 {
	from := len(y)
	y = slices.Grow(y, len(x))[:from+len(x)]
	out := y[from:][:len(x)]
	f, v1, v2 := b.rumble, b.v1, b.v2
	u1, u2 := f.o1, f.o2
	for i, v := range x {
		v *= f.gain
		u := v - (v1 + v1) + v2 - f.a2*u2 - f.a1*u1
		v1, v2 = v, v1
		u1, u2 = u, u1
		out[i] = u
	}
	b.rumble.o1, b.rumble.o2, b.v1, b.v2 = u1, u2, v1, v2
	return y
}

// lower fills in the lowest two bands of whole hops of y.
func (b *bank) lower(y []float64, env [][maxBands]float64) {
	p, q, u1, u2, hop := b.low, b.mid[0], b.u1, b.u2, b.hop
	scaleP, scaleQ := p.gain*p.gain/float64(hop), q.gain*q.gain/float64(hop)
	p1, p2, q1, q2 := p.o1, p.o2, q.o1, q.o2
	for k := range env {
		var sumP, sumQ float64
		for _, u := range y[k*hop : (k+1)*hop] {
			op := u + (u1 + u1) + u2 - p.a2*p2 - p.a1*p1
			oq := u - u2 - q.a2*q2 - q.a1*q1
			u1, u2 = u, u1
			p1, p2 = op, p1
			q1, q2 = oq, q1
			sumP += op * op
			sumQ += oq * oq
		}
		env[k][0], env[k][1] = sumP*scaleP, sumQ*scaleQ
	}
	b.low.o1, b.low.o2, b.mid[0].o1, b.mid[0].o2 = p1, p2, q1, q2
}

// upper fills in the others.
func (b *bank) upper(y []float64, env [][maxBands]float64) {
	p, q, u1, u2, hop := b.mid[1], b.high, b.u1, b.u2, b.hop
	scaleP, scaleQ := p.gain*p.gain/float64(hop), q.gain*q.gain/float64(hop)
	p1, p2, q1, q2 := p.o1, p.o2, q.o1, q.o2
	for k := range env {
		var sumP, sumQ float64
		for _, u := range y[k*hop : (k+1)*hop] {
			op := u - u2 - p.a2*p2 - p.a1*p1
			oq := u - (u1 + u1) + u2 - q.a2*q2 - q.a1*q1
			u1, u2 = u, u1
			p1, p2 = op, p1
			q1, q2 = oq, q1
			sumP += op * op
			sumQ += oq * oq
		}
		env[k][2], env[k][3] = sumP*scaleP, 0
		env[k][max(0, b.bands-1)] = sumQ * scaleQ // none of a rate that no take has
	}
	b.mid[1].o1, b.mid[1].o2, b.high.o1, b.high.o2 = p1, p2, q1, q2
}
