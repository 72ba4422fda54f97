package onset

import "math"

// hand is how a take's hand strikes from one stroke to the next.
type hand struct {
	pace, sigma float64 // middle and spread of the log of its intervals in s
	// idle is the share of letters and of space-bar strokes that leave neither trip nor
	// carriage sound to be heard, sound the middle log odds of letters and thumps by
	// their sound.
	idle, sound [2]float64
}

// rest is the share of intervals that are pauses, of any length: evenly spread over
// the logarithm, over a factor of pauseReach.
const (
	rest       = 0.05
	pauseReach = 50.0
)

// log is the log density, per s, of an interval of t seconds.
func (h *hand) log(t float64) float64 {
	t = max(t, 1e-3)
	z := (math.Log(t) - h.pace) / h.sigma
	return math.Log((1-rest)*normal01(z)/h.sigma+rest/math.Log(pauseReach)) - math.Log(t)
}

const (
	// besides is how seldom a hand does something else in a gap between two strokes,
	// noises how many sounds as loud as strikes that makes in a second.
	besides = 0.02
	noises  = 4.0
	// again is how often a typed stroke after a bare one is bare, too: what hid the one
	// hides the next.
	again = 0.5
	// surely is by how much a run must speak against having been typed, in log units.
	surely = 2.0
)

// dropIdle takes out strokes that move nothing: a backspace, a shift, the tabulator, a
// margin release or a voice can sound as a strike does, but neither trip nor carriage
// goes with it. Strokes whose own cannot be heard are as bare; but those keep the
// hand's time, while the others come where the hand pauses, and in bursts. So each run
// of bare strokes is weighed: were they typed, every interval would be one of the
// hand's; were they not, the one from the stroke before to the one after.
func (e *session) dropIdle(m *model, tripped func(int) bool) {
	bare := func(st *stroke) bool {
		if st.space {
			return !st.moved() && !st.drowned && !(m.barTrips > 0 && tripped(st.strike))
		}
		return !st.moved() && !tripped(st.strike)
	}
	h, ok := e.handOf(m, bare)
	if !ok {
		return
	}
	var out []line
	for _, l := range e.lines {
		kept := l.strokes[:0:0]
		for k := 0; k < len(l.strokes); {
			end := k
			for end < len(l.strokes) && bare(&l.strokes[end]) {
				end++
			}
			if end == k {
				kept = append(kept, l.strokes[k])
				k++
				continue
			}
			if h.typed(m, l.strokes, k, end) {
				kept = append(kept, l.strokes[k:end]...)
			} else {
				e.passed += end - k
			}
			k = end
		}
		switch n := len(out); {
		case len(kept) > 0:
			l.strokes = kept
			out = append(out, l)
		case n > 0 && l.carriage.to > 0:
			out[n-1].carriage.to = l.carriage.to
		}
	}
	if len(out) > 0 {
		e.lines = out
	}
}

// typed tells whether the bare strokes k to end-1 of a line are.
func (h *hand) typed(m *model, strokes []stroke, k, end int) bool {
	// A hand that does something else leaves the keys and misses a beat.
	beat := math.Exp(h.pace)
	switch before, after := k > 0, end < len(strokes); {
	case before && after && strokes[end].time-strokes[k-1].time < 2*beat,
		before && !after && strokes[k].time-strokes[k-1].time < beat,
		!before && after && strokes[end].time-strokes[end-1].time < beat:
		return true
	}
	n := float64(end - k)
	odds := -math.Log(besides) - n*math.Log(noises)
	for i := k; i < end; i++ {
		kind, as := strokes[i].kind()
		// One that sounds less like a stroke than they do is less likely to be one.
		share := h.idle[kind]
		if i > k {
			share = max(share, again)
		}
		odds += math.Log(share) + 0.5*min(0, m.llr[strokes[i].strike][as]-h.sound[kind])
	}
	for i := max(k, 1); i <= end && i < len(strokes); i++ {
		odds += h.log(strokes[i].time - strokes[i-1].time)
	}
	if k > 0 && end < len(strokes) {
		odds -= h.log(strokes[end].time - strokes[k-1].time)
	}
	return odds > -surely
}

// handOf learns the hand from the decoded lines; ok is false where too little of what
// a stroke does is heard to call one bare.
func (e *session) handOf(m *model, bare func(*stroke) bool) (h hand, ok bool) {
	const few = 30
	if m.landing.n == 0 || m.leadShare == 0 {
		return h, false
	}
	var intervals []float64
	var sounds [2][]float64
	var all [2]float64
	for _, l := range e.lines {
		for k := range l.strokes {
			st := &l.strokes[k]
			kind, as := st.kind()
			all[kind]++
			if bare(st) {
				continue
			}
			sounds[kind] = append(sounds[kind], m.llr[st.strike][as])
			if k > 0 && !bare(&l.strokes[k-1]) {
				intervals = append(intervals, math.Log(max(st.time-l.strokes[k-1].time, 1e-3)))
			}
		}
	}
	if len(intervals) < few {
		return h, false
	}
	var mad float64
	h.pace, mad = medianMAD(intervals)
	h.sigma = clamp(1.4826*mad, 0.1, 0.7)
	// Bare strokes in the midst of the beat are the hand's.
	const inTime = 1.5
	beat := func(t float64) bool { return math.Abs(math.Log(max(t, 1e-3))-h.pace) < inTime*h.sigma }
	var idle [2]float64
	for _, l := range e.lines {
		for k := 1; k+1 < len(l.strokes); k++ {
			st := &l.strokes[k]
			if bare(st) && beat(st.time-l.strokes[k-1].time) && beat(l.strokes[k+1].time-st.time) {
				idle[kindOf(st.space)]++
			}
		}
	}
	for kind := range idle {
		h.idle[kind] = (idle[kind] + 1) / (all[kind] + 20)
		h.sound[kind] = 0
		if len(sounds[kind]) > 0 {
			h.sound[kind] = middle(sounds[kind])
		}
	}
	return h, true
}

// kind indexes what is learnt apart for letters and spaces, as the log odds of the
// stroke's sound in model.llr.
func (st *stroke) kind() (kind, as int) {
	if st.space {
		return kindOf(true), asThump
	}
	return kindOf(false), asStrike
}
