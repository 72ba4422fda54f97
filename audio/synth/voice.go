package synth

import (
	"math"
	"math/rand/v2"
)

// mode is one damped sinusoid: amplitude * exp(-t/tau) * sin(2 pi f t).
type mode struct{ freq, tau, amp float64 }

// burst is noise through one resonance with its own rise and fall.
type burst struct{ freq, q, attack, tau, amp float64 }

// impact repeats the whole voice after a delay: parts that meet one after the
// other within one audible click.
type impact struct{ delay, amp float64 }

// voice makes one kind of sound. Each rendering differs a little, as two
// strokes of one key do.
type voice struct {
	modes   []mode
	bursts  []burst
	impacts []impact
	attack  float64 // s, rise of the modes
	wander  float64 // dB, how much the parts change from one time to the next
	chatter float64 // 1/s, clicks of a ratchet; only where a sound lasts
}

// drawVoice draws from one of three families (ringing, noisy, many small
// impacts) or a mixture of them.
func drawVoice(r *rand.Rand, k Kind, freq, decay span) voice {
	v := voice{attack: span{0.00002, 0.0003}.log(r), wander: span{0.5, 3}.draw(r)}
	if k == Bell {
		return drawBell(r, freq, decay)
	}
	slow := decay.log(r)
	tonal, noisy := r.Float64(), r.Float64()
	switch family := r.IntN(4); family {
	case 0: // ringing
		tonal, noisy = 1, 0.15*noisy
	case 1: // noisy
		tonal, noisy = 0.2*tonal, 1
	}
	for i, n := 0, 3+r.IntN(7); i < n; i++ {
		f := freq.log(r)
		// Higher modes die sooner.
		tau := slow * math.Pow(freq.low/f, span{0.2, 0.7}.draw(r)) * span{0.5, 1}.draw(r)
		v.modes = append(v.modes, mode{f, max(tau, 0.0002), tonal * span{-14, 0}.amp(r)})
	}
	for i, n := 0, 1+r.IntN(3); i < n; i++ {
		v.bursts = append(v.bursts, burst{
			freq: freq.log(r), q: span{0.4, 4}.log(r),
			attack: span{0.00003, 0.0006}.log(r),
			tau:    max(slow*span{0.2, 0.9}.draw(r), 0.0002),
			amp:    noisy * span{-9, 0}.amp(r),
		})
	}
	v.impacts = []impact{{0, 1}}
	if r.IntN(3) == 0 { // many small impacts
		at := 0.0
		for i, n := 0, 1+r.IntN(4); i < n; i++ {
			at += span{0.0003, 0.0025}.log(r)
			v.impacts = append(v.impacts, impact{at, span{-15, -3}.amp(r)})
		}
	}
	switch k {
	case Return:
		v.chatter = span{50, 180}.log(r)
	case Tabulator: // from a rack that ticks past the dog to a brake that whirrs
		v.chatter = span{40, 500}.log(r)
	}
	return v
}

// drawBell draws partials near those of a small gong: inharmonic, long, clear.
func drawBell(r *rand.Rand, freq, decay span) voice {
	base, slow := freq.log(r), decay.log(r)
	v := voice{attack: 0.0002, wander: 1, impacts: []impact{{0, 1}}}
	for i, ratio := range []float64{1, 1.5, 2.3, 2.76, 3.9} {
		f := base * ratio * (1 + 0.02*r.NormFloat64())
		if f > 16000 {
			break
		}
		v.modes = append(v.modes, mode{f, slow / (1 + 0.6*float64(i)), span{-12, 0}.amp(r) / float64(i+1)})
	}
	v.bursts = []burst{{freq: 5000, q: 0.6, attack: 0.0001, tau: 0.002, amp: 0.3}}
	return v
}

// amp draws a level in dB and gives it as a factor.
func (s span) amp(r *rand.Rand) float64 { return factor(s.draw(r)) }

// factor turns dB into a factor of amplitude.
func factor(db float64) float64 { return math.Pow(10, db/20) }

// length in seconds after which the voice is 80 dB down.
func (v voice) length() float64 {
	tau := 0.0
	for _, m := range v.modes {
		tau = max(tau, m.tau)
	}
	for _, b := range v.bursts {
		tau = max(tau, b.tau+b.attack)
	}
	last := 0.0
	for _, i := range v.impacts {
		last = max(last, i.delay)
	}
	return last + 9.3*tau
}

// render gives one rendering with that peak. The sound starts at -offset samples
// (0 <= offset < 1): sample n is the waveform at (n+offset)/rate, at most limit
// samples of it. variant shifts the modes by up to 6 per cent.
func (v voice) render(r *rand.Rand, rate, offset float64, variant int, peak float64, limit int) []float64 {
	out := make([]float64, min(max(limit, 0), int(v.length()*rate)+2))
	shade := 1.0
	if variant != 0 {
		// A fixed shade for each variant; splitmix-like scrambling.
		h := uint64(variant) * 0x9e3779b97f4a7c15
		shade = 1 + 0.06*(float64(h>>40)/float64(1<<23)-1)
	}
	jitter := func() float64 { return factor(v.wander * r.NormFloat64()) }
	for _, hit := range v.impacts {
		at := hit.delay
		if at > 0 {
			at *= 1 + 0.1*r.NormFloat64()
		}
		for _, m := range v.modes {
			f := m.freq * shade * (1 + 0.004*r.NormFloat64())
			addMode(out, rate, offset, at, mode{f, m.tau, m.amp * hit.amp * jitter()}, v.attack)
		}
		for _, b := range v.bursts {
			b.freq *= shade
			b.amp *= hit.amp * jitter()
			addBurst(out, r, rate, offset, at, b)
		}
	}
	scaleTo(out, peak)
	return out
}

// addMode adds a damped sinusoid that starts at time at.
func addMode(out []float64, rate, offset, at float64, m mode, attack float64) {
	if m.freq >= 0.47*rate || at < 0 {
		return
	}
	first := int(math.Ceil(at*rate - offset))
	first = max(first, 0)
	t := (float64(first)+offset)/rate - at
	// A rotating phasor instead of a sine and an exponential for each sample.
	w, decay := 2*math.Pi*m.freq/rate, math.Exp(-1/(m.tau*rate))
	sw, cw := math.Sincos(w)
	s, c := math.Sincos(2 * math.Pi * m.freq * t)
	a := m.amp * math.Exp(-t/m.tau)
	s, c = s*a, c*a
	floor := 1e-4 * math.Abs(m.amp)
	e := a
	for i := first; i < len(out); i++ {
		x := s
		if t < attack {
			x *= t / attack
		}
		out[i] += x
		s, c = (s*cw+c*sw)*decay, (c*cw-s*sw)*decay
		t += 1 / rate
		e *= decay
		if math.Abs(e) < floor {
			return
		}
	}
}

// addBurst adds noise through a two-pole resonance, from time at on.
func addBurst(out []float64, r *rand.Rand, rate, offset, at float64, b burst) {
	if at < 0 || b.amp == 0 {
		return
	}
	first := max(int(math.Ceil(at*rate-offset)), 0)
	f := min(b.freq, 0.4*rate)
	q := bandPass(f, b.q, rate)
	// Noise through a band of width f/Q loses power; bring it back.
	gain := b.amp * math.Sqrt(rate*b.q/(math.Pi*f)) * 0.35
	t := (float64(first)+offset)/rate - at
	fall, decay := math.Exp(-t/b.tau), math.Exp(-1/(b.tau*rate))
	for i := first; i < len(out) && fall > 1e-4; i++ {
		e := fall
		if t < b.attack {
			e *= t / b.attack
		}
		out[i] += gain * e * q.next(2*r.Float64()-1)
		fall *= decay
		t += 1 / rate
	}
}

// scaleTo brings the largest absolute sample to peak.
func scaleTo(x []float64, peak float64) {
	top := 0.0
	for _, v := range x {
		top = max(top, math.Abs(v))
	}
	if top == 0 {
		return
	}
	for i := range x {
		x[i] *= peak / top
	}
}
