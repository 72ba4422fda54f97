package onset

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"
)

// Source is a take as one channel.
type Source interface {
	// SampleRate is in Hz: 8,000 to 192,000, as package audio gives.
	SampleRate() float64
	// Read fills dst with samples (full scale 1) and returns how many; io.EOF at
	// the end. A sample that is no finite number counts as 0.
	Read(dst []float64) (int, error)
}

const (
	riseAfter  = 4  // hops of energy after a rise: 1 ms
	riseBefore = 10 // hops before it: 2.5 ms
	riseGap    = 1  // hops between the two
	peakReach  = 5  // a rise is the largest within this many hops either way
	decayFrom  = 16 // hops after the onset from which the decay is read, and
	decayTo    = 32 // to which: 4..8 ms
	swell      = 18 // hops in which a sound may grow to its level: 4.5 ms
	// contextHops are kept before and needed after a hop that is looked at.
	contextHops = 64
	// riseThreshold is in units of the spread of steady noise.
	riseThreshold = 3.5
	// leastRise is the ratio of energies over which a band's rise counts.
	leastRise = 1.5
)

// candidate is a sudden rise of sound: something struck something.
type candidate struct {
	time  float64 // s, refined to the sample
	score float64 // how sudden, in units of the spread of steady noise
	peak  float64 // largest amplitude of the rumble-free signal in the 3 ms after it, dB
	// level is each band's energy in the loudest of the first milliseconds less
	// what was there before, in dB; before is what was there.
	level, before [maxBands]float64
	loud          float64 // all bands together, dB
	decay         float64 // dB lost from the first 2 ms to 4..8 ms after; NaN where the next sound comes sooner
	sharp         float64 // dB by which the first half millisecond stands over the first 3 ms

	// The likeliest onset inside the last 4.5 ms before this one (s): it may be a
	// trip too close to its strike to be a candidate of its own. preRise is how far
	// it rises over the 2 ms before it in dB, whatever that is; NaN and 0 where
	// there is too little before this one to look at.
	preTime, preRise float64
}

// frame is a coarse picture of 10 ms of the take.
type frame struct {
	level [maxBands]float32 // dB
}

const frameHops = 40 // 10 ms

// scan is what one pass over a take leaves: everything later steps work on.
type scan struct {
	rate    float64
	bands   int
	samples int64
	found   []candidate
	frames  []frame
	tones   []tone
	floor   float64            // energy below which nothing is told from silence
	hopTime float64            // s, whole samples: about hopSeconds
	noise   *[maxBands]float64 // see noiseLevels
}

// end is when the take ends, in s.
func (s *scan) end() float64 { return float64(s.samples) / s.rate }

// db is an energy (full scale 1) in dB.
func db(energy float64) float64 { return 10 * math.Log10(energy) }

// scanTake reads src to its end. floor is the smallest energy (full scale 1)
// that counts; progress may be nil.
func scanTake(ctx context.Context, src Source, floor float64, progress func(int64)) (*scan, error) {
	b := newBank(src.SampleRate())
	s := &scan{rate: b.rate, bands: b.bands, floor: floor, hopTime: float64(b.hop) / b.rate}
	p := &picker{bank: b, scan: s}
	tones := newToneSeeker(b.rate)
	block := make([]float64, 16384)
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := src.Read(block)
		if n > 0 {
			s.samples += int64(n)
			// One sample that is no number would stay in the filters for good.
			silenceBroken(block[:n])
			p.feed(block[:n])
			s.tones = tones.feed(block[:n], s.tones)
			if progress != nil {
				progress(s.samples)
			}
		}
		if errors.Is(err, io.EOF) {
			p.finish()
			return s, nil
		}
		if err != nil {
			return nil, err
		}
	}
}

// silenceBroken sets samples that are no finite numbers to 0.
func silenceBroken(x []float64) {
	// A finite number less itself is 0, any other NaN. Four sums at a time keep the
	// processor busy.
	var a, b, c, d float64
	for i := 0; i+4 <= len(x); i += 4 {
		y := x[i : i+4 : i+4]
		a += y[0] - y[0]
		b += y[1] - y[1]
		c += y[2] - y[2]
		d += y[3] - y[3]
	}
	for _, v := range x[len(x)&^3:] {
		a += v - v
	}
	if a+b+c+d == 0 {
		return
	}
	for i, v := range x {
		if v-v != 0 {
			x[i] = 0
		}
	}
}

// picker finds candidates in a stream of samples.
type picker struct {
	bank *bank
	scan *scan

	y     []float64 // rumble-free samples, first one is number yBase
	yBase int64
	env   [][maxBands]float64 // hop energies, first one is number eBase
	eBase int64
	rise  []float64           // of the hops looked at, in step with env
	fours [][maxBands]float64 // see sumFours; in step with env
	next  int64               // hop to look at next

	// early and later are two readings of the latest candidate, until the next
	// one tells which is right.
	early, later *candidate

	frameAcc  [maxBands]float64
	frameFill int
}

// feed takes the next samples of the take.
func (p *picker) feed(x []float64) {
	from := len(p.env)
	p.y, p.env = p.bank.run(x, p.y, p.env)
	for _, e := range p.env[from:] {
		for i, v := range e {
			p.frameAcc[i] += v
		}
		if p.frameFill++; p.frameFill == frameHops {
			var f frame
			for i, v := range p.frameAcc {
				f.level[i] = float32(db(v/frameHops + p.scan.floor))
			}
			p.scan.frames = append(p.scan.frames, f)
			p.frameAcc, p.frameFill = [maxBands]float64{}, 0
		}
	}
	p.look()
}

// finish looks at what is left, as if silence followed.
func (p *picker) finish() {
	p.feed(make([]float64, (contextHops+peakReach+decayTo+2)*p.bank.hop))
	if p.later != nil {
		p.scan.found = append(p.scan.found, *p.later)
	}
}

// look works through all hops that have enough after them, then lets go of
// what lies far enough behind.
func (p *picker) look() {
	p.sumFours()
	last := p.eBase + int64(len(p.env)) - contextHops
	for ; p.next < last; p.next++ {
		k := int(p.next - p.eBase)
		p.rise = append(p.rise, p.riseAt(k))
		if c := k - decayTo - peakReach; c >= 0 && p.isPeak(c) {
			p.keep(c)
		}
	}
	const keep = contextHops + 2*peakReach + decayTo
	if drop := int(p.next-p.eBase) - keep; drop > 4096 {
		p.env = append(p.env[:0], p.env[drop:]...)
		p.rise = append(p.rise[:0], p.rise[drop:]...)
		p.fours = append(p.fours[:0], p.fours[drop:]...)
		p.eBase += int64(drop)
		s := drop * p.bank.hop
		p.y = append(p.y[:0], p.y[s:]...)
		p.yBase += int64(s)
	}
}

// riseAt is how far the energy of the millisecond from hop k on stands over
// that of the 2.5 ms before it: the root of the summed squares over the bands,
// each in units of its own spread in steady noise, falls counting as nothing.
// Where no band rises by much it is 0: what is under riseThreshold is not asked
// for.
func (p *picker) riseAt(k int) float64 {
	const first = riseBefore + riseGap
	if k < first {
		return 0
	}
	after := &p.fours[k]
	// The ten hops before the gap are two runs of four and a pair.
	x, y := &p.fours[k-first], &p.fours[k-first+4]
	u, v := &p.env[k-riseGap-2], &p.env[k-riseGap-1]
	var before [maxBands]float64
	much := false
	for i, ratio := range p.bank.much {
		before[i] = x[i] + y[i] + u[i] + v[i]
		if after[i]*(1.0/riseAfter)+p.scan.floor > ratio*(before[i]*(1.0/riseBefore)+p.scan.floor) {
			much = true
		}
	}
	if !much {
		return 0
	}
	sum := 0.0
	for i := range p.bank.bands {
		a, b := after[i]/riseAfter+p.scan.floor, before[i]/riseBefore+p.scan.floor
		if a <= leastRise*b {
			continue
		}
		z := db(a/b) / p.bank.sigma[i]
		sum += z * z
	}
	return math.Sqrt(sum)
}

// sumFours fills in p.fours, the energy of the four hops from each hop on, as far
// as there are hops.
func (p *picker) sumFours() {
	from := len(p.fours)
	n := max(0, len(p.env)-3-from)
	p.fours = slices.Grow(p.fours, n)[:from+n]
	for i := range p.fours[from:] {
		e := p.env[from+i : from+i+4 : from+i+4]
		a, b, c, d := &e[0], &e[1], &e[2], &e[3]
		p.fours[from+i] = [maxBands]float64{a[0] + b[0] + c[0] + d[0], a[1] + b[1] + c[1] + d[1], a[2] + b[2] + c[2] + d[2], a[3] + b[3] + c[3] + d[3]}
	}
}

// isPeak tells whether the rise at hop c is over the threshold and the largest
// about it.
func (p *picker) isPeak(c int) bool {
	r := p.rise[c]
	if !(r >= riseThreshold) {
		return false
	}
	for d := 1; d <= peakReach; d++ {
		if c >= d && p.rise[c-d] >= r || p.rise[c+d] > r {
			return false
		}
	}
	return true
}

// keep describes the candidate at hop c. Where the sound jumps a second time on
// its way to the peak, the candidate is that jump and what came before it is a
// sound close before; unless the jump has been found as a candidate of its own.
func (p *picker) keep(c int) {
	on := p.onset(c)
	k := p.jump(on)
	if p.later != nil {
		if math.Abs(p.later.time-p.time(on)) < 0.3e-3 {
			p.scan.found = append(p.scan.found, *p.early)
		} else {
			p.scan.found = append(p.scan.found, *p.later)
		}
		p.early, p.later = nil, nil
	}
	first := p.describe(c, on)
	if f := p.scan.found; len(f) > 0 && first.time-f[len(f)-1].time < 0.2e-3 {
		// The picker was drawn to the same moment twice.
		if first.score > f[len(f)-1].score {
			f[len(f)-1] = first
		}
		return
	}
	if k == on {
		p.scan.found = append(p.scan.found, first)
		return
	}
	second := p.describe(c, k)
	second.preTime, second.preRise = first.time, p.over(on)
	p.early, p.later = &first, &second
}

// time is sample on of p.y in s from the start of the file.
func (p *picker) time(on int) float64 { return float64(p.yBase+int64(on)) / p.bank.rate }

// onset refines hop c to the sample of p.y.
func (p *picker) onset(c int) int {
	at := c * p.bank.hop
	from, to := max(0, at-p.ms(3)), min(len(p.y), at+p.ms(1.5))
	return from + aic(p.y[from:to], p.scan.floor)
}

// ms is t milliseconds in samples.
func (p *picker) ms(t float64) int { return int(math.Round(t * 1e-3 * p.bank.rate)) }

// describe measures the sound that begins at sample on of p.y, found at hop c.
func (p *picker) describe(c, on int) candidate {
	floor := p.scan.floor
	out := candidate{score: p.rise[c], time: p.time(on)}
	out.peak = 2 * db(p.amplitude(on, on+p.ms(3))+1e-9)

	// Read the sound from the refined onset on, not from the hop.
	k := max(0, on/p.bank.hop)
	// Its level is that of its loudest millisecond before the next sound begins: a
	// thump swells, and a codec smears a click.
	next := c + peakReach + 1
	for next < k+decayTo && next+peakReach < len(p.rise) && !p.isPeak(next) {
		next++
	}
	// Where a rise is steepest its sound has begun already.
	next -= 2
	end := min(max(c, k)+swell, max(next, k+riseAfter))
	before := p.mean(k-riseGap-riseBefore, k-riseGap)
	top := p.mean(k, k+4)
	for d := k + 1; d+4 <= min(end, len(p.env)); d++ {
		for i, v := range p.fours[d] {
			if v > 4*top[i] {
				top[i] = v / 4
			}
		}
	}
	halves, firsts, threes := p.mean(k, k+2), p.mean(k, k+8), p.mean(k, k+12)
	lates := p.mean(k+decayFrom, min(next, k+decayTo))
	var first, half, three, late, total float64
	for i := range p.bank.bands {
		out.before[i] = db(before[i] + floor)
		// What was there before is still there: take it away, but keep a twentieth
		// so that a rise inside a loud ring has a finite level.
		e := max(top[i]-before[i], 0.05*top[i]) + floor
		out.level[i] = db(e)
		total += e
		half += halves[i]
		first += firsts[i]
		three += threes[i]
		late += lates[i]
	}
	out.loud = db(total)
	out.decay = math.NaN()
	if next >= k+decayFrom+4 {
		out.decay = db((first + floor) / (late + floor))
	}
	out.sharp = db((half + floor) / (three + floor))
	out.preTime, out.preRise = p.before(on)
	return out
}

// mean is each band's mean energy over the hops a to b-1; 0 where there are none.
func (p *picker) mean(a, b int) (out [maxBands]float64) {
	a, b = max(a, 0), min(b, len(p.env))
	if a >= b {
		return out
	}
	for _, e := range p.env[a:b] {
		for i, v := range e {
			out[i] += v
		}
	}
	for i := range out {
		out[i] /= float64(b - a)
	}
	return out
}

// amplitude is the largest of p.y from sample a to b.
func (p *picker) amplitude(a, b int) float64 {
	amp := 0.0
	for _, v := range p.y[min(a, len(p.y)):min(b, len(p.y))] {
		if v := math.Abs(v); v > amp {
			amp = v
		}
	}
	return amp
}

// jump looks in the 4 ms after sample on of p.y for a second, much louder and
// sharper onset, and returns it, or on. Such are a strike whose trip comes
// close before it, and one that a codec's pre-echo runs ahead of.
func (p *picker) jump(on int) int {
	amp := p.amplitude(on, on+p.ms(4))
	tick := max(4, p.ms(0.25))
	q := on
	for q < len(p.y) && math.Abs(p.y[q]) < 0.3*amp {
		q++
	}
	if q-on < max(4, p.ms(0.15)) || q+tick > len(p.y) {
		return on
	}
	k := on + aic(p.y[on:q+tick/2], p.scan.floor)
	if k-on < max(4, p.ms(0.15)) {
		return on
	}
	if db(p.power(k, k+p.ms(0.5))/p.power(on, k)) < 9 || db(p.power(k, k+tick)/p.power(max(on, k-tick), k)) < 8 {
		return on
	}
	return k
}

// power is the mean energy of p.y from sample a to b, the floor added.
func (p *picker) power(a, b int) float64 {
	a, b = max(a, 0), min(b, len(p.y))
	s := 0.0
	for _, v := range p.y[a:max(a, b)] {
		s += v * v
	}
	return s/float64(max(b-a, 1)) + p.scan.floor
}

// over is how far the half millisecond from sample k on stands over the 2 ms
// before it, in dB.
func (p *picker) over(k int) float64 {
	rate := p.bank.rate
	return db(p.power(k, k+int(0.5e-3*rate)) / p.power(k-int(2e-3*rate), k))
}

// before looks for an onset in the 4.5 ms before sample on of p.y and returns its
// time in s and its rise in dB; NaN and 0 where there is too little to look at.
func (p *picker) before(on int) (time, rise float64) {
	rate := p.bank.rate
	guard := max(3, int(0.12e-3*rate))
	from, to := on-int(4.5e-3*rate), on-guard
	if from < 0 || to-from < 16 {
		return math.NaN(), 0
	}
	x := p.y[from:to]
	k := aic(x, p.scan.floor)
	return p.time(from + k), p.over(from + k)
}
