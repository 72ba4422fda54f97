package compare

import (
	"fmt"
	"math"

	"loosedog/diagnose"
)

// series is a measure's values: those of each line, in lines of either side.
type series struct {
	name, text, unit, where string
	scale                   float64  // from the inside's unit to the printed one
	good                    int      // as of its Measure
	floor                   float64  // as of its Measure
	fewest                  int      // values a line needs to count
	lines                   [2][]int // the line of each value
	values                  [2][]float64
}

func (s *series) add(side, line int, v float64) {
	if !math.IsNaN(v) && !math.IsInf(v, 0) {
		s.lines[side] = append(s.lines[side], line)
		s.values[side] = append(s.values[side], v*s.scale)
	}
}

// medians of the lines that have enough values.
func (s *series) medians(side int) []float64 {
	by := map[int][]float64{}
	last := 0
	for i, l := range s.lines[side] {
		by[l] = append(by[l], s.values[side][i])
		last = max(last, l)
	}
	var out []float64
	for l := range last + 1 {
		if len(by[l]) >= max(s.fewest, 1) {
			out = append(out, diagnose.Median(by[l]))
		}
	}
	return out
}

// measured tests a series by its line medians; unknown where a side has none.
func (s *series) measured() Measure {
	m := blank(s.name, s.text, s.unit, s.where)
	m.good, m.floor = s.good, s.floor
	m.ValuesBefore, m.ValuesAfter = len(s.values[0]), len(s.values[1])
	m.Before, m.After = diagnose.Number(diagnose.Median(s.values[0])), diagnose.Number(diagnose.Median(s.values[1]))
	a, b := s.medians(0), s.medians(1)
	m.LinesBefore, m.LinesAfter = len(a), len(b)
	if len(a) == 0 || len(b) == 0 {
		return m
	}
	m.Shift = Shift(a, b)
	test := rankSum(a, b)
	m.P, m.Test = diagnose.Number(test.TwoSided), testRank
	if !test.Exact {
		m.Test = testRankNormal
	}
	e := cliff(s.values[0], s.values[1], level)
	m.Effect = between(e.Delta, e.Low, e.High)
	return m
}

// The tests by name.
const (
	testRank       = "exact rank-sum test of the lines"
	testRankNormal = "rank-sum test of the lines, normal approximation"
	testRankStroke = "rank-sum test of the strokes"
	testDeal       = "permutation test of the lines"
)

func blank(name, text, unit, where string) Measure {
	u, none := diagnose.Unknown(), UnknownRange()
	return Measure{Name: name, Text: text, Unit: unit, Where: where, Before: u, After: u,
		Shift: none, P: u, Corrected: u, Effect: none}
}

func between(value, low, high float64) Range {
	return Range{Value: diagnose.Number(value), Low: diagnose.Number(low), High: diagnose.Number(high)}
}

const (
	// alpha is the corrected p-value under which a change is shown.
	alpha = 0.05
	// PlaceFloor in ms: moving the microphone by 20 cm between platen and escapement
	// shifts their sounds against one another by 0.2 m / 343 m/s = 0.58 ms.
	PlaceFloor = 0.6
	// FewestOfLine is how many values a line's median needs.
	FewestOfLine = 4
)

// conclude corrects a list's p-values and says which measures changed.
func conclude(list []Measure) {
	p := make([]float64, len(list))
	for i, m := range list {
		p[i] = float64(m.P)
	}
	for i, q := range Holm(p) {
		m := &list[i]
		m.Corrected = diagnose.Number(q)
		shift := float64(m.Shift.Value)
		if !(q < alpha) || shift == 0 || !(math.Abs(shift) >= m.floor) {
			continue
		}
		switch {
		case m.good == 0:
			m.Change = Changed
		case (shift > 0) == (m.good > 0):
			m.Change = Better
		default:
			m.Change = Worse
		}
	}
}

// shares are the numbers of yes and of all, line by line, of either side.
type shares struct{ yes, all [2][]float64 }

func (s *shares) add(side int, yes, all float64) {
	s.yes[side], s.all[side] = append(s.yes[side], yes), append(s.all[side], all)
}

func ratio(yes, all []float64) float64 {
	var y, n float64
	for i := range yes {
		y, n = y+yes[i], n+all[i]
	}
	if n == 0 {
		return math.NaN()
	}
	return y / n
}

// tested compares the shares by dealing out the lines.
func (s *shares) tested() (before, after float64, p dealt) {
	before, after = ratio(s.yes[0], s.all[0]), ratio(s.yes[1], s.all[1])
	n := len(s.yes[0])
	yes, all := append(append([]float64{}, s.yes[0]...), s.yes[1]...), append(append([]float64{}, s.all[0]...), s.all[1]...)
	p = dealLines(n, len(s.yes[1]), func(first []bool) float64 {
		var y, a [2]float64
		for i, in := range first {
			k := 1
			if in {
				k = 0
			}
			y[k], a[k] = y[k]+yes[i], a[k]+all[i]
		}
		if a[0] == 0 || a[1] == 0 {
			return 0
		}
		return y[1]/a[1] - y[0]/a[0]
	})
	return before, after, p
}

// measured is the measure of the shares, in percent; Before or After is unknown
// where a side has none.
func (s *shares) measured(name, text string) Measure {
	before, after, d := s.tested()
	low, high := bootstrapShares(s)
	m := blank(name, text, "%", "")
	m.Before, m.After = diagnose.Number(100*before), diagnose.Number(100*after)
	m.Shift = between(100*(after-before), 100*low, 100*high)
	// For yes and no Cliff's delta is the difference of the shares.
	m.Effect = between(after-before, low, high)
	m.P, m.Test = diagnose.Number(d.P), testDeal
	m.LinesBefore, m.LinesAfter = len(s.yes[0]), len(s.yes[1])
	for i, to := range []*int{&m.ValuesBefore, &m.ValuesAfter} {
		for _, n := range s.all[i] {
			*to += int(n)
		}
	}
	return m
}

// rangeOf is the range of carriage positions that both sides' travels share: from
// the later first twentieth to the earlier last one.
func rangeOf(sides [2]*side) (from, to int) {
	from, to = 0, math.MaxInt
	for _, s := range sides {
		var p []float64
		for _, l := range s.lines {
			for _, v := range l.travel {
				p = append(p, float64(v.position))
			}
		}
		p = diagnose.Sorted(p)
		if len(p) == 0 {
			return 0, -1
		}
		from, to = max(from, int(diagnose.Quantile(p, 0.05))), min(to, int(diagnose.Quantile(p, 0.95)))
	}
	return from, to
}

// machineMeasures are the machine's own measures.
func machineMeasures(sides [2]*side, from, to int) []Measure {
	m := sides[0].mode
	travel := &series{name: "travel", text: "travel, release to landing", unit: "ms", scale: 1000, good: -1, fewest: FewestOfLine}
	lost := &series{name: "pull_lost", text: "pull lost along the line", unit: "%", scale: 100, good: -1}
	lead := &series{name: "lead", text: "lead, trip to strike", unit: "ms", scale: 1000, good: 1, floor: PlaceFloor, fewest: FewestOfLine}
	own := &series{name: "machine_latency", text: "the machine's share of the latency", unit: "ms", scale: 1000, good: -1, floor: PlaceFloor}
	if m == landings {
		own.name, own.text = "machine_ready", "the machine's share of the ready time"
	}
	known := sides[0].grasp.linkage[letter].known && sides[1].grasp.linkage[letter].known && m != onTrip
	for i, s := range sides {
		for j, l := range s.lines {
			for _, v := range l.lead[letter] {
				lead.add(i, j, v)
			}
			var shared []placed
			for _, v := range l.travel {
				if v.position >= from && v.position <= to {
					travel.add(i, j, v.value)
					shared = append(shared, v)
				}
			}
			lost.add(i, j, pullLost(shared, from, to))
			if known {
				for _, v := range l.free[letter] {
					own.add(i, j, v)
				}
			}
		}
	}
	var list []Measure
	for _, s := range []*series{travel, lead, own, lost} {
		if len(s.values[0]) > 0 && len(s.values[1]) > 0 {
			list = append(list, s.measured())
		}
	}
	if missed, ok := missedMeasure(sides); ok {
		list = append(list, missed)
	}
	conclude(list)
	return list
}

// pullLost is the share of the net pull at position from that is gone at to, by a
// robust line through 1/travel^2 of one line of the page; NaN where it shows too
// little.
func pullLost(v []placed, from, to int) float64 {
	const fewest, most = 10, 200
	if len(v) < fewest || to-from < shortRange {
		return math.NaN()
	}
	if len(v) > most {
		v = v[:most] // no line is as long
	}
	x, y := make([]float64, len(v)), make([]float64, len(v))
	for i, p := range v {
		x[i], y[i] = float64(p.position), 1/(p.value*p.value)
	}
	var slopes []float64
	for i := range x {
		for j := range i {
			if x[i] != x[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	slope, middle, height := diagnose.Median(slopes), diagnose.Median(x), diagnose.Median(y)
	first, last := height+slope*(float64(from)-middle), height+slope*(float64(to)-middle)
	if !(first > 0) {
		return math.NaN()
	}
	return 1 - last/first
}

// missedMeasure compares how many of the strokes that were tripped equally briefly,
// the flicked ones, made no space; ok is false where a side shows none.
func missedMeasure(sides [2]*side) (m Measure, ok bool) {
	var sh shares
	for i, side := range sides {
		shows := false
		for k := range linkages {
			g := &side.grasp.linkage[k]
			shows = shows || g.shows && !g.always
		}
		if !shows {
			return m, false
		}
		for _, l := range side.lines {
			var yes, all float64
			for k := range linkages {
				if g := &side.grasp.linkage[k]; g.shows && !g.always {
					if g.missed > 0 {
						yes += float64(l.missed[k])
						all += float64(l.missed[k])
					}
					all += float64(len(l.free[k]))
				}
			}
			sh.add(i, yes, all)
		}
	}
	m = sh.measured("missed_share", "flicked strokes that made no space")
	m.good = -1
	return m, m.Before.Known() && m.After.Known()
}

// positionMeasures compare the travel in parts of the line.
func positionMeasures(sides [2]*side, from, to int) []Measure {
	const part = 10
	if sides[0].mode == landings {
		return []Measure{}
	}
	list := []Measure{}
	for first := from / part * part; first <= to; first += part {
		last := first + part - 1
		s := &series{name: "travel", text: "travel", unit: "ms", where: fmt.Sprintf("positions %d to %d", first, last), scale: 1000, good: -1, fewest: FewestOfLine - 1}
		for i, side := range sides {
			for j, l := range side.lines {
				for _, v := range l.travel {
					if v.position >= max(first, from) && v.position <= min(last, to) {
						s.add(i, j, v.value)
					}
				}
			}
		}
		if m := s.measured(); m.LinesBefore > 0 && m.LinesAfter > 0 {
			list = append(list, m)
		}
	}
	conclude(list)
	return list
}

// letterMeasures compare lead and latency of single letters with the other letters
// of their take, where the text is known.
func letterMeasures(sides [2]*side) []Measure {
	const fewest, mostLetters = 4, 300
	type key struct{ what, letter string }
	values := map[key]*[2][]float64{}
	var order []key
	for i, s := range sides {
		var leads, latencies []float64
		for _, l := range s.lines {
			for _, k := range l.strokes {
				if k.Kind == diagnose.KindType {
					leads = append(leads, float64(k.LeadMS()))
					latencies = append(latencies, float64(k.LatencyMS))
				}
			}
		}
		lead, latency := diagnose.Median(leads), diagnose.Median(latencies)
		for _, l := range s.lines {
			for _, k := range l.strokes {
				if k.Char == nil || k.Kind != diagnose.KindType {
					continue
				}
				for _, v := range []struct {
					what  string
					value float64
				}{{"lead", float64(k.LeadMS()) - lead}, {"latency", float64(k.LatencyMS) - latency}} {
					if math.IsNaN(v.value) {
						continue
					}
					at := key{v.what, *k.Char}
					if values[at] == nil {
						values[at] = new([2][]float64)
						order = append(order, at)
					}
					values[at][i] = append(values[at][i], v.value)
				}
			}
		}
	}
	list := []Measure{}
	for _, at := range order {
		v := values[at]
		if len(v[0]) < fewest || len(v[1]) < fewest {
			continue
		}
		m := blank(at.what, at.what+" of one letter, against the others of its take", "ms", at.letter)
		m.Before, m.After = diagnose.Number(diagnose.Median(v[0])), diagnose.Number(diagnose.Median(v[1]))
		m.ValuesBefore, m.ValuesAfter = len(v[0]), len(v[1])
		v[0], v[1] = evenly(v[0], mostLetters), evenly(v[1], mostLetters)
		m.Shift, m.floor = Shift(v[0], v[1]), PlaceFloor
		m.P, m.Test = diagnose.Number(rankSum(v[0], v[1]).TwoSided), testRankStroke
		e := cliff(v[0], v[1], level)
		m.Effect = between(e.Delta, e.Low, e.High)
		list = append(list, m)
	}
	conclude(list)
	return list
}

// handMeasures speak of the typing.
func handMeasures(sides [2]*side) []Measure {
	rate := &series{name: "interval", text: "interval between strokes", unit: "ms", scale: 1000, fewest: FewestOfLine}
	hold := &series{name: "hand_latency", text: "the finger's share of the latency", unit: "ms", scale: 1000, fewest: FewestOfLine}
	var sh shares
	always := false
	for i, s := range sides {
		always = always || s.grasp.linkage[letter].always
		for j, l := range s.lines {
			flicked := 0.0
			for n, t := range l.typing {
				if n+1 < len(l.typing) && t.interval < longPause {
					rate.add(i, j, t.interval)
				}
				if t.flicked {
					flicked++
				} else if v := latencyOf(l.strokes[n], s.mode, s.grasp.travel); v >= 0 && t.kind == letter {
					hold.add(i, j, t.hold)
				}
			}
			sh.add(i, flicked, float64(len(l.typing)))
		}
	}
	list := []Measure{rate.measured()}
	if !always {
		list = append(list, hold.measured(), sh.measured("flicked_share", "strokes flicked"))
	}
	conclude(list)
	return list
}
