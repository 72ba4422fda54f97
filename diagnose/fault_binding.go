package diagnose

import "fmt"

// How rare by chance a slow place must be, all places together: bindingP, or
// bindingLongP where the travel there is longer by bindingLong of itself or more.
// Of the seven or eight travels at one position even the longest are no rarer.
const (
	bindingP     = 0.002
	bindingLongP = 0.02
	bindingLong  = 0.2
)

// binding: something holds the carriage back at one place of the line, in line
// after line: there the travel is long against its own line along the carriage.
//
// Strong: 1 in 100000 by chance and at least a fifth longer, with the whole
// interval. Likely: 1 in 10000, or a tenth. Possible: 1 in 500 and a twentieth, or 1 in
// 50 and a fifth.
//
// Where the travel is so long that it is not heard, the holes at one place are a
// sign too: likely where three in four go unheard, 1 in 100000 by chance, possible
// where half do, 1 in 500.
func binding(c *Case) (Finding, bool) {
	if f, ok := longAtPlace(c); ok {
		return f, true
	}
	return unheardAtPlace(c)
}

func longAtPlace(c *Case) (Finding, bool) {
	var x []int
	var y []float64
	lines := map[int]bool{}
	for i, s := range c.Take.Strokes {
		if known(c.odd[i]) {
			x, y = append(x, s.Position), append(y, c.odd[i])
			lines[s.Line] = true
		}
	}
	if len(y) < fewestPull || len(lines) < 3 {
		return Finding{}, false
	}
	best, ok := changeAtPosition(x, y)
	usual := float64(c.Take.Summary.TravelMS.Median)
	if !ok || !(best.Low > 0.05*usual) || best.Low < slackSlop {
		return Finding{}, false
	}
	if best.P > bindingP && !(best.P <= bindingLongP && best.Low > bindingLong*usual) {
		return Finding{}, false
	}
	strength := Possible
	switch {
	case best.P < 1e-5 && best.Low > bindingLong*usual:
		strength = Strong
	case best.P < 1e-4 || best.P <= bindingP && best.Low > 0.1*usual:
		strength = Likely
	}
	there := func(i int) bool {
		at := c.Take.Strokes[i].Position
		return at >= best.From && at <= best.To
	}
	where := []int{}
	for i := range c.Take.Strokes {
		if there(i) && known(c.odd[i]) {
			where = append(where, i)
		}
	}
	relieved := c.relieved(func(i int) relief {
		if !there(i) {
			return relief{}
		}
		if known(c.odd[i]) {
			return relief{ms: c.odd[i]}
		}
		return relief{ms: best.Excess}
	})
	place := best.place()
	f := bindingAt(place)
	f.Strength, f.Explains, f.Where, f.relieved = strength, len(relieved), where, relieved
	f.Evidence = []Evidence{
		plain("travel longer at "+place, best.Excess, "ms").within(best.Low, best.High).
			against(0, BasisTake, fmt.Sprintf("the travel along the rest of the line; %d places were looked at", best.Looked)),
		plain("chance of such a place on an even line", best.P, ""),
	}
	return f, true
}

// unheardAtPlace finds a place at which the travel goes unheard in line after line.
func unheardAtPlace(c *Case) (Finding, bool) {
	best, there, rest, ok := c.holePlace()
	if !ok || best.P > bindingP || there < 0.5 {
		return Finding{}, false
	}
	place := best.place()
	f := bindingAt(place)
	f.Strength = Possible
	if best.P < 1e-5 && there >= 0.75 {
		f.Strength = Likely
	}
	in := map[int]bool{}
	for i, s := range c.Take.Strokes {
		if s.Position >= best.From && s.Position <= best.To && c.holes[i] == 1 {
			f.Where = append(f.Where, i)
			in[i] = true
		}
	}
	for _, p := range c.Spoiled {
		if in[p.First] && !c.Take.Strokes[p.First].MissedSpace {
			f.relieved = append(f.relieved, p.Second)
		}
	}
	f.Explains = len(f.relieved)
	f.Evidence = []Evidence{
		plain("travels that could not be heard at "+place, 100*there, "%").
			against(100*rest, BasisTake, "the rest of the line; a carriage held up lands later than it is listened for"),
		plain("chance of such a place", best.P, ""),
	}
	return f, true
}

// place names the positions of a change.
func (p change) place() string {
	if p.To > p.From {
		return fmt.Sprintf("positions %d to %d", p.From, p.To)
	}
	return fmt.Sprintf("position %d", p.From)
}

// bindingAt is a binding at a place, with what to look at.
func bindingAt(place string) Finding {
	return Finding{
		Fault: FaultBinding, Share: ShareMachine,
		Check:   fmt.Sprintf("Move the carriage slowly by hand to %s and feel whether something holds it there: the tab rack and stops, margin stops, the rail and its rollers, the line gauge or card holder, the carriage's ends.", place),
		Next:    "Clean the rail and the tab rack there and look for a bent or loose part that touches; record again.",
		Caution: caution(cautionMoving, cautionSolvent, cautionBend),
	}
}
