package synth

import (
	"math"
	"math/rand/v2"
)

// noise is what is heard without the machine: hiss, room, hum.
type noise struct {
	r                *rand.Rand
	hiss, room, hum  float64 // factors
	pink             [5]float64
	rate             float64
	tones            [4]tone // the hum
	roomSlow, target float64
}

func newNoise(rec Recording, r *rand.Rand) *noise {
	n := &noise{r: r, rate: rec.Rate, roomSlow: 1, target: 1}
	freq := rec.HumFreq
	if freq <= 0 {
		freq = 50
	}
	if on(rec.Hiss) {
		n.hiss = factor(rec.Hiss)
	}
	if on(rec.RoomNoise) {
		n.room = factor(rec.RoomNoise)
	}
	if on(rec.Hum) {
		n.hum = factor(rec.Hum)
	}
	for i := range n.tones {
		n.tones[i] = newTone(freq*float64(i+1)/rec.Rate, 2*math.Pi*r.Float64())
	}
	return n
}

// pinkPoles: one-pole filters an octave and a half apart whose sum falls about
// 3 dB an octave.
var pinkPoles = [5]float64{0.9990, 0.9950, 0.9750, 0.8800, 0.5000}

// pinkDrive gives each of them a variance of 1 from even noise in -0.5..0.5.
var pinkDrive = func() (d [5]float64) {
	for i, a := range pinkPoles {
		d[i] = math.Sqrt(12 * (1 - a*a))
	}
	return d
}()

func (n *noise) next(i int) float64 {
	y := 0.0
	if n.hiss > 0 {
		y += n.hiss * n.r.NormFloat64()
	}
	if n.room > 0 {
		// Each pole gets its own noise of equal power: equal power an octave.
		p := 0.0
		for k, a := range pinkPoles {
			n.pink[k] = a*n.pink[k] + pinkDrive[k]*(n.r.Float64()-0.5)
			p += n.pink[k]
		}
		// A room is not steady: its level drifts by some dB over seconds.
		if i%int(n.rate/2) == 0 {
			n.target = factor(1.5 * n.r.NormFloat64())
		}
		n.roomSlow += (n.target - n.roomSlow) / (0.5 * n.rate)
		y += n.room * n.roomSlow * p / math.Sqrt(5)
	}
	if n.hum > 0 {
		h := 0.0
		for k := range n.tones {
			h += n.tones[k].next() / float64(k+1)
		}
		y += n.hum * h * math.Sqrt2 / 1.19 // RMS of 1, 1/2, 1/3, 1/4 together
	}
	return y
}

// tone is a sine by rotation.
type tone struct{ re, im, c, s float64 }

func newTone(cycles, phase float64) tone {
	s, c := math.Sincos(2 * math.Pi * cycles)
	im, re := math.Sincos(phase)
	return tone{re, im, c, s}
}

func (t *tone) next() float64 {
	t.re, t.im = t.re*t.c-t.im*t.s, t.re*t.s+t.im*t.c
	return t.im
}
