package onset

import (
	"math"
	"slices"
)

// span is a stretch of time in seconds.
type span struct{ from, to float64 }

// noiseLevels is each band's level in the quiet fifth of the take, in dB.
func (s *scan) noiseLevels() [maxBands]float64 {
	if s.noise != nil {
		return *s.noise
	}
	var out [maxBands]float64
	s.noise = &out
	v := make([]float64, len(s.frames))
	for i := range s.bands {
		for j, f := range s.frames {
			v[j] = float64(f.level[i])
		}
		out[i] = math.NaN()
		if n := len(v); n > 0 {
			out[i] = Nth(v, n/5)
		}
	}
	return out
}

// hole tells whether nothing was recorded in frame k: it is silent down to the floor,
// and the take's quiet is not. Recorders that cannot keep up leave such holes.
func (s *scan) hole(k int) bool {
	const near, far = 1, 6 // dB
	floor := db(s.floor)
	for _, v := range s.frames[k].level[:s.bands] {
		if float64(v) > floor+near {
			return false
		}
	}
	noise := s.noiseLevels()
	return slices.Max(noise[:s.bands]) > floor+far
}

const (
	// A carriage return is noise that lasts, and holds no strike: longReturn at
	// least, of which either sustained is within 10 dB of its own loud part, or
	// ratchet clicks come as densely as nothing else of a typewriter does.
	longReturn   = 0.25 // s
	sustained    = 0.24 // s
	manyClicks   = 10
	clickDensity = 18.0 // 1/s
	// active is how far noise must stand over the take's quiet parts, in dB.
	active = 3.5
	// returnHole is a pause inside the noise of one return.
	returnHole = 0.06
	// handReturn is the shortest time in which a hand finds back from the lever
	// to the keys: a strike sooner after the ratchet is the carriage stopping.
	handReturn = 0.25
)

// frameLength is the length of a frame in seconds: hops are whole samples, so
// it differs a little from 10 ms.
func (s *scan) frameLength() float64 { return frameHops * s.hopTime }

// returns finds the carriage returns: long stretches of noise in gaps between
// strikes. Each span runs from the noise's start to its end, the thump of the
// carriage stopping included. beat is the median interval of the strikes in s.
func (s *scan) returns(strikes []int, strike family, bells []bell, beat float64) []span {
	loud := strike.mean[loudness] - 2*strike.sigma[loudness]
	noise := s.noiseLevels()
	// A bell lasts as long as a return does; what sounds with it is not taken
	// for one.
	fl := s.frameLength()
	ringing := make([]bool, len(s.frames))
	for _, b := range bells {
		for k := clamp(int(b.time/fl), 0, len(s.frames)); k < len(s.frames) && float64(k)*fl < b.time+b.length+0.1; k++ {
			ringing[k] = true
		}
	}
	time := func(j int) float64 {
		if j >= len(strikes) {
			return float64(s.samples) / s.rate
		}
		return s.found[strikes[j]].time
	}
	var out []span
	for j := 0; j < len(strikes); j++ {
		a, b := time(j), time(j+1)
		r, ok := s.longNoise(noise, ringing, a+0.12, b-0.02)
		if !ok {
			continue
		}
		after := j + 1
		if b-r.to < handReturn && after < len(strikes) {
			// The strike after the noise is the carriage stopping.
			r.to = b + 0.02
			after++
		}
		// The shorter the gap, the more it takes: a space-bar stroke or a strike that
		// was not found can lie in it.
		gap := time(after) - a
		if gap < max(0.65, 2.8*beat) {
			continue
		}
		if gap < max(1.0, 4*beat) && r.to-r.from < 0.45 {
			continue
		}
		// A strike that was not found in it, or a space after keys that came up late,
		// make no return.
		doubtful := gap < max(1.0, 4*beat) || r.from < a+0.16
		if doubtful && s.holds(loud, r.from, r.to-0.2*(r.to-r.from)) {
			continue
		}
		out = append(out, r)
		j = after - 1
	}
	return out
}

// holds tells whether a sound as loud as loud begins between two times.
func (s *scan) holds(loud, from, to float64) bool {
	for i := s.after(from); i < len(s.found) && s.found[i].time < to; i++ {
		if s.found[i].loud > loud {
			return true
		}
	}
	return false
}

// longNoise finds the longest noise between two times that could be a return's.
func (s *scan) longNoise(noise [maxBands]float64, ringing []bool, from, to float64) (span, bool) {
	if to-from < longReturn {
		return span{}, false
	}
	fl := s.frameLength()
	a, b := clamp(int(from/fl)+1, 0, len(s.frames)), clamp(int(to/fl), 0, len(s.frames))
	level := func(k int) float64 {
		over := 0.0
		for i := range s.bands {
			quiet := noise[i]
			if ringing[k] {
				// What a bell holds up all the time is not the ratchet's.
				lowest := math.Inf(1)
				for d := max(a, k-6); d <= min(b-1, k+6); d++ {
					lowest = min(lowest, float64(s.frames[d].level[i]))
				}
				quiet = max(quiet, lowest+2)
			}
			over = max(over, float64(s.frames[k].level[i])-quiet)
		}
		return over
	}
	var best span
	found := false
	hole := int(returnHole/fl) + 1
	for k := a; k < b; k++ {
		if level(k) < active {
			continue
		}
		start, last := k, k
		var levels []float64
		for ; k < b && k-last <= hole; k++ {
			if l := level(k); l >= active {
				last = k
				levels = append(levels, l)
			}
		}
		r := span{float64(start) * fl, float64(last+1) * fl}
		length := r.to - r.from
		// What only decays from its start is the ringing of what came before.
		if length < longReturn || !decaysNot(levels) {
			continue
		}
		// What sounds at the start already may be what the last stroke left: the key
		// coming up, and a space after it.
		if start == a && length < 0.5 {
			continue
		}
		sorted := slices.Clone(levels)
		slices.Sort(sorted)
		top := quantile(sorted, 0.75)
		strong := 0
		for _, l := range levels {
			if l > top-10 {
				strong++
			}
		}
		clicks := float64(s.after(r.to) - s.after(r.from))
		if float64(strong)*fl < sustained && (clicks < manyClicks || clicks < clickDensity*length) {
			continue
		}
		if !found || length > best.to-best.from {
			best, found = r, true
		}
	}
	return best, found
}

// decaysNot tells whether levels (dB) do anything but fall: the middle third is
// not well under the first.
func decaysNot(levels []float64) bool {
	third := len(levels) / 3
	if third == 0 {
		return false
	}
	mean := func(v []float64) float64 {
		s := 0.0
		for _, x := range v {
			s += x
		}
		return s / float64(len(v))
	}
	return mean(levels[third:2*third]) > mean(levels[:third])-3
}

// bell is a clear tone that holds its pitch for a quarter of a second and fades.
type bell struct {
	time, freq, length float64 // s, Hz, s
	cand               int     // the candidate that it is; -1 where none
}

// bells finds the line bells. A machine has one bell: of all tones those at the
// pitch that recurs are its.
func (s *scan) bells() []bell {
	const (
		distinct = 16.0 // dB over the spectrum about it
		need     = 5    // stretches of toneStep
		most     = 4.0  // s: what sounds longer is a whistle in the room
	)
	if len(s.tones) == 0 {
		return nil
	}
	var levels []float64
	for _, t := range s.tones {
		if t.freq > 0 {
			levels = append(levels, t.level)
		}
	}
	if len(levels) == 0 {
		return nil
	}
	quiet := middle(levels)
	var all []bell
	for i := 0; i < len(s.tones); {
		t := s.tones[i]
		if t.over < distinct || t.level < quiet+10 {
			i++
			continue
		}
		last, miss := i, 0
		for j := i + 1; j < len(s.tones) && miss <= 2; j++ {
			if u := s.tones[j]; u.over >= distinct-4 && samePitch(u.freq, t.freq) {
				last, miss = j, 0
			} else {
				miss++
			}
		}
		n := last - i + 1
		if length := float64(n) * toneStep; n >= need && length < most && t.level-s.tones[last].level > 4 {
			time, cand := s.bellOnset(t.time)
			all = append(all, bell{time, t.freq, length, cand})
			i = last + 1
			continue
		}
		i = max(i+1, last)
	}
	best, pitch := 0.0, 0.0
	for _, b := range all {
		sum := 0.0
		for _, c := range all {
			if samePitch(b.freq, c.freq) {
				sum += c.length
			}
		}
		if sum > best {
			best, pitch = sum, b.freq
		}
	}
	var out []bell
	for _, b := range all {
		if samePitch(b.freq, pitch) {
			out = append(out, b)
		}
	}
	return out
}

// samePitch tells whether two tones (Hz) are one: it allows for the width of a
// spectral line, and for 2 %.
func samePitch(a, b float64) bool { return math.Abs(a-b) < 0.02*a+60 }

// bellOnset finds the candidate that the bell is, among those in the tenth of a
// second about the first stretch in which the tone was heard: the loudest of
// those that hardly fade. Where there is none the bell begins with its tone.
func (s *scan) bellOnset(t float64) (time float64, cand int) {
	time, cand = t-toneStep/2, -1
	top := math.Inf(-1)
	for i := s.after(t - 0.07); i < len(s.found) && s.found[i].time < t+0.01; i++ {
		if c := &s.found[i]; c.decay < 4 && c.loud > top {
			time, cand, top = c.time, i, c.loud
		}
	}
	return time, cand
}

// after is the index of the first candidate later than t.
func (s *scan) after(t float64) int {
	i, _ := slices.BinarySearchFunc(s.found, t, func(c candidate, t float64) int {
		if c.time <= t {
			return -1
		}
		return 1
	})
	return i
}
