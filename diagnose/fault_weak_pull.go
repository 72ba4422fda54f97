package diagnose

import "math"

// What a travel along the line is compared with.
const (
	// soundLoss is the share of the net pull that a line of fullLine spaces takes
	// from a mainspring. A drum turns about 1.2 times for a line (170 mm of cord,
	// 45 mm drum); wound up by 3 turns at the line's end (3 to 5, trade lore) it has
	// lost 1.2/4.2 = 29 % there, and with drag a seventh of the pull a third of
	// what drives.
	soundLoss       = 0.34
	fullLine        = 65.0
	soundLossSource = "a mainspring wound up by the fewest usual turns (3 to 5) loses that over a line of this length; worked out, not published"
	// slowTravelMS is the travel that trade lore's heaviest carriages and weakest
	// pulls of standard machines give by sqrt(2 p m / F): 1.5 kg at 3.3 N, pica 48.1
	// ms. slowSource says so.
	slowTravelMS = 48.1
	slowSource   = "sqrt(2 p m / F) of a carriage of 1.5 kg pulled with 3.3 N (3/4 lbf); mass and pull are trade lore"
	// usualTravelMS is that of 1.5 kg at 4.45 N (1 lbf), 41.4 ms: what a carriage
	// with its proper pull would need at most, for the what-if.
	usualTravelMS = 41.4
	// evenLoss is what a sound spring may lose over a full line, for the what-if.
	evenLoss = 0.2
)

// travelLike is a travel of a pica full-space machine at this machine's pitch and
// action: travel goes with the root of the way.
func (c *Case) travelLike(pica float64) float64 {
	if c.Options.Pitch == Elite {
		pica *= math.Sqrt(10.0 / 12)
	}
	if c.Options.Action == HalfSpace {
		pica *= math.Sqrt2 / 2
	}
	return pica
}

// weakPull: the carriage is pulled too weakly, at the line's end (the spring) or
// all along (spring or drag). The end: the pull lost along the line is more than
// a line takes, with its whole interval. All along: the travel at the line's
// start is long, with its whole interval, or longer than in an earlier take.
//
// Strong: the loss is more by a third, or the travel by a fifth, and flagged pairs
// would stand clear without it. Likely: the same without flagged pairs, or less
// with them. Possible: the rest.
func weakPull(c *Case) (Finding, bool) {
	p := c.Profile
	if !p.PullLost.Known() || !p.LostLow.Known() || len(p.Points) < fewestPull {
		return Finding{}, false
	}
	extent := float64(p.To - p.From)
	lossLimit := soundLoss * extent / fullLine
	atStart, startLow, startHigh := c.travelAtStart()
	slow := c.travelLike(slowTravelMS)
	earlier, hasEarlier := c.earlierTravel()
	steep := float64(p.LostLow) > lossLimit && extent >= 30
	heavy := startLow > slow
	slower := hasEarlier && startLow > 1.1*earlier
	if !steep && !heavy && !slower {
		return Finding{}, false
	}
	usual := math.Min(atStart, c.travelLike(usualTravelMS))
	if slower {
		usual = math.Min(usual, earlier)
	}
	where := c.relieved(func(i int) relief {
		s := c.Take.Strokes[i]
		part := evenLoss * float64(s.Position) / fullLine
		should := usual / math.Sqrt(math.Max(1-part, 0.3))
		is := float64(p.TravelAt(float64(s.Position)))
		return relief{ms: is - should}
	})
	evidence := []Evidence{
		plain("net pull lost along the line", 100*float64(p.PullLost), "%").
			within(100*float64(p.LostLow), 100*float64(p.LostHigh)).
			against(100*lossLimit, BasisPractice, soundLossSource),
		plain("travel at the line's start", atStart, "ms").within(startLow, startHigh).
			against(slow, BasisPractice, slowSource),
	}
	if hasEarlier {
		evidence = append(evidence, plain("travel at the line's start", atStart, "ms").within(startLow, startHigh).
			against(earlier, BasisEarlier, "an earlier take of this machine"))
	}
	clearly := float64(p.LostLow) > 1.33*lossLimit && steep || startLow > 1.2*slow
	strength := Possible
	switch {
	case clearly && len(where) > 0:
		strength = Strong
	case clearly || len(where) > 0:
		strength = Likely
	}
	f := Finding{
		Fault: FaultWeakPull, Share: ShareMachine, Strength: strength, Explains: len(where),
		Evidence: evidence, Where: where, relieved: where,
		Check:   "Drag first: with the carriage at the line's end, let it run against your hand and feel whether it is held back anywhere; look for the line gauge or card holder touching the platen, dirt on the rails, a rubbing shell.",
		Next:    "If it runs freely, the mainspring: look at its cord and drum, then one more turn at a time, and record again.",
		Caution: caution(cautionSpring, cautionMoving),
	}
	if len(where) == 0 {
		f.Where = c.slowest()
	}
	return f, true
}

// fewestPull is how many travels the pull along the line needs.
const fewestPull = 60

// inverseSquare is the pull line, 1/travel^2 in 1/s^2, at a position with a 95 %
// interval: that of the slope turned about the line's middle, and that of its
// height there, together.
func (c *Case) inverseSquare(position float64) (value, low, high float64) {
	p := c.Profile
	var x, y []float64
	for _, q := range p.Points {
		x, y = append(x, float64(q.Position)), append(y, 1e6/(q.TravelMS*q.TravelMS))
	}
	middle, n := Median(x), float64(len(x))
	left := make([]float64, len(y))
	for i := range y {
		left[i] = y[i] - float64(p.Slope)*(x[i]-middle)
	}
	// The standard error of a median of normal values is 1.2533 sd / sqrt(n).
	heightSE := 1.2533 * MADToSD * MAD(left) / math.Sqrt(n)
	slopeSE := (float64(p.High) - float64(p.Low)) / (2 * 1.96)
	reach := position - middle
	value = Median(left) + float64(p.Slope)*reach
	half := 1.96 * math.Hypot(heightSE, slopeSE*reach)
	return value, value - half, value + half
}

// travelAtStart is the travel in ms at the line's first position with its 95 %
// interval.
func (c *Case) travelAtStart() (value, low, high float64) {
	v, least, most := c.inverseSquare(float64(c.Profile.From))
	travel := func(pull float64) float64 {
		if pull <= 0 {
			return math.NaN()
		}
		return 1000 / math.Sqrt(pull)
	}
	return travel(v), travel(most), travel(least)
}

// earlierTravel is the travel at the line's start of the earlier take.
func (c *Case) earlierTravel() (float64, bool) {
	if c.Options.Earlier == nil {
		return math.NaN(), false
	}
	e := &Case{Take: c.Options.Earlier, Profile: TravelProfile(c.Options.Earlier)}
	if !e.Profile.PullLost.Known() {
		return math.NaN(), false
	}
	v, _, _ := e.travelAtStart()
	return v, known(v)
}

// slowest are the strokes of the line's last sixth.
func (c *Case) slowest() []int {
	var where []int
	last := float64(c.Profile.To) - float64(c.Profile.To-c.Profile.From)/6
	for _, q := range c.Profile.Points {
		if float64(q.Position) >= last {
			where = append(where, q.Stroke)
		}
	}
	return where
}
