package compare

import (
	"math"
	"math/rand/v2"

	"loosedog/diagnose"
)

// line is one line of a take: what it shows of the machine, and its typing.
// Times in seconds.
type line struct {
	take, number int // which take of its side, which line of it
	strokes      []diagnose.Stroke
	typing       []stroke

	lead    [linkages][]float64
	latency [linkages][]float64 // of strokes whose release was heard or follows
	free    [linkages][]float64 // latencies of flicked strokes that made a space
	missed  [linkages]int
	travel  []placed
	// pairs are the pairs of strokes whose spacing could be told, bad those of them
	// that are crowded or piled.
	pairs, bad int
}

// placed is a value at a carriage position.
type placed struct {
	position int
	value    float64
}

// mode is which carriage sounds a comparison can rest on.
type mode int

const (
	// apart: release and landing are heard apart.
	apart mode = iota
	// landings: only the landing; strike to landing stands for the latency and the
	// travel is part of it.
	landings
	// onTrip: a down-stroke action, whose carriage starts on the trip.
	onTrip
)

func seconds(ms diagnose.Number) float64 { return float64(ms) / 1000 }

func kindOf(s diagnose.Stroke) int {
	if s.Kind == diagnose.KindSpace {
		return bar
	}
	return letter
}

// linesOf cuts takes into their lines.
func linesOf(takes []*diagnose.Take) []*line {
	var all []*line
	for n, t := range takes {
		for i := 0; i < len(t.Strokes); {
			j := i
			for j < len(t.Strokes) && t.Strokes[j].Line == t.Strokes[i].Line {
				j++
			}
			all = append(all, &line{take: n, number: t.Strokes[i].Line, strokes: t.Strokes[i:j]})
			i = j
		}
	}
	return all
}

// gather collects what a line shows of the machine. Where the bell belies its
// missed spaces, they and what follows from them are not counted.
func (l *line) gather(m mode, belied bool) {
	for i, s := range l.strokes {
		k := kindOf(s)
		if lead := seconds(s.LeadMS()); lead >= 0 {
			l.lead[k] = append(l.lead[k], lead)
		}
		if s.TravelMS > 0 && m != landings {
			l.travel = append(l.travel, placed{s.Position, seconds(s.TravelMS)})
		}
		if s.MissedSpace && !belied {
			l.missed[k]++
		}
		if i > 0 && s.Spacing != nil && !(belied && l.strokes[i-1].MissedSpace) {
			l.pairs++
			if *s.Spacing != diagnose.SpacingClear {
				l.bad++
			}
		}
	}
}

// latencyOf is a stroke's latency in seconds, from its landing where the release
// was not heard; NaN where neither tells. In mode landings it runs to the landing.
func latencyOf(s diagnose.Stroke, m mode, travel *profile) float64 {
	if m == landings {
		return seconds(s.ReadyMS)
	}
	if s.LatencyMS.Known() {
		return seconds(s.LatencyMS)
	}
	if s.ReadyMS.Known() && travel != nil {
		return max(0, seconds(s.ReadyMS)-travel.at(s.Position))
	}
	return math.NaN()
}

// shared tells whether stroke i has no release of its own: nothing of the carriage
// was heard although it missed no space, and the next letter stands on its own.
func (l *line) shared(i int) bool {
	s := l.strokes[i]
	if s.MissedSpace || s.ReleaseS.Known() || s.LandingS.Known() || i+1 >= len(l.strokes) {
		return false
	}
	next := l.strokes[i+1].Spacing
	return next != nil && *next == diagnose.SpacingPiled
}

// longPause stands for an interval that is not known.
const longPause = 1.0

// play works out the hand's part of every stroke of the line: g says what of a
// latency is the machine's. The finger time of a stroke whose carriage was not
// heard is drawn from those of the others.
func (l *line) play(m mode, g *grasp) {
	r := rand.New(rand.NewPCG(uint64(l.take)<<32|uint64(l.number), 0x11e5))
	l.typing = make([]stroke, len(l.strokes))
	for i, s := range l.strokes {
		t := &l.typing[i]
		t.kind = kindOf(s)
		t.chance(r)
		drawn := r.Float64()
		switch t.interval = seconds(s.IntervalMS); {
		case i+1 == len(l.strokes):
			t.interval = 0
		case !(t.interval >= 0):
			t.interval = longPause
		}
		k := &g.linkage[t.kind]
		latency := latencyOf(s, m, g.travel)
		switch {
		case m == onTrip || k.always:
			t.flicked = true // the finger has no share
		case s.MissedSpace && k.missed > 0:
			t.flicked = true
		case latency <= k.atMost:
			t.flicked = true
		case latency > 0:
			t.hold = max(0, latency-k.own)
		case l.shared(i):
			// It held at least until the next stroke tripped.
			least := t.interval - k.own - g.linkage[letter].lead
			t.hold = max(least, drawAbove(k.held, least, drawn))
		default:
			if t.flicked = drawn < k.flickedShare; !t.flicked {
				t.hold = drawAbove(k.held, 0, (drawn-k.flickedShare)/(1-k.flickedShare))
			}
		}
	}
}

// drawAbove draws from those of the sorted values that are least or more.
func drawAbove(values []float64, least, u float64) float64 {
	first := 0
	for first < len(values) && values[first] < least {
		first++
	}
	if first == len(values) {
		return max(least, 0)
	}
	return diagnose.Quantile(values[first:], u)
}
