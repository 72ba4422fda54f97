package compare

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// profile is the travel in seconds at each carriage position, and how single
// travels scatter around it.
type profile struct {
	typical []float64 // by position
	scatter []float64 // sorted differences from it
}

const (
	// A travel is the median of those within nearby positions of it, or of at least
	// fewestNear of the nearest.
	nearby     = 2
	fewestNear = 8
	// Differences from it further out than this many standard deviations are wrong
	// events, not the machine.
	furthest = 3
	madToSD  = 1.4826
)

// profileOf learns travel along the line; nil of no value.
func profileOf(values []placed) *profile {
	if len(values) == 0 {
		return nil
	}
	last := 0
	for _, v := range values {
		last = max(last, v.position)
	}
	last = min(last, 400) // no line is longer
	at := make([][]float64, last+1)
	for _, v := range values {
		p := min(max(v.position, 0), last)
		at[p] = append(at[p], v.value)
	}
	pr := &profile{typical: make([]float64, last+1)}
	var near []float64
	for p := range pr.typical {
		for reach := nearby; ; reach++ {
			near = near[:0]
			for q := max(0, p-reach); q <= min(last, p+reach); q++ {
				near = append(near, at[q]...)
			}
			if len(near) >= min(fewestNear, len(values)) {
				break
			}
		}
		slices.Sort(near)
		pr.typical[p] = quantile(near, 0.5)
	}
	off := make([]float64, 0, len(values))
	for p, list := range at {
		for _, v := range list {
			off = append(off, v-pr.typical[p])
		}
	}
	slices.Sort(off)
	middle := quantile(off, 0.5)
	away := make([]float64, len(off))
	for i, v := range off {
		away[i] = math.Abs(v - middle)
	}
	slices.Sort(away)
	limit := furthest * madToSD * quantile(away, 0.5)
	low, high := 0, len(off)
	for low < high-1 && off[low] < middle-limit {
		low++
	}
	for high > low+1 && off[high-1] > middle+limit {
		high--
	}
	pr.scatter = off[low:high]
	return pr
}

// at is the usual travel at a position.
func (p *profile) at(position int) float64 {
	return p.typical[min(max(position, 0), len(p.typical)-1)]
}

// machine is what takes showed of a machine, ready for a replay.
type machine struct {
	mode    mode
	linkage [linkages]struct {
		lead, free []float64 // sorted
		miss       float64   // share of flicked strokes that make no space
		always     bool      // it lets go on the rebound, however long the finger stays
	}
	travel *profile // nil in mode landings
}

// build makes the machine that the given lines show. g says what is the machine's
// in their latencies and what to put where they show nothing.
func build(lines []*line, m mode, g *grasp) *machine {
	b := &machine{mode: m}
	var travels []placed
	n := 0
	for _, l := range lines {
		n += len(l.travel)
	}
	travels = make([]placed, 0, n)
	for _, l := range lines {
		travels = append(travels, l.travel...)
	}
	if m != landings {
		b.travel = profileOf(travels)
		if b.travel == nil {
			b.travel = g.travel
		}
	}
	for k := range b.linkage {
		var lead, free []float64
		missed, strokes := 0, 0
		for _, l := range lines {
			lead = append(lead, l.lead[k]...)
			free = append(free, l.free[k]...)
			missed += l.missed[k]
			strokes += len(l.strokes)
		}
		slices.Sort(lead)
		slices.Sort(free)
		own := &g.linkage[k]
		to := &b.linkage[k]
		if to.lead = lead; len(lead) == 0 {
			to.lead = []float64{own.lead}
		}
		to.free = free
		if len(free) == 0 || own.freeFrom != nil {
			to.free = own.freeFrom
		}
		if len(to.free) == 0 {
			to.free = []float64{own.own}
		}
		to.always = own.always
		switch {
		case own.shows:
			real := believed(missed, strokes)
			if real > 0 {
				to.miss = real / (real + float64(len(free)))
			}
		default:
			to.miss = own.missFrom
		}
	}
	return b
}

// uncertain lets the shares of flicked strokes that make no space be as uncertain as
// their numbers leave them: drawn from the Beta distribution that Jeffreys' prior
// gives (k + 1/2, n - k + 1/2), for lines drawn anew cannot show what none of them
// holds.
func (m *machine) uncertain(r rand.Source, g *grasp) *machine {
	for k := range m.linkage {
		if own := &g.linkage[k]; own.shows && !own.always {
			m.linkage[k].miss = distuv.Beta{Alpha: own.missed + 0.5, Beta: float64(own.made) + 0.5, Src: r}.Rand()
		}
	}
	return m
}

// misheard is the share of strokes that may be called missed spaces although they
// were none.
const misheard = 1.0 / 200

// believed is how many of the missed spaces are taken for real.
func believed(missed, strokes int) float64 {
	return max(0, float64(missed)-misheard*float64(strokes))
}

// replay types a line on the machine and counts the strokes that come out crowded
// or piled.
func (m *machine) replay(typing []stroke) (bad int) {
	never := math.Inf(-1)
	var (
		at, back       = 0.0, never // this strike; when the escapement lets go
		start, landing = never, never
		position       int
		misses, none   bool    // the open stroke makes no space; the last one made none
		travel         float64 // its quantile
	)
	for i := range typing {
		s := &typing[i]
		k := &m.linkage[s.kind]
		trip := at - quantile(k.lead, s.lead)
		let := at + quantile(k.free, s.free)
		if !k.always {
			let += s.hold
		}
		if m.mode == onTrip {
			let = trip
		}
		miss := (s.flicked || k.always) && s.luck < k.miss
		switch {
		case i == 0:
			back, misses = let, miss
		case trip < back && m.mode != onTrip:
			// The bar before still holds the universal bar: one release for both.
			bad++
			back, misses = max(back, let), false
		default:
			if none = misses; !none {
				start = max(back, landing)
				landing = start + m.travelAt(position, travel)
				position++
			}
			if none || at <= start || at < landing {
				bad++
			}
			back, misses = let, miss
		}
		travel = s.travel
		at += s.interval
	}
	return bad
}

func (m *machine) travelAt(position int, u float64) float64 {
	if m.travel == nil {
		return 0
	}
	return max(0, m.travel.at(position)+quantile(m.travel.scatter, u))
}

// perPage types all lines and gives the letters crowded or piled per page.
func (m *machine) perPage(lines [][]stroke) float64 {
	bad, n := 0, 0
	for _, l := range lines {
		bad += m.replay(l)
		n += len(l)
	}
	if n == 0 {
		return math.NaN()
	}
	return PageStrokes * float64(bad) / float64(n)
}
