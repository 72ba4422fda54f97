package synth

import (
	"math"
	"math/rand/v2"
)

// channel is one channel's way from the direct sound to stored samples.
type channel struct {
	rec   Recording
	near  ring // the far channel of two hears the machine a little later
	late  int
	gain  float64
	room  *room
	mic   chain
	noise *noise
	agc   float64 // gain now
	open  float64 // the gate's gain now
	level float64 // envelope that AGC and gate follow
	hold  int
	// shut is the gate's gain when it is closed, fall in how many seconds it falls to
	// 1/e of the way there.
	shut, fall float64
	// The recording's levels as factors, 0 where it has none.
	agcLeast, gate, top float64
	codec               *codec
	i                   int
	out                 []float64
}

func newChannel(rec Recording, seed uint64, c int) *channel {
	r := rand.New(rand.NewPCG(seed, 0xc4a0+uint64(c)))
	ch := &channel{rec: rec, gain: 1, mic: rec.microphone(), agc: 1, open: 1, top: 1}
	if rec.AGC > 0 {
		ch.agcLeast = factor(-rec.AGC)
	}
	if on(rec.Gate) {
		ch.gate, ch.fall = factor(rec.Gate), 0.01
		if rec.GateDepth > 0 {
			ch.shut = factor(-rec.GateDepth)
		}
		if rec.GateFall > 0 {
			ch.fall = rec.GateFall
		}
	}
	if on(rec.Clip) {
		ch.top = min(1, factor(rec.Clip))
	}
	if c > 0 {
		ch.late = 1 + r.IntN(int(0.0004*rec.Rate)+1)
		ch.gain = factor(span{-5, -1}.draw(r))
	}
	ch.near = make(ring, ch.late+1)
	ch.room = newRoom(rec, r)
	ch.noise = newNoise(rec, rand.New(rand.NewPCG(seed, 0xc4b0+uint64(c))))
	if rec.CodecBand > 0 || on(rec.CodecNoise) {
		ch.codec = newCodec(rec, rand.New(rand.NewPCG(seed, 0xc4c0+uint64(c))))
	}
	return ch
}

// microphone gives the filters of the recording's microphone.
func (rec Recording) microphone() chain {
	var c chain
	if rec.LowCut > 0 {
		c = append(c, highPass(min(rec.LowCut, 0.2*rec.Rate), math.Sqrt2/2, rec.Rate))
	}
	if rec.Tilt != 0 {
		c = append(c, highShelf(3000, rec.Tilt, rec.Rate))
	}
	if rec.Resonance > 0 && rec.ResonanceLevel != 0 {
		c = append(c, peaking(rec.Resonance, 1.5, rec.ResonanceLevel, rec.Rate))
	}
	if rec.HighCut > 0 && rec.HighCut < 0.48*rec.Rate {
		c = append(c, steepLowPass(rec.HighCut, rec.Rate)...)
	}
	return c
}

// heldBack is how many samples the codec holds back.
func (ch *channel) heldBack() int {
	if ch.codec == nil {
		return 0
	}
	return codecHop
}

// process gives the stored samples of one block of direct sound; the slice is
// used again by the next call.
func (ch *channel) process(dry []float64) []float64 {
	ch.out = ch.out[:0]
	for _, x := range dry {
		ch.near.put(ch.i, x)
		x = ch.gain * ch.near.at(ch.i-ch.late)
		if ch.room != nil {
			x = ch.room.next(ch.i, x)
		}
		x = ch.mic.next(x) + ch.noise.next(ch.i)
		ch.out = append(ch.out, ch.recorder(x))
		ch.i++
	}
	if ch.codec != nil {
		ch.out = ch.codec.process(ch.out)
	}
	for i, x := range ch.out {
		ch.out[i] = ch.store(x)
	}
	return ch.out
}

// recorder is automatic gain and noise gate, both following one envelope (up in
// a millisecond, down 60 dB in about a third of a second).
func (ch *channel) recorder(x float64) float64 {
	if ch.agcLeast == 0 && ch.gate == 0 {
		return x
	}
	rate := ch.rec.Rate
	if a := math.Abs(x); a > ch.level {
		ch.level += (a - ch.level) / (0.001 * rate)
	} else {
		ch.level *= 1 - 1/(0.05*rate)
	}
	if ch.agcLeast > 0 {
		const aim = 0.063 // -24 dB
		want := min(1, max(aim/max(ch.level, 1e-9), ch.agcLeast))
		if want < ch.agc {
			ch.agc += (want - ch.agc) / (0.004 * rate)
		} else {
			ch.agc += (want - ch.agc) / (max(ch.rec.AGCRelease, 0.05) * rate)
		}
		x *= ch.agc
	}
	if ch.gate > 0 {
		if ch.level > ch.gate {
			ch.hold = int(0.02 * rate)
			ch.open += (1 - ch.open) / (0.0005 * rate)
		} else if ch.hold--; ch.hold < 0 {
			ch.open += (ch.shut - ch.open) / (ch.fall * rate)
		}
		x *= ch.open
	}
	return x
}

// store clips and rounds to what a file can hold.
func (ch *channel) store(x float64) float64 {
	x = min(max(x, -ch.top), ch.top)
	if b := ch.rec.Bits; b > 0 && b < 32 {
		steps := math.Ldexp(1, b-1)
		x = min(math.Round(x*steps), steps-1) / steps
	}
	return x
}
