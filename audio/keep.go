package audio

// keeper holds a bounded number of stretches spread evenly over a take of any
// length: one for each slot of time. When the slots are used up, neighbours are
// merged and a slot becomes twice as long.
type keeper struct {
	better  func(a, b *stretch) bool
	slots   []*stretch // nil where none was worth keeping
	slotLen int64      // in stretches offered
}

// stretch is a piece of a take, interleaved.
type stretch struct {
	level   float64 // dB, of all channels together
	samples []float32
}

const (
	keepSlots    = 96
	firstSlotLen = 8
)

// offer shows the keeper the stretch of number at.
func (k *keeper) offer(at int64, level float64, samples []float64) {
	if k.slotLen == 0 {
		k.slotLen = firstSlotLen
	}
	for at/k.slotLen >= keepSlots {
		for i := 0; i < keepSlots/2; i++ {
			var s *stretch
			for j := 2 * i; j <= 2*i+1 && j < len(k.slots); j++ {
				if n := k.slots[j]; n != nil && (s == nil || k.better(n, s)) {
					s = n
				}
			}
			if i < len(k.slots) {
				k.slots[i] = s
			}
		}
		if len(k.slots) > keepSlots/2 {
			clear(k.slots[keepSlots/2:])
			k.slots = k.slots[:keepSlots/2]
		}
		k.slotLen *= 2
	}
	slot := int(at / k.slotLen)
	for len(k.slots) <= slot {
		k.slots = append(k.slots, nil)
	}
	old := k.slots[slot]
	if old != nil && !k.better(&stretch{level: level}, old) {
		return
	}
	if old == nil {
		old = &stretch{samples: make([]float32, len(samples))}
		k.slots[slot] = old
	}
	old.level = level
	for i, v := range samples {
		old.samples[i] = float32(v)
	}
}

// signals mixes down what was kept.
func (k *keeper) signals(channels, channel int) [][]float64 {
	var out [][]float64
	for _, s := range k.slots {
		if s == nil {
			continue
		}
		wide := make([]float64, len(s.samples))
		for i, v := range s.samples {
			wide[i] = float64(v)
		}
		x := make([]float64, len(wide)/channels)
		mixDown(x, wide, channels, channel)
		out = append(out, x)
	}
	return out
}
