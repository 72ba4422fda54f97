package mechanism

import (
	"math"
	"math/rand/v2"
)

// Fault is one fault whose severity can be set.
type Fault struct {
	// Name is the finding that belongs to it (names of diagnose.Finding).
	Name string
	// Keyed faults only show to who knows which key was struck.
	Keyed bool
	// Set gives a copy of the machine with the fault at a severity from 0 (nothing
	// wrong) to 1 (as bad as the model goes); r draws where it sits.
	Set func(m Machine, severity float64, r *rand.Rand) Machine
}

// Faults lists the machine's faults that spoil letters.
func Faults() []Fault {
	return []Fault{
		{"late-trip", false, func(m Machine, s float64, _ *rand.Rand) Machine {
			m = m.WithKey()
			return m.LateTrip(m.TripDistance * (1 - 0.97*s))
		}},
		{"weak-pull", false, func(m Machine, s float64, r *rand.Rand) Machine {
			steep := between(r, 0.3, 0.6)
			return m.WeakPull(1-steep*s, 1-0.95*s)
		}},
		{"binding", false, func(m Machine, s float64, r *rand.Rand) Machine {
			at, width := 10+r.IntN(42), 1+r.IntN(5)
			return m.Binds(at, width, s*m.Pull(at))
		}},
		{"worn-tooth", false, func(m Machine, s float64, r *rand.Rand) Machine {
			return m.WornAt(r.IntN(m.Teeth), 0.15*s, between(r, 0, 6))
		}},
		{"sluggish-escapement", false, func(m Machine, s float64, r *rand.Rand) Machine {
			m = m.WithKey()
			warm := 0.0
			if r.IntN(2) == 0 {
				warm = between(r, 100, 300)
			}
			return m.SluggishEscapement(0.08*s, warm)
		}},
		{"sluggish-bar", true, func(m Machine, s float64, r *rand.Rand) Machine {
			keys := []rune("etaonishrl")
			r.Shuffle(len(keys), func(i, j int) { keys[i], keys[j] = keys[j], keys[i] })
			return m.SluggishBar(string(keys[:1+r.IntN(2)]), 0.2*s, 0.4*s)
		}},
		{"skipping", false, func(m Machine, s float64, _ *rand.Rand) Machine {
			return m.Skipping(0.2 * s)
		}},
		{"chipped-rack", false, func(m Machine, s float64, r *rand.Rand) Machine {
			return m.ChippedRack(8+r.IntN(42), s)
		}},
		{"tilted-bar", true, func(m Machine, s float64, r *rand.Rand) Machine {
			tilt := 0.022 * s
			if r.IntN(2) == 0 {
				tilt = -tilt
			}
			return m.WithKey().TiltedBar(tilt)
		}},
		{"late-space-bar", false, func(m Machine, s float64, _ *rand.Rand) Machine {
			return m.LateSpaceBar(m.SpaceLead*(1-0.97*s), m.SpaceReturn*(1-0.97*s))
		}},
	}
}

// WithKey makes a machine that lets go on the rebound let go with the key.
func (m Machine) WithKey() Machine {
	if m.Release != WithKey {
		m.Release = WithKey
		m.ReturnSpeed, m.ReturnSpread = Sound().ReturnSpeed, Sound().ReturnSpread
	}
	return m
}

// Spoiled counts the places of a performance that stand wrong: letters crowded or
// piled, and skipped spaces.
func (p *Performance) Spoiled() int {
	n := 0
	for i := range p.Strokes {
		k := &p.Strokes[i]
		if k.Label != Clear && !(i > 0 && k.Strike < p.Strokes[i-1].SkipLanding) {
			n++
		}
		if happened(k.SkipLanding) {
			n++
		}
	}
	return n
}

// Grade finds the least severity at which a fault spoils so many more places of
// a scenario than the machine without it, and makes it so; ok is false where the
// worst severity does not.
func (f Fault) Grade(s Scenario, more int) (graded *Scenario, severity float64, ok bool) {
	spoiled := func(severity float64) int {
		g := s
		g.Machine = f.Set(s.Machine, severity, rand.New(rand.NewPCG(s.Seed, 0xfa17)))
		p, err := g.Perform()
		if err != nil {
			return math.MinInt
		}
		graded = &g
		return p.Spoiled()
	}
	const steps = 80
	least := spoiled(0) + more
	for k := 1; k <= steps; k++ {
		left := 1 - float64(k)/steps
		severity = 1 - left*left
		if spoiled(severity) >= least {
			return graded, severity, true
		}
	}
	return nil, 0, false
}
