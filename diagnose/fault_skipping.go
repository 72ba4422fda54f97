package diagnose

import "fmt"

// skipping: now and then the loose dog does not catch and the carriage runs on to
// a second landing, at any place of the line. One skip is an accident, or one
// sound wrongly heard.
//
// Strong: five or more. Likely: three or four. Possible: two.
func skipping(c *Case) (Finding, bool) {
	n, where := 0, []int{}
	at, chipped := c.chip()
	for i, s := range c.Take.Strokes {
		if s.LandingS.Known() {
			n++
		}
		if s.Skipped && !(chipped && at.holds(s)) && c.sureSkip(i) {
			where = append(where, i)
		}
	}
	if len(where) < 2 || n < fewestJudged {
		return Finding{}, false
	}
	value, low, high := share(len(where), n, level)
	strength := Possible
	switch {
	case len(where) >= 5:
		strength = Strong
	case len(where) >= 3:
		strength = Likely
	}
	return Finding{
		Fault: FaultSkipping, Share: ShareMachine, Strength: strength, Explains: len(where),
		Evidence: []Evidence{
			plain("strokes after which the carriage moved two spaces", 100*value, "%").within(100*low, 100*high).
				against(0, BasisTake, fmt.Sprintf("%d of %d strokes; a sound machine skips none", len(where), n)),
		},
		Where:   where,
		Check:   "Look at the loose dog: is its spring in place and lively, its tip sharp and clean, does it move freely?",
		Next:    "Then whether the trip comes too early (too deep), so that both dogs are out at once; then the wheel's teeth.",
		Caution: caution(cautionBend, cautionMoving),
	}, true
}

// sureSkip tells whether a second landing was heard well.
func (c *Case) sureSkip(i int) bool {
	return c.Heard == nil || c.Heard.Strokes[i].Skip.Confidence >= doubtful
}
