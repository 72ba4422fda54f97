package main

import (
	"cmp"
	"math"
	"slices"

	"loosedog/diagnose"
	"loosedog/onset"
)

// The tolerances in seconds (the project's goals): strikes 2 ms, in noise or through a
// lossy codec 5 ms; trips 2 ms; releases and landings 3 ms; the space bar's
// dull thump, whose beginning is less sharp, 5 ms.
const (
	strikeWindow      = 0.002
	roughStrikeWindow = 0.005
	spaceWindow       = 0.005
	tripWindow        = 0.002
	carriageWindow    = 0.003
)

// ownWindow is within which a stroke that was found counts as a true one when
// the labels of both are compared. Two strikes are never so near.
const ownWindow = 0.010

// kinds are the rows of the table for one take.
var kinds = []string{"strike", "space bar", "trip", "release", "landing"}

// takeScore is how well one take, or several, was measured.
type takeScore struct {
	takes  int
	rough  bool // scored with the wider strike window
	events map[string]*score
	all    score // events of any kind, in the window of strikes
	// An outside onset detector on the strikes, and on events of any kind.
	outer, outerAll score

	// Pairs labelled crowded or piled: in truth, found, and both.
	badTrue, badFound, badBoth int
	// Lines of the page.
	linesTrue, linesFound int
	// One entry a take: the median travel in seconds, and the share of the pull
	// lost along the line, in truth and as measured.
	travel, lost []trueAndMeasured
	// What was taken for an event that was none, by kind of noise.
	noises map[string]*noiseScore
	// Takes that were called unusable, and takes with each problem.
	unusable int
	problems map[string]int
	// What was said of spoiled takes against how well they were measured.
	gate gateCount
}

type trueAndMeasured struct{ truth, measured, slopeTrue, slopeMeasured float64 }

func newTakeScore() *takeScore {
	s := &takeScore{events: map[string]*score{}, problems: map[string]int{}, noises: map[string]*noiseScore{}}
	for _, k := range kinds {
		s.events[k] = new(score)
	}
	return s
}

// scoreTake compares one measured take with its truth. Second landings of a
// skip count as landings.
func scoreTake(t *truth, sounds *onset.Take, take *diagnose.Take, rough bool) *takeScore {
	s := newTakeScore()
	s.takes, s.rough = 1, rough
	ref, est := trueTimes(t), foundTimes(sounds, take)
	for k := range ref {
		*s.events[k] = scoreEvents(ref[k], est[k], window(k, rough))
	}
	s.all = scoreEvents(anyKind(ref), anyKind(est), window("strike", rough))
	s.scoreLabels(t, take)
	s.linesTrue, s.linesFound = trueLines(t), len(take.Lines)
	if !take.Recording.Usable {
		s.unusable++
	}
	for _, p := range take.Recording.Problems {
		s.problems[p.Code] = 1
	}
	s.scoreTravel(t, take)
	s.noises = takenFor(t, sounds, take, rough)
	return s
}

// window is the tolerance for one kind of event in seconds.
func window(kind string, rough bool) float64 {
	switch {
	case kind == "space bar":
		return spaceWindow
	case kind == "trip":
		return tripWindow
	case kind == "release" || kind == "landing":
		return carriageWindow
	case rough:
		return roughStrikeWindow
	}
	return strikeWindow
}

// anyKind are the times of all kinds together, in order.
func anyKind(times map[string][]float64) []float64 {
	var all []float64
	for _, v := range times {
		all = append(all, v...)
	}
	slices.Sort(all)
	return all
}

func trueTimes(t *truth) map[string][]float64 {
	m := map[string][]float64{}
	for _, k := range kinds {
		m[k] = nil
	}
	for _, s := range t.Strokes {
		kind := "strike"
		if s.Space {
			kind = "space bar"
		}
		for _, e := range []struct {
			kind string
			time *float64
		}{
			{kind, &s.Strike}, {"trip", s.Trip}, {"release", s.Release},
			{"landing", s.Landing}, {"landing", s.SkipLanding},
		} {
			if e.time != nil {
				m[e.kind] = append(m[e.kind], *e.time)
			}
		}
	}
	return m
}

func foundTimes(sounds *onset.Take, take *diagnose.Take) map[string][]float64 {
	m := map[string][]float64{}
	add := func(kind string, t diagnose.Number) {
		if t.Known() {
			m[kind] = append(m[kind], float64(t))
		}
	}
	for _, s := range take.Strokes {
		if s.Kind == diagnose.KindSpace {
			add("space bar", s.StrikeS)
		} else {
			add("strike", s.StrikeS)
		}
		add("trip", s.TripS)
		add("release", s.ReleaseS)
		add("landing", s.LandingS)
	}
	for _, s := range sounds.Strokes {
		if s.Skip.Heard() {
			add("landing", diagnose.Number(s.Skip.Time))
		}
	}
	return m
}

// scoreLabels counts the pairs that are crowded or piled in truth, as measured,
// and both, stroke for stroke; strokes are matched by strike time. A true one
// whose stroke was not found is missed, a measured one without a true stroke
// is false.
func (s *takeScore) scoreLabels(t *truth, take *diagnose.Take) {
	var ref, est []float64
	var refBad, estBad []bool
	for _, st := range t.Strokes {
		bad := st.Label == diagnose.SpacingCrowded || st.Label == diagnose.SpacingPiled
		ref, refBad = append(ref, st.Strike), append(refBad, bad)
		if bad {
			s.badTrue++
		}
	}
	for _, st := range take.Strokes {
		if !st.StrikeS.Known() {
			continue
		}
		bad := st.Spacing != nil && *st.Spacing != diagnose.SpacingClear
		est, estBad = append(est, float64(st.StrikeS)), append(estBad, bad)
		if bad {
			s.badFound++
		}
	}
	for _, p := range match(ref, est, ownWindow) {
		if refBad[p.ref] && estBad[p.est] {
			s.badBoth++
		}
	}
}

// scoreTravel compares the median travel and how 1/travel^2, which is
// proportional to the net pull, falls along the line.
func (s *takeScore) scoreTravel(t *truth, take *diagnose.Take) {
	var truePos, trueT, travel []float64
	last := 0
	for _, st := range t.Strokes {
		last = max(last, st.Position)
		if v, ok := trueTravel(st); ok {
			truePos, trueT = append(truePos, float64(st.Position)), append(trueT, v)
		}
	}
	for _, st := range take.Strokes {
		if st.TravelMS.Known() {
			travel = append(travel, float64(st.TravelMS)/1000)
		}
	}
	s.travel = append(s.travel, trueAndMeasured{truth: quantile(trueT, 0.5), measured: quantile(travel, 0.5)})
	trueSlope, trueLost := pullLost(truePos, trueT, float64(last))
	said := diagnose.TravelProfile(take)
	s.lost = append(s.lost, trueAndMeasured{truth: trueLost, measured: float64(said.PullLost), slopeTrue: trueSlope, slopeMeasured: float64(said.Slope)})
}

// pullLost lays a line (Theil and Sen: the median of all pairwise slopes)
// through 1/travel^2 against the carriage position and returns its slope in
// 1/s^2 a space and the share of the pull that is lost from position 0 to last;
// NaN when there are too few strokes.
func pullLost(pos, travel []float64, last float64) (slope, lost float64) {
	var slopes []float64
	pull := make([]float64, len(travel))
	for i, t := range travel {
		pull[i] = 1 / (t * t)
		for j := range i {
			if pos[i] != pos[j] {
				slopes = append(slopes, (pull[i]-pull[j])/(pos[i]-pos[j]))
			}
		}
	}
	slope = quantile(slopes, 0.5)
	for i := range pull {
		pull[i] -= slope * pos[i]
	}
	return slope, -slope * last / quantile(pull, 0.5)
}

// add takes another score, of takes scored with the same tolerances, into this
// one.
func (s *takeScore) add(o *takeScore) {
	s.takes += o.takes
	s.rough = o.rough
	for k, e := range o.events {
		s.events[k].add(*e)
	}
	s.all.add(o.all)
	s.outer.add(o.outer)
	s.outerAll.add(o.outerAll)
	s.badTrue, s.badFound, s.badBoth = s.badTrue+o.badTrue, s.badFound+o.badFound, s.badBoth+o.badBoth
	s.linesTrue, s.linesFound = s.linesTrue+o.linesTrue, s.linesFound+o.linesFound
	s.unusable += o.unusable
	for said := range o.gate {
		for grade, n := range o.gate[said] {
			s.gate[said][grade] += n
		}
	}
	for c, n := range o.problems {
		s.problems[c] += n
	}
	for k, n := range o.noises {
		if s.noises[k] == nil {
			s.noises[k] = &noiseScore{taken: map[string]int{}}
		}
		s.noises[k].noises += n.noises
		for e, c := range n.taken {
			s.noises[k].taken[e] += c
		}
	}
	s.travel = append(s.travel, o.travel...)
	s.lost = append(s.lost, o.lost...)
}

// labels gives recall and precision of crowded or piled against clear; NaN
// where there was nothing to find or nothing found.
func (s *takeScore) labels() (recall, precision float64) {
	return ratio(s.badBoth, s.badTrue), ratio(s.badBoth, s.badFound)
}

func ratio(a, b int) float64 {
	if b == 0 {
		return math.NaN()
	}
	return float64(a) / float64(b)
}

// travelErrors gives, take by take, how far the median travel is off (seconds)
// and how far the slope of 1/travel^2 is (a share of the true slope), both
// without sign; NaN where it was not measured.
func (s *takeScore) travelErrors() (travel, slope []float64) {
	for i := range s.travel {
		travel = append(travel, math.Abs(s.travel[i].measured-s.travel[i].truth))
		slope = append(slope, math.Abs(s.lost[i].slopeMeasured-s.lost[i].slopeTrue)/math.Abs(s.lost[i].slopeTrue))
	}
	return travel, slope
}

// medianOrNaN is NaN as soon as one value is: a take whose travel could not be
// measured shall not be passed over. So is worst.
func medianOrNaN(v []float64) float64 {
	if math.IsNaN(worst(v)) {
		return math.NaN()
	}
	return quantile(v, 0.5)
}

func worst(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	return slices.MaxFunc(v, func(a, b float64) int {
		if math.IsNaN(a) || math.IsNaN(b) {
			return -cmp.Compare(a, b) // cmp puts NaN first
		}
		return cmp.Compare(a, b)
	})
}
