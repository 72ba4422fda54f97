package diagnose

// hurriedHand: pairs struck faster than the machine is usually ready, those of
// them that no fault of the machine explains and whose first stroke the machine
// served as it does the others. Pairs that were spoiled by a late release at an
// ordinary interval are not the hurry's: there a lingering finger and a sluggish
// machine look alike.
//
// Strong: five pairs or more. Likely: two. Possible: one.
func hurriedHand(c *Case) (Finding, bool) {
	explained := map[int]bool{}
	for _, f := range c.found {
		if f.Share != ShareMachine {
			continue
		}
		for _, i := range f.relieved {
			explained[i] = true
		}
	}
	ready := c.Take.Summary.ReadyMS
	if !ready.Median.Known() {
		return Finding{}, false
	}
	var where []int
	for _, p := range c.Spoiled {
		a := c.Take.Strokes[p.First]
		if explained[p.Second] || a.MissedSpace || a.Skipped || c.odd[p.First] > 4*c.oddSpread {
			continue
		}
		if p.SlackMS.Known() && p.SlackMS > -slackSlop {
			continue // too near to call
		}
		if p.IntervalMS < ready.Median {
			where = append(where, p.Second)
		}
	}
	if len(where) == 0 || len(c.Take.Strokes) < fewestJudged {
		return Finding{}, false
	}
	where = inOrder(where)
	strength := Possible
	switch {
	case len(where) >= 5:
		strength = Strong
	case len(where) >= 2:
		strength = Likely
	}
	evidence := []Evidence{
		plain("struck faster than the machine is usually ready", float64(len(where)), "pairs"),
		plain("usual ready time, strike to landing", float64(ready.Median), "ms").within(float64(ready.Low), float64(ready.High)),
	}
	// Slower than nineteen in twenty of this machine's ready times every stroke
	// finds the carriage standing.
	if ready.P95.Known() && ready.P95 > 0 {
		evidence = append(evidence, plain("even rate at which this machine would still be clear", 1000/float64(ready.P95), "strokes a second").
			against(float64(c.Take.Summary.RatePerS), BasisTake, "the rate of this take; 19 in 20 of its ready times are shorter than that beat"))
	}
	return Finding{
		Fault: FaultHurriedHand, Share: ShareHand, Strength: strength, Explains: len(where),
		Evidence: evidence, Where: where, relieved: where,
		Check:   "Type the same lines at an even beat, one key at a time, each let go before the next: if the letters then stand clear, nothing needs adjusting.",
		Next:    "If they still crowd at an even beat, record that take too: then the machine's share shows.",
		Caution: "Nothing on the machine is to be adjusted because of this.",
	}, true
}
