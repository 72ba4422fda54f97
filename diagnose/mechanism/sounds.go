package mechanism

import (
	"math"
	"math/rand/v2"

	"loosedog/audio/synth"
)

// Sounds lists what there is to hear, in order of strokes. Strengths follow from
// the speeds of what meets; the rest of their spread is chance from the
// performance's seed.
func (p *Performance) Sounds() []synth.Sound {
	m := &p.Machine
	r := rand.New(rand.NewPCG(p.Seed, 3))
	var out []synth.Sound
	add := func(kind synth.Kind, at, strength float64, variant int) {
		if happened(at) && at >= 0 {
			out = append(out, synth.Sound{Kind: kind, Time: at, Strength: strength, Variant: variant})
		}
	}
	for i := range p.Strokes {
		k := &p.Strokes[i]
		n := func(spread float64) float64 { return spread * r.NormFloat64() }
		// Energy goes with the square of speed; a heavy stroke is also a full one.
		hard := 32 * math.Log10(k.Speed/max(p.Hand.Speed, 0.1))
		key := int(k.Char)
		if k.Space {
			key = 0
		}
		add(synth.Lever, k.Lever, n(3)+0.3*hard, key)
		add(synth.Linkage, k.Linkage, n(3), key)
		trip := n(2) + 0.3*hard
		if i > 0 && p.Strokes[i-1].Line == k.Line && p.Strokes[i-1].Shared {
			trip -= 10 // the rocker is over already, only bar meets bar
		}
		add(synth.Trip, k.Trip, trip, 0)
		if k.Space {
			add(synth.Thump, k.Strike, n(2)+0.4*hard, 0)
			add(synth.SpaceUp, k.KeyUp, n(3), 0)
		} else {
			add(synth.Strike, k.Strike, n(2.5)+hard, key)
			add(synth.BarRest, k.BarRest, n(2.5), key)
			add(synth.KeyUp, k.KeyUp, n(3.5), key)
			if on := m.DeskRing; on != 0 {
				add(synth.Desk, k.Strike+0.0005, on+hard, 0)
			}
		}
		add(synth.Release, k.Release, n(2), 0)
		// The carriage arrives at sqrt(2 pull p / m).
		arrive := func(position int) float64 {
			return 20 * math.Log10(math.Sqrt(m.Pull(position)/max(m.PullStart-m.Drag, leastPull)))
		}
		add(synth.Landing, k.HalfLanding, arrive(k.Position)-3+n(1.5), 0)
		landing := arrive(k.Position) + n(1.5)
		if m.Action == HalfSpace {
			landing -= 3
		}
		for _, w := range m.Worn {
			if w.Tooth == k.Tooth {
				landing += w.Louder
			}
		}
		add(synth.Landing, k.Landing, landing, 0)
		add(synth.Landing, k.SkipLanding, arrive(k.Position+1)+n(1.5), 0)
	}
	for _, l := range p.Lines {
		add(synth.Bell, l.Bell, 1.5*r.NormFloat64(), 0)
		if happened(l.ReturnStart) {
			out = append(out, synth.Sound{Kind: synth.Return, Time: l.ReturnStart,
				Strength: 2 * r.NormFloat64(), Duration: l.ReturnEnd - l.ReturnStart})
		}
	}
	for _, o := range p.Operations {
		out = append(out, o.Sounds...)
	}
	return out
}
