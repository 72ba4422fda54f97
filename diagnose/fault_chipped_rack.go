package diagnose

import "fmt"

// chipPlace is a carriage position at which the carriage skips.
type chipPlace struct {
	position          int // of the stroke whose landing does not hold
	skips, passes     int
	elsewhere, others int // skips and strokes at other places
	p                 float64
}

// holds tells whether a stroke lands on the chip: its position, or one beside it,
// for a count can be off by one after a space that was wrongly heard.
func (p chipPlace) holds(s Stroke) bool {
	return s.Position >= p.position-1 && s.Position <= p.position+1
}

// chipP is how rare by chance it must be that skips that fall anywhere stand as
// close together.
const chipP = 0.1

// chip finds the place with the most skips. ok when most of all skips stand there
// and chance, skips falling anywhere, would rarely put as many into one place.
func (c *Case) chip() (best chipPlace, ok bool) {
	skips, passes := map[int]int{}, map[int]int{}
	total, longest := 0, 0
	for _, s := range c.Take.Strokes {
		if !s.LandingS.Known() {
			continue
		}
		passes[s.Position]++
		longest = max(longest, s.Position)
		if s.Skipped {
			skips[s.Position]++
			total++
		}
	}
	for position := 0; position <= longest; position++ {
		n := 0
		for p := position - 1; p <= position+1; p++ {
			n += skips[p]
		}
		if n > best.skips || n == best.skips && n > 0 && skips[position] > skips[best.position] {
			best.position, best.skips = position, n
		}
	}
	if best.skips < 2 || 5*best.skips < 3*total {
		return best, false
	}
	for p, n := range passes {
		if p >= best.position-1 && p <= best.position+1 {
			best.passes = max(best.passes, n)
		} else {
			best.others += n
		}
	}
	best.passes = max(best.passes, best.skips)
	best.elsewhere = total - best.skips
	// Any one of the skips may be the first; that so many more of the others stand
	// within two spaces of it:
	near := 5 / float64(longest+1)
	best.p = anyOf(atLeast(best.skips-1, total-1, near), total-best.skips+1)
	return best, best.p < chipP
}

// chippedRack: a tooth of the rack is broken: the carriage skips at one place,
// line after line.
//
// Strong: four skips there or more, with a chance under 1 in 1000. Likely: three.
// Possible: two.
func chippedRack(c *Case) (Finding, bool) {
	at, ok := c.chip()
	if !ok {
		return Finding{}, false
	}
	where := []int{}
	for i, s := range c.Take.Strokes {
		if s.Skipped && at.holds(s) {
			where = append(where, i)
		}
	}
	value, low, high := share(at.skips, at.passes, level)
	strength := Possible
	switch {
	case at.skips >= 4 && at.p < 0.001:
		strength = Strong
	case at.skips >= 3:
		strength = Likely
	}
	other, _, _ := share(at.elsewhere, at.others, level)
	return Finding{
		Fault: FaultChippedRack, Share: ShareMachine, Strength: strength, Explains: len(where),
		Evidence: []Evidence{
			plain(fmt.Sprintf("skips when the carriage leaves position %d", at.position), 100*value, "% of the times").
				within(100*low, 100*high).against(100*other, BasisTake, "the rest of the line"),
			plain("chance of so many at one place", at.p, ""),
		},
		Where:   where,
		Check:   fmt.Sprintf("Look at the rack under the carriage where it stands at position %d from the left margin: a tooth may be chipped, bent or full of dirt.", at.position),
		Next:    "If the rack is whole there, look at the pinion's tooth that meets it.",
		Caution: caution(cautionMoving),
	}, true
}
