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
func binding(c *Case) (Finding, bool) {
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
	case best.P < 1e-4 || best.Low > 0.1*usual:
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
	place := fmt.Sprintf("position %d", best.From)
	if best.To > best.From {
		place = fmt.Sprintf("positions %d to %d", best.From, best.To)
	}
	return Finding{
		Fault: FaultBinding, Share: ShareMachine, Strength: strength, Explains: len(relieved),
		Evidence: []Evidence{
			plain("travel longer at "+place, best.Excess, "ms").within(best.Low, best.High).
				against(0, BasisTake, fmt.Sprintf("the travel along the rest of the line; %d places were looked at", best.Looked)),
			plain("chance of such a place on an even line", best.P, ""),
		},
		Where: where, relieved: relieved,
		Check:   fmt.Sprintf("Move the carriage slowly by hand to %s and feel whether something holds it there: the tab rack and stops, margin stops, the rail and its rollers, the line gauge or card holder, the carriage's ends.", place),
		Next:    "Clean the rail and the tab rack there and look for a bent or loose part that touches; record again.",
		Caution: caution(cautionMoving, cautionSolvent, cautionBend),
	}, true
}
