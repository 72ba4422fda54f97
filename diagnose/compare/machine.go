package compare

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"loosedog/diagnose"
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
	// longest is the furthest position that is told apart; no line is longer.
	longest = 400
)

// owned is a value and the line that it comes from.
type owned struct {
	value float64
	line  int
}

func byValue(a, b owned) int { return cmp.Or(cmp.Compare(a.value, b.value), a.line-b.line) }

// windows are, for every carriage position, the travels near it, sorted.
type windows [][]owned

// windowsOf gathers the travels of lines; nil where there is none.
func windowsOf(lines []*line) windows {
	last, n := -1, 0
	for _, l := range lines {
		for _, v := range l.travel {
			last, n = max(last, min(v.position, longest)), n+1
		}
	}
	if n == 0 {
		return nil
	}
	at := make([][]owned, last+1)
	for i, l := range lines {
		for _, v := range l.travel {
			p := min(max(v.position, 0), last)
			at[p] = append(at[p], owned{v.value, i})
		}
	}
	w := make(windows, last+1)
	for p := range w {
		for reach := nearby; ; reach++ {
			var near []owned
			for q := max(0, p-reach); q <= min(last, p+reach); q++ {
				near = append(near, at[q]...)
			}
			if len(near) >= min(fewestNear, n) {
				slices.SortFunc(near, byValue)
				w[p] = near
				break
			}
		}
	}
	return w
}

// medianOf is the median of sorted values whose lines count times over (once where
// times is nil); NaN where none counts.
func medianOf(values []owned, times []int) float64 {
	if times == nil {
		n := len(values)
		if n == 0 {
			return math.NaN()
		}
		return (values[(n-1)/2].value + values[n/2].value) / 2
	}
	n := 0
	for _, v := range values {
		n += times[v.line]
	}
	low, high, seen := math.NaN(), math.NaN(), 0
	for _, v := range values {
		if seen += times[v.line]; seen > (n-1)/2 && math.IsNaN(low) && n > 0 {
			low = v.value
		}
		if seen > n/2 && n > 0 {
			high = v.value
			break
		}
	}
	return (low + high) / 2
}

// profileOf learns travel along the line; nil of no value.
func profileOf(lines []*line, w windows) *profile {
	if w == nil {
		return nil
	}
	pr := &profile{typical: make([]float64, len(w))}
	for p := range w {
		pr.typical[p] = medianOf(w[p], nil)
	}
	var off []float64
	for _, l := range lines {
		for _, v := range l.travel {
			off = append(off, v.value-pr.at(v.position))
		}
	}
	slices.Sort(off)
	middle := diagnose.Quantile(off, 0.5)
	limit := furthest * diagnose.MADToSD * diagnose.MAD(off)
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

// shown is all that a side's lines show of the machine, sorted once so that
// drawing the lines anew needs no sorting.
type shown struct {
	windows windows
	linkage [linkages]struct {
		lead, free []owned
		missed     []int // by line
	}
	strokes []int // by line
}

// show collects it from lines that know their flicked strokes.
func show(lines []*line, w windows) *shown {
	s := &shown{windows: w}
	for i, l := range lines {
		s.strokes = append(s.strokes, len(l.strokes))
		for k := range linkages {
			to := &s.linkage[k]
			to.missed = append(to.missed, l.missed[k])
			for _, v := range l.lead[k] {
				to.lead = append(to.lead, owned{v, i})
			}
			for _, v := range l.free[k] {
				to.free = append(to.free, owned{v, i})
			}
		}
	}
	for k := range s.linkage {
		slices.SortFunc(s.linkage[k].lead, byValue)
		slices.SortFunc(s.linkage[k].free, byValue)
	}
	return s
}

// counting gives sorted values as often as their lines count.
func counting(values []owned, times []int) []float64 {
	out := make([]float64, 0, len(values)+len(values)/2)
	for _, v := range values {
		n := 1
		if times != nil {
			n = times[v.line]
		}
		for range n {
			out = append(out, v.value)
		}
	}
	return out
}

// build makes the machine that lines show, each counting times over (once where
// times is nil). g says what is the machine's in their latencies and what to put
// where they show nothing.
func build(s *shown, times []int, m mode, g *grasp) *machine {
	b := &machine{mode: m}
	if m != landings {
		b.travel = g.travel
		if s.windows != nil && times != nil {
			b.travel = &profile{typical: make([]float64, len(s.windows)), scatter: g.travel.scatter}
			for p := range s.windows {
				v := medianOf(s.windows[p], times)
				if math.IsNaN(v) {
					v = g.travel.at(p)
				}
				b.travel.typical[p] = v
			}
		}
	}
	strokes := 0
	for i, n := range s.strokes {
		if times != nil {
			n *= times[i]
		}
		strokes += n
	}
	for k := range b.linkage {
		own, from, to := &g.linkage[k], &s.linkage[k], &b.linkage[k]
		if to.lead = counting(from.lead, times); len(to.lead) == 0 {
			to.lead = []float64{own.lead}
		}
		free := counting(from.free, times)
		if to.free = free; len(free) == 0 || own.freeFrom != nil {
			to.free = own.freeFrom
		}
		if len(to.free) == 0 {
			to.free = []float64{own.own}
		}
		to.always = own.always
		if !own.shows {
			to.miss = own.missFrom
			continue
		}
		missed := 0
		for i, n := range from.missed {
			if times != nil {
				n *= times[i]
			}
			missed += n
		}
		if real := believed(missed, strokes); real > 0 {
			to.miss = real / (real + float64(len(free)))
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

const (
	// misheard is the share of strokes that may be called missed spaces although they
	// were none.
	misheard = 1.0 / 200
	// fewestMissed is how many missed spaces beyond those are believed.
	fewestMissed = 3
)

// believed is how many of the missed spaces are taken for real.
func believed(missed, strokes int) float64 {
	if n := float64(missed) - misheard*float64(strokes); n >= fewestMissed {
		return n
	}
	return 0
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
		trip := at - diagnose.Quantile(k.lead, s.lead)
		let := at + diagnose.Quantile(k.free, s.free)
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
	return max(0, m.travel.at(position)+diagnose.Quantile(m.travel.scatter, u))
}

// perPage types lines, each times over (once where times is nil), and gives the
// letters crowded or piled per page.
func (m *machine) perPage(lines [][]stroke, times []int) float64 {
	bad, n := 0, 0
	for i, l := range lines {
		k := 1
		if times != nil {
			k = times[i]
		}
		if k > 0 {
			bad += k * m.replay(l)
			n += k * len(l)
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return PageStrokes * float64(bad) / float64(n)
}
