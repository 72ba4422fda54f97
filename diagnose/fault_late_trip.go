package diagnose

import "math"

// What a lead is compared with: the trip is commonly set with the type face 3/8
// in (9.5 mm) from the platen on mid-century portables (common practice), and a
// type bar comes in at 2 to 4 m/s (an order of magnitude, not published). So the
// shortest lead of a machine set like that is 9.5 mm / 4 m/s = 2.4 ms.
const (
	soundLeadMS     = 2.4
	soundLeadSource = "trip at 3/8 in (9.5 mm) from the platen, a common setting, and a type bar at 4 m/s, a fast one"
	// shortLead is the share of it under which a lead is short: settings differ.
	shortLead = 0.85
	// fewestLeads is how many leads have to be heard.
	fewestLeads = 20
)

// leadFigure is the lead of typed strokes; short tells whether its interval lies
// under what a common setting gives.
func (c *Case) leadFigure() (f Figure, short bool) {
	var leads []float64
	for _, v := range c.leads() {
		if known(v) {
			leads = append(leads, v)
		}
	}
	if len(leads) < fewestLeads {
		return unknownFigure(), false
	}
	f = figure(leads)
	return f, f.High.Known() && f.High < shortLead*soundLeadMS
}

func leadEvidence(f Figure) Evidence {
	return plain("lead, trip to strike", float64(f.Median), "ms").
		within(float64(f.Low), float64(f.High)).
		against(soundLeadMS, BasisPractice, soundLeadSource)
}

// lateTrip: the escapement trips so late that a short stroke leaves the loose dog
// no time to reach the next tooth, and no space is made. It takes both: letters
// that made no space and a lead that is short with its whole interval.
//
// Strong: five letters or more made no space, or three whose leads are shorter
// than the others' (logistic, 1 in 100). Likely: two. Possible: one.
func lateTrip(c *Case) (Finding, bool) {
	f, short := c.leadFigure()
	all, missed := c.judged(KindType)
	if !short || len(missed) == 0 || len(all) < fewestJudged {
		return Finding{}, false
	}
	value, low, high := share(len(missed), len(all), level)
	evidence := []Evidence{
		leadEvidence(f),
		plain("letters that made no space", 100*value, "%").within(100*low, 100*high).
			against(0, BasisTake, "a sound machine spaces after every letter, however short the stroke"),
	}
	shorter := false
	if e, ok := c.leadOfMissed(all); ok {
		if shorter = float64(e.High) < 1; shorter {
			evidence = append(evidence, e)
		}
	}
	if e, ok := c.shortestTripped(); ok {
		evidence = append(evidence, e)
	}
	// A hand that held every key gave the machine no chance: a few spaces that were
	// not heard are no evidence then.
	if len(missed) < 2*manyMissed && !shorter && c.flickedHeard() < 2 {
		return Finding{}, false
	}
	strength := Possible
	switch n := len(missed); {
	case n >= manyMissed, n >= 3 && shorter:
		strength = Strong
	case n >= 2:
		strength = Likely
	}
	where := c.relieved(func(i int) relief { return relief{missed: c.Take.Strokes[i].Kind == KindType} })
	return Finding{
		Fault: FaultLateTrip, Share: ShareMachine, Strength: strength, Explains: len(where),
		Evidence: evidence, Where: missed, relieved: where,
		Check:   "Press a key slowly toward the platen and see how far the type face still is when the carriage's escapement trips: on many portables about 3/8 in (9.5 mm). If it is much less, the trip is late.",
		Next:    "See whether the universal bar and its link are free, clean and not bent; then the trip's adjustment as the service sheet gives it, a little earlier at a time. Too early makes skips.",
		Caution: caution(cautionBend, cautionMoving),
	}, true
}

// manyMissed is how many letters without a space make the finding strong; twice
// as many are no mishearing, even where no stroke was flicked.
const manyMissed = 5

// flickedHeard counts letters that were let go at once: whose latency is under
// freeShare of the usual one.
func (c *Case) flickedHeard() int {
	n := 0
	usual := c.Take.Summary.LatencyMS.Median
	for _, s := range c.Take.Strokes {
		if sure(typedLatency(s), s.Confidence.Release) < freeShare*usual {
			n++
		}
	}
	return n
}

// fewestJudged is how many strokes with a judged space a rule about missed spaces
// needs.
const fewestJudged = 50

// leadOfMissed compares the leads of strokes that made no space with the others':
// the odds of no space for each millisecond of lead.
func (c *Case) leadOfMissed(judged []int) (Evidence, bool) {
	leads := c.leads()
	var x []float64
	var yes []bool
	n := 0
	for _, i := range judged {
		if !known(leads[i]) {
			continue
		}
		x, yes = append(x, leads[i]), append(yes, c.Take.Strokes[i].MissedSpace)
		if c.Take.Strokes[i].MissedSpace {
			n++
		}
	}
	if n < 3 || len(x) < fewestJudged {
		return Evidence{}, false
	}
	fit, ok := logistic(x, yes)
	if !ok {
		return Evidence{}, false
	}
	// 2.576: 99 %, so that an interval under 1 is 1 in 100 either way.
	return plain("odds of no space for a lead 1 ms longer", math.Exp(fit.Slope), "times").
		within(math.Exp(fit.Slope-2.576*fit.SlopeSE), math.Exp(fit.Slope+2.576*fit.SlopeSE)).
		against(1, BasisTake, "no difference between this take's strokes, 99 % interval"), true
}

// shortestTripped is the shortest time tripped, lead and latency, that still made
// a space: the loose dog needs no longer. The middle of the shortest twentieth,
// so that a wrong event does not decide.
func (c *Case) shortestTripped() (Evidence, bool) {
	v := column(c.Take.Strokes, typed(func(s Stroke) Number {
		return sureLead(s) + sure(s.LatencyMS, s.Confidence.Release)
	}))
	if len(v) < fewestJudged {
		return Evidence{}, false
	}
	s := Sorted(v)
	low, high := bootstrapQuantile(s, 0.025, level)
	return plain("shortest time tripped that still made a space", Quantile(s, 0.025), "ms").within(low, high), true
}
