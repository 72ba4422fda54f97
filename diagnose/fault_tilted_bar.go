package diagnose

import (
	"math"
	"slices"
)

// fewestKeys is how many keys a slope over the keyboard needs.
const fewestKeys = 10

// tiltLevel is the level of the interval of the slope over the keyboard: the
// keys' own differences are many, and one of them is not to decide.
const tiltLevel = 0.999

// tiltedBar: the universal bar hangs askew, so that the keys of one side trip
// late and those of the other early: the lead changes steadily from left to
// right. It needs the text. The keys are the points, not the strokes: a bar has a
// lead of its own.
//
// Strong: the lead changes by half of itself or more, with its whole interval,
// and letters of the late side made no space. Likely: either. Possible: by a
// quarter, with its whole interval.
func tiltedBar(c *Case) (Finding, bool) {
	if !c.hasText() {
		return Finding{}, false
	}
	leads := c.leads()
	by := map[rune][]float64{}
	for i := range c.Take.Strokes {
		if k := c.char(i); k != 0 && known(leads[i]) {
			by[k] = append(by[k], leads[i])
		}
	}
	var keys []rune
	for k, v := range by {
		if _, ok := keyPlace(k); ok && len(v) >= 2 {
			keys = append(keys, k)
		}
	}
	if len(keys) < fewestKeys {
		return Finding{}, false
	}
	slices.Sort(keys)
	var x, y []float64
	for _, k := range keys {
		at, _ := keyPlace(k)
		x, y = append(x, at), append(y, Median(by[k]))
	}
	line := theilSen(x, y, tiltLevel)
	middle := Median(y)
	if !(middle > 0) || !(line.Low > 0 || line.High < 0) {
		return Finding{}, false
	}
	least := math.Min(math.Abs(line.Low), math.Abs(line.High)) / middle
	if least < 0.25 {
		return Finding{}, false
	}
	late, lateLeft := "right", line.Slope > 0
	if lateLeft {
		late = "left"
	}
	onLate := func(i int) bool {
		at, ok := keyPlace(c.char(i))
		return ok && (at < 0.5) == lateLeft
	}
	var where []int
	_, missed := c.judged(KindType)
	for _, i := range missed {
		if onLate(i) {
			where = append(where, i)
		}
	}
	relieved := c.relieved(func(i int) relief { return relief{missed: onLate(i)} })
	strength := Possible
	switch {
	case least >= 0.5 && len(where) > 0:
		strength = Strong
	case least >= 0.5 || len(where) > 0:
		strength = Likely
	}
	return Finding{
		Fault: FaultTiltedBar, Share: ShareMachine, Strength: strength, Explains: len(relieved),
		Evidence: []Evidence{
			plain("lead from the leftmost to the rightmost key changes by", line.Slope, "ms").within(line.Low, line.High).
				against(0, BasisTake, "level: the same lead at every key; 99.9 % interval over the keys"),
			plain("lead in the middle of the keyboard", line.Intercept+0.5*line.Slope, "ms"),
			plain("letters of the "+late+" side that made no space", float64(len(where)), "").
				against(float64(len(missed)), BasisTake, "all letters that made no space"),
		},
		Where: where, relieved: relieved,
		Check:   "Press a key at the far left slowly, then one at the far right, and watch when the escapement trips: the type face should be as far from the platen in both. The " + late + " side trips late.",
		Next:    "See whether the universal bar is bent or its links are uneven or loose; level it as the service sheet gives it.",
		Caution: caution(cautionBend, cautionMoving),
	}, true
}
