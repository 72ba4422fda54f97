package compare

import (
	"math"
	"slices"

	"loosedog/diagnose"
)

// side is the takes before the adjustment, or those after it.
type side struct {
	lines []*line
	mode  mode
	// belied: the bell says that its missed spaces were none.
	belied bool
	grasp  grasp
	shown  *shown
	all    *machine // what all its lines show
}

// grasp says which part of a side's latencies is the machine's.
type grasp struct {
	linkage [linkages]share
	travel  *profile
}

// share is that of one linkage. Times in seconds.
type share struct {
	// own is the machine's share: the median of flicked strokes where they can be
	// told, else what is assumed of both sides. known tells that this side shows it.
	own   float64
	known bool
	// always: the escapement lets go on the bar's rebound, the finger has no share.
	always bool
	// atMost is the latency up to which a stroke counts as flicked; -1 for none.
	atMost float64
	// freeFrom are the machine's shares to assume, nil where the side shows its own.
	freeFrom []float64
	lead     float64 // median; 0 where none was heard
	// held are the known finger times, sorted; flickedShare is how many of the
	// strokes are flicked.
	held         []float64
	flickedShare float64
	// made and missed are how many flicked strokes made a space and did not (as far
	// as missed spaces are believed); shows tells that there are enough to say how
	// many miss, missFrom is what is assumed where there are not.
	made     int
	missed   float64
	shows    bool
	missFrom float64
}

// missShare is the share of flicked strokes that made no space.
func (s *share) missShare() float64 {
	if !s.shows {
		return s.missFrom
	}
	if s.missed == 0 {
		return 0
	}
	return s.missed / (s.missed + float64(s.made))
}

const (
	// fewestFlicked strokes make a group, and a group stands off by gap seconds and
	// by more than its own width (as for diagnose's machine latency; fewer will do,
	// for a careful hand flicks few).
	fewestFlicked = 3
	flickedGap    = 0.005
	// Latencies that spread by less than these do not follow the finger (as there).
	reboundSpread = 0.005
	reboundShare  = 0.15
	// bound is the quantile of the latencies that bounds the machine's share where
	// no flicked stroke can be told.
	bound = 0.05
	// fewestLatencies are needed to say anything of them.
	fewestLatencies = 20
)

// understand works out for two sides of one machine what is the machine's and what
// is the hand's. b may be nil: one side alone.
func understand(m mode, a, b *side) {
	sides := []*side{a}
	if b != nil {
		sides = append(sides, b)
	}
	var latencies [2][linkages][]float64
	var near [2]windows
	for i, s := range sides {
		s.mode = m
		for _, l := range s.lines {
			l.gather(m, s.belied)
		}
		near[i] = windowsOf(s.lines)
		if m != landings {
			s.grasp.travel = profileOf(s.lines, near[i])
		}
		for _, l := range s.lines {
			for _, k := range l.strokes {
				if v := latencyOf(k, m, s.grasp.travel); v >= 0 {
					l.latency[kindOf(k)] = append(l.latency[kindOf(k)], v)
				}
			}
			for k := range linkages {
				latencies[i][k] = append(latencies[i][k], l.latency[k]...)
			}
		}
		for k := range linkages {
			slices.Sort(latencies[i][k])
		}
	}
	if b != nil {
		// Where one side shows no travel at all the other's has to do for both.
		if a.grasp.travel == nil {
			a.grasp.travel = b.grasp.travel
		} else if b.grasp.travel == nil {
			b.grasp.travel = a.grasp.travel
		}
	}
	for k := range linkages {
		list := make([]*share, len(sides))
		sets := make([][]float64, len(sides))
		for i, s := range sides {
			list[i], sets[i] = &s.grasp.linkage[k], latencies[i][k]
		}
		split(m, k, list, sets)
	}
	for _, s := range sides {
		s.settle()
	}
	for k := range linkages {
		for i, s := range sides {
			own := &s.grasp.linkage[k]
			if other := sides[len(sides)-1-i]; !own.shows && other.grasp.linkage[k].shows {
				own.missFrom = other.grasp.linkage[k].missShare()
			}
		}
	}
	for i, s := range sides {
		s.shown = show(s.lines, near[i])
		s.all = s.machine(nil)
	}
}

// split tells the machine's share of sorted latencies on each side.
func split(m mode, kind int, list []*share, sets [][]float64) {
	rebounds := m != onTrip && kind == letter
	for i, s := range sets {
		rebounds = rebounds && len(s) >= fewestLatencies && rebound(s)
		list[i].atMost, list[i].own = -1, 0
	}
	least := math.Inf(1)
	for i, s := range sets {
		own := list[i]
		switch n := flicked(s); {
		case m == onTrip:
			own.always, own.known, own.atMost = true, true, math.Inf(1)
		case rebounds:
			own.always, own.known, own.own, own.atMost = true, true, diagnose.Quantile(s, 0.5), math.Inf(1)
		case n > 0:
			own.known, own.own, own.atMost = true, diagnose.Quantile(s[:n], 0.5), s[n-1]
		case len(s) > 0:
			least = min(least, diagnose.Quantile(s, bound))
		}
	}
	if math.IsInf(least, 1) {
		least = 0
	}
	for i := range list {
		own, other := list[i], list[len(list)-1-i]
		switch {
		case own.known:
		case other.known && !other.always:
			own.own, own.atMost = other.own, other.atMost
			own.freeFrom = upTo(sets[len(list)-1-i], other.atMost)
		default:
			own.own = least
			own.freeFrom = []float64{least}
		}
	}
}

func upTo(s []float64, limit float64) []float64 {
	n := 0
	for n < len(s) && s[n] <= limit {
		n++
	}
	return s[:n]
}

// rebound tells whether sorted latencies do not follow the finger.
func rebound(s []float64) bool {
	spread := diagnose.MADToSD * diagnose.MAD(s)
	return spread < reboundSpread && spread < reboundShare*diagnose.Quantile(s, 0.5)
}

// flicked is how many of the sorted latencies are of flicked strokes: those under
// the widest gap that is wider than the group under it; 0 where there is none. A
// few wrong releases, one for ten of the group, may stand in the gap, and one for
// twenty ahead of the group.
func flicked(s []float64) (n int) {
	if len(s) < fewestLatencies {
		return 0
	}
	var widest float64
	for k := fewestFlicked; k <= len(s)/2; k++ {
		gap := s[k+k/10] - s[k-1]
		if gap >= flickedGap && gap > s[k-1]-s[k/20] && gap > widest {
			n, widest = k, gap
		}
	}
	return n
}

// settle counts what a side shows of flicked strokes and collects its finger times.
func (s *side) settle() {
	for k := range linkages {
		own := &s.grasp.linkage[k]
		var leads []float64
		missed, strokes := 0, 0
		for _, l := range s.lines {
			for _, v := range l.latency[k] {
				switch {
				case v <= own.atMost:
					l.free[k] = append(l.free[k], v)
					own.made++
				default:
					own.held = append(own.held, max(0, v-own.own))
				}
			}
			leads = append(leads, l.lead[k]...)
			missed += l.missed[k]
			strokes += len(l.strokes)
		}
		slices.Sort(own.held)
		if own.lead = diagnose.Median(leads); math.IsNaN(own.lead) {
			own.lead = 0
		}
		own.missed = believed(missed, strokes)
		own.shows = own.made >= fewestFlicked || own.missed > 0
		if all := float64(own.made+len(own.held)) + own.missed; all > 0 {
			own.flickedShare = (float64(own.made) + own.missed) / all
		}
	}
}

// machine is what the side's lines show, each times over.
func (s *side) machine(times []int) *machine { return build(s.shown, times, s.mode, &s.grasp) }

// playAll works out the hand's part of every stroke of the side.
func (s *side) playAll() {
	for _, l := range s.lines {
		l.play(s.mode, &s.grasp)
	}
}

// typing is the side's own lines as typing.
func (s *side) typing() [][]stroke {
	out := make([][]stroke, len(s.lines))
	for i, l := range s.lines {
		out[i] = l.typing
	}
	return out
}

// counted is how many letters came out crowded or piled in the takes themselves,
// per page: of the strokes whose spacing could be told.
func (s *side) counted(times []int) float64 {
	bad, n := 0, 0
	for i, l := range s.lines {
		k := 1
		if times != nil {
			k = times[i]
		}
		bad += k * l.bad
		n += k * l.pairs
		if len(l.strokes) > 0 {
			n += k // the first of a line always stands clear
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return PageStrokes * float64(bad) / float64(n)
}
