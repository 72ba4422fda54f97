package mechanism

import "math/rand/v2"

// Sound is a pica portable with nothing wrong: carriage 1.2 kg, pull 6.4 falling
// to 5.4 N, drag 0.9 N (travel about 33 to 37 ms), trip at 9.5 mm (3/8 in, common
// practice), release with the key. Mass and pull are of the order that trade lore
// gives; no published values were found.
func Sound() Machine {
	return Machine{
		Name: "sound machine", Action: FullSpace,
		Pitch: Pica, Mass: 1.2, PullStart: 6.4, PullEnd: 5.4, Drag: 0.9,
		Columns: 68, BellAt: 58, Uneven: 0.012,
		TripDistance: 0.0095, DogTime: 0.0034, Release: WithKey,
		ReturnSpeed: 1.3, ReturnSpread: 0.08,
		SpaceLead: 0.014, SpaceReturn: 0.012,
		Teeth:     14,
		LeverLead: 0.028, BarFall: 0.028, KeyReturn: 0.050,
	}
}

// DrawMachine draws a machine with nothing wrong: other mass, pull, dogs, wheel
// and release.
func DrawMachine(seed uint64) Machine {
	r := rand.New(rand.NewPCG(seed, 0x3ac41))
	m := Sound()
	m.Mass = between(r, 0.9, 1.6)
	// A pull that goes with the mass: travels of 28 to 42 ms.
	t := between(r, 0.029, 0.040)
	net := 2 * m.Pitch * m.Mass / (t * t)
	m.Drag = between(r, 0.5, 1.2)
	m.PullStart = net + m.Drag
	m.PullEnd = m.PullStart - net*between(r, 0.08, 0.25)
	m.Uneven = between(r, 0.006, 0.02)
	m.TripDistance = between(r, 0.008, 0.011)
	m.DogTime = between(r, 0.003, 0.004)
	m.Teeth = 10 + r.IntN(9)
	m.ReturnSpeed = between(r, 1.0, 1.6)
	m.SpaceLead = between(r, 0.012, 0.016)
	m.LeverLead = between(r, 0.017, 0.045)
	m.BarFall = between(r, 0.018, 0.040)
	m.KeyReturn = between(r, 0.030, 0.070)
	if r.Float64() < 0.25 {
		m = m.Rebounding(between(r, 0.035, 0.055))
	}
	return m
}

func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// Each of the following gives a copy of the machine with one fault or trait.

// LateTrip trips when the type face is only distance metres from the platen (2
// mm is late, 9.5 mm is right).
func (m Machine) LateTrip(distance float64) Machine {
	m.Name, m.TripDistance = "late trip", distance
	return m
}

// WeakPull leaves the shares start and end of the net pull at the line's start
// and end.
func (m Machine) WeakPull(start, end float64) Machine {
	m.Name = "weak pull"
	m.PullStart = m.Drag + (m.PullStart-m.Drag)*start
	m.PullEnd = m.Drag + (m.PullEnd-m.Drag)*end
	return m
}

// Binds adds drag in N around a carriage position.
func (m Machine) Binds(position, width int, drag float64) Machine {
	m.Name = "binding"
	m.Bindings = append(m.Bindings[:len(m.Bindings):len(m.Bindings)], Binding{position, width, drag})
	return m
}

// WornAt makes one tooth of the wheel odd: travel longer by extra seconds and the
// landing louder by db.
func (m Machine) WornAt(tooth int, extra, db float64) Machine {
	m.Name = "worn tooth"
	m.Worn = append(m.Worn[:len(m.Worn):len(m.Worn)], WornTooth{tooth, extra, db})
	return m
}

// SluggishEscapement delays each release by an exponential time with that mean;
// warm is the time in which it warms up to 1/e of it, 0 never.
func (m Machine) SluggishEscapement(mean, warm float64) Machine {
	m.Name, m.DogDelay, m.WarmUp = "sluggish escapement", mean, warm
	return m
}

// SluggishBar slows the bars of the given keys: latency longer by extra seconds,
// approach slower by a share.
func (m Machine) SluggishBar(keys string, extra, slower float64) Machine {
	m.Name = "sluggish bar"
	m.SlowKeys = m.SlowKeys[:len(m.SlowKeys):len(m.SlowKeys)]
	for _, k := range keys {
		m.SlowKeys = append(m.SlowKeys, SlowKey{k, extra, slower})
	}
	return m
}

// Skipping lets a share of releases run on to a second landing.
func (m Machine) Skipping(share float64) Machine {
	m.Name, m.SkipShare = "skipping", share
	return m
}

// ChippedRack skips at one carriage position, a share of the times.
func (m Machine) ChippedRack(position int, share float64) Machine {
	m.Name = "chipped rack"
	m.Chips = append(m.Chips[:len(m.Chips):len(m.Chips)], Chip{position, share})
	return m
}

// TiltedBar changes the trip distance by tilt metres from the leftmost to the
// rightmost key (negative: the right side trips later).
func (m Machine) TiltedBar(tilt float64) Machine {
	m.Name, m.BarTilt = "tilted bar", tilt
	return m
}

// LateSpaceBar trips lead seconds before the bar's stop and lets go after back
// seconds (a sound bar: 14 and 12 ms).
func (m Machine) LateSpaceBar(lead, back float64) Machine {
	m.Name, m.SpaceLead, m.SpaceReturn = "late space bar", lead, back
	return m
}

// UnsteadyDesk rings after strikes at db over the palette's usual desk.
func (m Machine) UnsteadyDesk(db float64) Machine {
	m.Name, m.DeskRing = "unsteady desk", db
	return m
}

// Rebounding lets the escapement go on the bar's rebound, back seconds after the
// strike, whatever the finger does.
func (m Machine) Rebounding(back float64) Machine {
	m.Release = OnRebound
	m.ReturnSpeed = m.TripDistance / back
	m.ReturnSpread = 0.06
	return m
}

// With gives a copy with another action or pitch (in metres; 0 leaves it).
func (m Machine) With(action Action, pitch float64) Machine {
	if action != "" {
		m.Action = action
	}
	if pitch > 0 {
		m.Pitch = pitch
	}
	return m
}
