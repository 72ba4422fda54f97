package synth

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Render gives the whole recording: rec.Channels interleaved channels, full
// scale 1, every sample within [-1, 1]. Equal arguments give equal samples.
func Render(sounds []Sound, p *Palette, rec Recording, seed uint64) ([]float64, error) {
	var out []float64
	err := RenderTo(sounds, p, rec, seed, func(block []float64) error {
		out = append(out, block...)
		return nil
	})
	return out, err
}

const blockFrames = 4096

// RenderTo gives the same samples as Render block by block, in memory that does
// not grow with the recording's length. emit must not keep the block; an error
// from it ends the rendering and is returned.
func RenderTo(sounds []Sound, p *Palette, rec Recording, seed uint64, emit func(block []float64) error) error {
	if err := rec.check(sounds); err != nil {
		return err
	}
	if p == nil {
		return errors.New("no palette to render with, draw one with NewPalette")
	}
	ordered := withKnocks(sounds, rec, seed)
	total := int(math.Ceil(rec.length(ordered) * rec.Rate))

	m := &mixer{palette: p, rate: rec.Rate, seed: seed, gain: calibrate(p, rec), total: total}
	channels := make([]*channel, rec.channels())
	for c := range channels {
		channels[c] = newChannel(rec, seed, c)
	}
	dry := make([]float64, blockFrames)
	wet := make([][]float64, len(channels))
	var block []float64
	next := 0
	// A codec holds samples back: it is fed past the end, and what it holds
	// back at the start is dropped.
	skip := channels[0].heldBack()
	for from, sent := 0, 0; sent < total; from += blockFrames {
		for ; next < len(ordered) && ordered[next].Time+rec.Delay < float64(from+blockFrames)/rec.Rate; next++ {
			m.start(ordered[next], next, rec.Delay, from)
		}
		if channels[0].codec == nil {
			dry = dry[:min(blockFrames, total-from)]
		}
		m.mix(dry)
		for c, ch := range channels {
			wet[c] = ch.process(dry)
		}
		n := len(wet[0])
		drop := min(skip, n)
		skip -= drop
		n = min(n-drop, total-sent)
		block = block[:0]
		for i := drop; i < drop+n; i++ {
			for c := range channels {
				block = append(block, wet[c][i])
			}
		}
		if n > 0 {
			if err := emit(block); err != nil {
				return err
			}
		}
		sent += n
	}
	return nil
}

// check refuses what cannot be rendered.
func (rec Recording) check(sounds []Sound) error {
	if !(rec.Rate >= 4000 && rec.Rate <= 768000) {
		return fmt.Errorf("cannot render at %g samples per second, choose 4000 to 768000", rec.Rate)
	}
	if !(rec.Duration >= 0 && rec.Duration <= 1e5) {
		return fmt.Errorf("cannot render %g s, choose 0 to 100000", rec.Duration)
	}
	if !(rec.Delay >= 0 && rec.Delay < 10) {
		return fmt.Errorf("cannot delay by %g s, choose 0 to 10", rec.Delay)
	}
	for _, s := range sounds {
		if s.Kind < 0 || s.Kind >= kinds {
			return fmt.Errorf("unknown kind of sound %d", int(s.Kind))
		}
		if !(s.Time >= 0 && s.Time < 1e5) || !(s.Duration >= 0 && s.Duration <= 60) || math.IsNaN(s.Strength) || s.Strength > 60 {
			return fmt.Errorf("%v at %g s: time, duration or strength out of range", s.Kind, s.Time)
		}
	}
	return nil
}

// length of the recording in seconds.
func (rec Recording) length(ordered []Sound) float64 {
	if rec.Duration > 0 {
		return rec.Duration
	}
	end := 0.0
	for _, s := range ordered {
		end = max(end, s.Time+s.Duration)
	}
	return end + rec.Delay + 1
}

// withKnocks sorts a copy of the sounds and adds the room's.
func withKnocks(sounds []Sound, rec Recording, seed uint64) []Sound {
	all := slices.Clone(sounds)
	if rec.Knocks > 0 {
		r := rand.New(rand.NewPCG(seed, 0x4b0c))
		end := rec.length(all)
		for t := 0.0; ; {
			t += r.ExpFloat64() * 60 / rec.Knocks
			if t >= end {
				break
			}
			all = append(all, Sound{Kind: Knock, Time: t, Strength: 5 * r.NormFloat64(), Variant: 1 + r.IntN(1000)})
		}
	}
	slices.SortStableFunc(all, func(a, b Sound) int { return cmp.Compare(a.Time, b.Time) })
	return all
}

// calibrate finds the gain at which the usual strike arrives with the peak that
// the recording asks for, after the microphone.
func calibrate(p *Palette, rec Recording) float64 {
	sum := 0.0
	const times = 8
	for i := range uint64(times) {
		r := rand.New(rand.NewPCG(0xca1, i))
		mic := rec.microphone()
		top := 0.0
		for _, x := range p.voices[Strike].render(r, rec.Rate, 0, int(i)+1, 1, int(rec.Rate)) {
			top = max(top, math.Abs(mic.next(x)))
		}
		sum += top
	}
	if sum == 0 {
		return 0
	}
	return factor(rec.StrikeLevel) * times / sum
}

// mixer adds the sounds, dry, as they reach the microphone directly.
type mixer struct {
	palette *Palette
	rate    float64
	seed    uint64
	gain    float64
	total   int       // frames of the recording
	ahead   []float64 // from the current block on
}

// start renders one sound into what lies ahead; from is the block's first frame.
func (m *mixer) start(s Sound, index int, delay float64, from int) {
	level := m.palette.Level[s.Kind] + s.Strength
	if level <= Silent/2 {
		return
	}
	r := rand.New(rand.NewPCG(m.seed, 0x50000000+uint64(index)))
	at := (s.Time + delay) * m.rate
	first := math.Ceil(at)
	offset := first - at
	peak := m.gain * factor(level)
	v := &m.palette.voices[s.Kind]
	frame := int(first) - from
	if v.chatter > 0 && s.Duration > 0 {
		m.ratchet(v, s, r, at, from, peak)
		return
	}
	m.add(frame, v.render(r, m.rate, offset, s.Variant, peak, m.total-int(first)))
	if s.Kind == Strike && r.Float64() < m.palette.Second {
		later := at + m.palette.SecondDelay*math.Exp(0.25*r.NormFloat64())*m.rate
		f := math.Ceil(later)
		level := factor(m.palette.SecondLevel + 3*r.NormFloat64())
		m.add(int(f)-from, v.render(r, m.rate, f-later, s.Variant, peak*level, m.total-int(f)))
	}
}

// ratchet renders a sound that lasts. A return: clicks that come louder and faster
// as the carriage gains speed, and a thump where it arrives. (In three recordings of
// real returns the noise rose by 20 dB and more toward the thump.) A run under the
// tab brake soon has its speed and keeps it; where it arrives is a TabStop.
func (m *mixer) ratchet(v *voice, s Sound, r *rand.Rand, at float64, from int, peak float64) {
	put := func(v *voice, t float64, variant int, peak float64) {
		pos := at + t*m.rate
		f := math.Ceil(pos)
		m.add(int(f)-from, v.render(r, m.rate, f-pos, variant, peak, m.total-int(f)))
	}
	for t := 0.0; t < s.Duration; {
		gone := t / s.Duration
		if s.Kind == Tabulator {
			gone = 1 - math.Exp(-t/0.02)
		}
		put(v, t, 0, peak*factor(-18*(1-gone)+4*r.NormFloat64()))
		t += math.Exp(0.2*r.NormFloat64()) / (v.chatter * (0.5 + 0.8*gone))
	}
	if s.Kind == Tabulator {
		return
	}
	end := m.palette.ReturnEnd + 2*r.NormFloat64()
	put(&m.palette.voices[Thump], s.Duration, 77, m.gain*factor(end))
}

// add mixes a rendered sound in at a frame of the current block or later.
func (m *mixer) add(frame int, x []float64) {
	if len(x) == 0 {
		return
	}
	if need := frame + len(x); need > len(m.ahead) {
		m.ahead = append(m.ahead, make([]float64, need-len(m.ahead))...)
	}
	for i, v := range x {
		m.ahead[frame+i] += v
	}
}

// mix moves the next block out of what lies ahead.
func (m *mixer) mix(block []float64) {
	n := copy(block, m.ahead)
	clear(block[n:])
	rest := copy(m.ahead, m.ahead[n:])
	m.ahead = m.ahead[:rest]
}
