package diagnose

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
)

// toothP is how rare by chance an odd tooth must be.
const toothP = 0.004

// wornTooth: one tooth of the escape wheel is worn or bent: the travel that ends
// on it is long, or its landing sounds louder, every so many spaces. Two tests
// share the chance: Fisher's g for any one periodicity of the travels, and the
// fold over counts of teeth; the fold gives the count and the phase. The places of
// a binding are left out.
//
// Strong: the odd travels are longer by a fifth of the travel with their whole
// interval. Likely: by a twentieth. Possible: it shows in the loudness only, or
// in travels that went unheard.
func wornTooth(c *Case) (Finding, bool) {
	bound := c.boundPlaces()
	lines, spaces, strokes, odd := c.folded(func(i int, s Stroke) float64 {
		if s.Skipped || bound[s.Position] {
			return math.NaN()
		}
		return c.odd[i]
	})
	teeth := c.teeth()
	usual := float64(c.Take.Summary.TravelMS.Median)
	by, ok := everyTooth(lines, spaces, odd, teeth)
	if ok && !(by.Low > 0.05*usual) {
		// A stroke that was not heard loses the count in the middle of a line.
		if b, _ := everyTooth(halves(lines, spaces), spaces, odd, teeth); b.Low > by.Low {
			by = b
		}
	}
	if ok {
		g, p, _ := fishersG(c.evenly(strokes, odd))
		chance := math.Min(1, 2*math.Min(by.P, p)) // the better of two tests
		if chance <= toothP && by.Low > 0.05*usual && by.Low > slackSlop {
			f := c.toothFinding(by, strokes, chance)
			f.Evidence = append([]Evidence{
				plain(fmt.Sprintf("travel longer at every %s space", nth(by.Teeth)), by.Excess, "ms").within(by.Low, by.High).
					against(0, BasisTake, "the other spaces of this take"),
				plain("largest share of one period in the travels (Fisher's g)", g, ""),
			}, f.Evidence...)
			f.Strength = Likely
			if by.Low > 0.2*usual {
				f.Strength = Strong
			}
			return f, true
		}
	}
	if f, ok := c.unheardTooth(teeth); ok {
		return f, true
	}
	return c.loudTooth(teeth)
}

// folded are the first [mostFolded] known values of the take's strokes, each with
// its line, its count of spaces and its stroke: what the search for a tooth and all
// that it is compared with look at.
func (c *Case) folded(of func(i int, s Stroke) float64) (lines, spaces, strokes []int, y []float64) {
	for i, s := range c.Take.Strokes {
		if v := of(i, s); known(v) && len(y) < mostFolded {
			lines, spaces, strokes, y = append(lines, s.Line), append(spaces, c.spaces[i]), append(strokes, i), append(y, v)
		}
	}
	return lines, spaces, strokes, y
}

// unheardTooth looks for a tooth whose travels go unheard (see holes.go).
func (c *Case) unheardTooth(teeth []int) (Finding, bool) {
	lines, spaces, strokes, holes := c.folded(func(i int, _ Stroke) float64 { return c.holes[i] })
	lost := floats.Sum(holes)
	if lost < 8 || 3*lost > float64(len(holes)) {
		return Finding{}, false
	}
	by, ok := everyTooth(lines, spaces, holes, teeth)
	if !ok {
		return Finding{}, false
	}
	hits := 0.0
	for _, i := range by.In {
		hits += holes[i]
	}
	n := float64(len(by.In))
	if 2*by.P > toothP || hits < 0.6*n {
		return Finding{}, false
	}
	// A carriage that binds at one place leaves holes there, line after line, which
	// some count of spaces always fits.
	if _, bound := unheardAtPlace(c); bound {
		return Finding{}, false
	}
	f := c.toothFinding(by, strokes, 2*by.P)
	f.Strength = Possible
	f.Evidence = append([]Evidence{
		plain(fmt.Sprintf("travels that could not be heard at every %s space", nth(by.Teeth)), 100*hits/n, "%").
			against(100*(lost-hits)/math.Max(float64(len(holes))-n, 1), BasisTake, "the other spaces of this take; a carriage held up lands later than it is listened for"),
	}, f.Evidence...)
	return f, true
}

// loudTooth looks for the odd tooth in the loudness of the landings.
func (c *Case) loudTooth(teeth []int) (Finding, bool) {
	if c.Heard == nil {
		return Finding{}, false
	}
	lines, spaces, strokes, loud := c.folded(func(i int, _ Stroke) float64 {
		m := c.Heard.Strokes[i].Landing
		if !m.Heard() || m.Confidence < doubtful {
			return math.NaN()
		}
		return m.Level
	})
	if len(loud) < fewestFolded {
		return Finding{}, false
	}
	at := make([]float64, len(loud))
	for k, i := range strokes {
		at[k] = float64(c.Take.Strokes[i].Position)
	}
	line := theilSen(at, loud, level)
	for i := range loud {
		loud[i] -= line.Intercept + line.Slope*at[i]
	}
	by, ok := everyTooth(lines, spaces, loud, teeth)
	// 2 dB: a difference that repeats; less can be the room's.
	if !ok || 2*by.P > toothP || !(by.Low > 2) {
		return Finding{}, false
	}
	f := c.toothFinding(by, strokes, 2*by.P)
	f.Strength, f.Explains = Possible, 0
	f.Evidence = append([]Evidence{
		plain(fmt.Sprintf("landing louder at every %s space", nth(by.Teeth)), by.Excess, "dB").within(by.Low, by.High).
			against(0, BasisTake, "the other landings of this take"),
	}, f.Evidence...)
	return f, true
}

func (c *Case) toothFinding(by tooth, strokes []int, chance float64) Finding {
	on := map[int]bool{}
	var where []int
	for _, i := range by.In {
		on[strokes[i]] = true
		where = append(where, strokes[i])
	}
	relieved := c.relieved(func(i int) relief {
		if !on[i] {
			return relief{}
		}
		return relief{ms: c.odd[i]}
	})
	first := c.Take.Strokes[where[0]]
	return Finding{
		Fault: FaultWornTooth, Share: ShareMachine, Explains: len(relieved), relieved: relieved,
		Evidence: []Evidence{
			plain(fmt.Sprintf("teeth of the wheel, first seen on line %d at position %d", first.Line+1, first.Position), float64(by.Teeth), "teeth"),
			plain("chance of that on an even wheel", chance, ""),
		},
		Where:   where,
		Check:   fmt.Sprintf("Turn the escape wheel by hand, tooth by tooth, with a light and a lens: one of its teeth (about %d of them, please count) may be worn, bent or dirty.", by.Teeth),
		Next:    "Clean that tooth and the loose dog's tip. A worn wheel is exchanged, not filed: filing one tooth makes the next the odd one.",
		Caution: caution(cautionSpring, cautionMoving, cautionSolvent),
	}
}

// halves breaks every line in two.
func halves(lines, spaces []int) []int {
	out := make([]int, len(lines))
	for i := 0; i < len(lines); {
		j := i
		for j < len(lines) && lines[j] == lines[i] {
			j++
		}
		middle := (spaces[i] + spaces[j-1]) / 2
		for k := i; k < j; k++ {
			out[k] = 2 * lines[k]
			if spaces[k] > middle {
				out[k]++
			}
		}
		i = j
	}
	return out
}

// boundPlaces are the positions at which a binding was found: what is long there
// comes back with every line, and some count of spaces always fits a line.
func (c *Case) boundPlaces() map[int]bool {
	at := map[int]bool{}
	for _, f := range c.found {
		if f.Fault == FaultBinding {
			for _, i := range f.Where {
				at[c.Take.Strokes[i].Position] = true
			}
		}
	}
	return at
}

// teeth are the counts that are looked for: the owner's, else the usual ones.
func (c *Case) teeth() []int {
	if m := c.Options.Machine; m != nil && m.Teeth > 0 {
		return []int{m.Teeth}
	}
	var all []int
	for n := fewestTeeth; n <= mostLooked; n++ {
		all = append(all, n)
	}
	return all
}

// evenly lays values out one a space, those not known as their median, outliers
// drawn in to 4 spreads under it and 8 over.
func (c *Case) evenly(strokes []int, odd []float64) []float64 {
	if len(strokes) == 0 {
		return nil
	}
	first, last := c.spaces[strokes[0]], c.spaces[strokes[len(strokes)-1]]
	middle, spread := Median(odd), MADToSD*MAD(odd)
	series := make([]float64, min(last-first+1, mostFolded))
	for k, i := range strokes {
		if at := c.spaces[i] - first; at < len(series) {
			series[at] = min(max(odd[k]-middle, -4*spread), 8*spread)
		}
	}
	return series
}

func nth(n int) string {
	switch {
	case n%10 == 1 && n%100 != 11:
		return fmt.Sprintf("%dst", n)
	case n%10 == 2 && n%100 != 12:
		return fmt.Sprintf("%dnd", n)
	case n%10 == 3 && n%100 != 13:
		return fmt.Sprintf("%drd", n)
	}
	return fmt.Sprintf("%dth", n)
}
