package synth

import (
	"math"
	"math/rand/v2"
)

// room adds early echoes and a diffuse tail to the direct sound.
type room struct {
	taps []tap
	line ring
	tail *diffuse
	wet  float64
}

type tap struct {
	delay int
	gain  float64
}

// newRoom draws the echoes of one channel; nil where there is no room.
func newRoom(rec Recording, r *rand.Rand) *room {
	if rec.Reflections <= 0 && rec.RT60 <= 0 {
		return nil
	}
	rm := &room{}
	longest := 1
	span60 := max(rec.EarlySpan, 0.001)
	for i := range rec.Reflections {
		at := span60 * (float64(i) + 0.3 + 0.7*r.Float64()) / float64(rec.Reflections)
		g := factor(rec.EarlyLevel - 8*at/span60 + 2*r.NormFloat64())
		if r.IntN(2) == 0 {
			g = -g
		}
		d := max(int(at*rec.Rate), 1)
		longest = max(longest, d)
		rm.taps = append(rm.taps, tap{d, g})
	}
	rm.line = make(ring, longest+1)
	if rec.RT60 > 0 {
		rm.tail = newDiffuse(rec, r)
		rm.wet = factor(rec.TailLevel)
	}
	return rm
}

func (rm *room) next(i int, x float64) float64 {
	y := x
	rm.line.put(i, x)
	for _, t := range rm.taps {
		y += t.gain * rm.line.at(i-t.delay)
	}
	if rm.tail != nil {
		y += rm.wet * rm.tail.next(i, y)
	}
	return y
}

// ring holds the latest samples by running index.
type ring []float64

func (g ring) put(i int, x float64) { g[i%len(g)] = x }

func (g ring) at(i int) float64 {
	if i < 0 {
		return 0
	}
	return g[i%len(g)]
}

// diffuse is a feedback delay network of eight lines with a Householder matrix
// (the common construction of artificial reverberation), damped at the top.
type diffuse struct {
	lines [8]ring
	gain  [8]float64
	low   [8]float64
	damp  float64
}

func newDiffuse(rec Recording, r *rand.Rand) *diffuse {
	d := &diffuse{damp: 0.25 + 0.3*r.Float64()}
	for i := range d.lines {
		n := int(rec.Rate * (0.007 + 0.004*float64(i) + 0.003*r.Float64()))
		d.lines[i] = make(ring, max(n, 1))
		// 60 dB down after RT60.
		d.gain[i] = math.Pow(10, -3*float64(n)/(rec.Rate*rec.RT60))
	}
	return d
}

func (d *diffuse) next(i int, x float64) float64 {
	var v [8]float64
	sum, y := 0.0, 0.0
	for k := range d.lines {
		// The oldest sample of each line stands where the next one goes.
		s := d.lines[k][i%len(d.lines[k])]
		d.low[k] += (1 - d.damp) * (s - d.low[k])
		v[k] = d.gain[k] * d.low[k]
		sum += v[k]
		if k%2 == 0 {
			y += s
		} else {
			y -= s
		}
	}
	for k := range d.lines {
		d.lines[k].put(i, v[k]-sum/4+x)
	}
	return y
}
