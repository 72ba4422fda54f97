package diagnose

import "fmt"

const (
	// spaceBarP is how rare by chance it must be that the space bar's strokes miss
	// so many more spaces than the letters, and spaceBarShortP where the bar also
	// trips later than the type bars do.
	spaceBarP      = 0.002
	spaceBarShortP = 0.1
)

// lateSpaceBar: the space bar's linkage trips too near its stop: its strokes miss
// spaces, letters do not, and its trip comes shortly before its thump: a sound
// bar trips earlier before its thump than a type bar before its strike, for the
// bar has further to go.
//
// Strong: 1 in 10000 by chance and a late trip. Likely: 1 in 500 and a late trip,
// or 1 in 10000. Possible: the rest.
func lateSpaceBar(c *Case) (Finding, bool) {
	all, missed := c.judged(KindSpace)
	letters, missedLetters := c.judged(KindType)
	if len(all) < fewestBars || len(letters) < fewestJudged || len(missed) < 2 {
		return Finding{}, false
	}
	p := exactGreater(len(missed), len(all), len(missedLetters), len(letters))
	lead := figure(column(c.Take.Strokes, func(s Stroke) Number {
		if s.Kind != KindSpace {
			return Unknown()
		}
		return sureLead(s)
	}))
	typeBars, _ := c.leadFigure()
	late := lead.High < typeBars.Median
	if p > spaceBarP && !(late && p <= spaceBarShortP) {
		return Finding{}, false
	}
	value, low, high := share(len(missed), len(all), level)
	other, _, _ := share(len(missedLetters), len(letters), level)
	strength := Possible
	switch {
	case p < 1e-4 && late:
		strength = Strong
	case p < spaceBarP && late || p < 1e-4:
		strength = Likely
	}
	where := c.relieved(func(i int) relief { return relief{missed: c.Take.Strokes[i].Kind == KindSpace} })
	evidence := []Evidence{
		plain("space-bar strokes that made no space", 100*value, "%").within(100*low, 100*high).
			against(100*other, BasisTake, fmt.Sprintf("the letters: %d of %d", len(missedLetters), len(letters))),
		plain("chance of that in one machine for both", p, ""),
	}
	if lead.Median.Known() {
		evidence = append(evidence, plain("the bar's trip before its thump", float64(lead.Median), "ms").
			within(float64(lead.Low), float64(lead.High)).
			against(float64(typeBars.Median), BasisTake, "the type bars' trip before their strike"))
	}
	return Finding{
		Fault: FaultLateSpaceBar, Share: ShareMachine, Strength: strength, Explains: len(where),
		Evidence: evidence, Where: missed, relieved: where,
		Check:   "Press the space bar slowly and see where the escapement trips: it should be well before the bar meets its stop.",
		Next:    "See whether the bar's felt or stop has grown too thick and whether its link is free; then its adjustment, so that it trips a little earlier.",
		Caution: caution(cautionBend, cautionMoving),
	}, true
}

// fewestBars is how many strokes of the space bar have to be judged.
const fewestBars = 15
