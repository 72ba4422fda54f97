package diagnose

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Rules about letters.
const (
	// fewestOfLetter is how often a letter has to be typed.
	fewestOfLetter = 4
	// letterP is how rare by chance a slow letter must be, all letters together.
	letterP = 0.002
	// letterMS is the least that a letter's latency must be longer, in ms, when it
	// has been drawn toward the other letters': less is the finger's.
	letterMS = 6
)

// letterEffect is one letter's latency against the others'.
type letterEffect struct {
	key                  rune
	n                    int
	excess, low, high, p float64 // ms; excess shrunk toward the other letters'
	strokes              []int
}

// letterEffects are the letters whose latency is longer than the others', the
// slowest first.
func (c *Case) letterEffects() []letterEffect {
	if !c.hasText() || c.Options.Action == DownStroke {
		return nil
	}
	by := map[rune][]int{}
	var v []float64
	var index []int
	for i, s := range c.Take.Strokes {
		if k := c.char(i); k != 0 && s.Kind == KindType && s.LatencyMS.Known() {
			by[k] = append(by[k], len(v))
			v, index = append(v, float64(s.LatencyMS)), append(index, i)
		}
	}
	if len(v) < fewestKeyed {
		return nil
	}
	r, ties := DoubledRanks(v)
	spread := MADToSD * MAD(v)
	middle := Median(v)
	var keys []rune
	for k, in := range by {
		if len(in) >= fewestOfLetter {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	var effect, se []float64
	for _, k := range keys {
		var own []float64
		for _, i := range by[k] {
			own = append(own, v[i])
		}
		effect = append(effect, Median(own)-middle)
		se = append(se, 1.2533*math.Max(spread, 0.5)/math.Sqrt(float64(len(own))))
	}
	drawn := shrink(effect, se)
	var out []letterEffect
	for i, k := range keys {
		e := letterEffect{key: k, n: len(by[k]), excess: drawn.Effect[i], p: 1}
		e.low, e.high = e.excess-1.96*drawn.Error[i], e.excess+1.96*drawn.Error[i]
		if z := rankShift(r, ties, by[k]); known(z) {
			e.p = anyOf(upper(z), len(keys))
		}
		for _, j := range by[k] {
			e.strokes = append(e.strokes, index[j])
		}
		if e.p < letterP && e.low > letterMS {
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(a, b letterEffect) int { return cmp.Compare(b.excess, a.excess) })
	return out
}

// slowKeys are the keys of the sluggish bars.
func (c *Case) slowKeys() map[rune]bool {
	slow := map[rune]bool{}
	for _, e := range c.letterEffects() {
		slow[e.key] = true
	}
	return slow
}

// sluggishBar: one or a few letters whose bar falls back late, wherever they
// stand. It needs the text. More than four such letters are no longer single
// bars.
//
// Strong: 1 in 100000 by chance and flagged pairs would stand clear without it.
// Likely: either of the two. Possible: neither.
func sluggishBar(c *Case) (Finding, bool) {
	slow := c.letterEffects()
	if len(slow) == 0 || len(slow) > 4 {
		return Finding{}, false
	}
	var names []string
	var evidence []Evidence
	var where []int
	excess := map[rune]float64{}
	least := 1.0
	for _, e := range slow {
		names = append(names, string(e.key))
		excess[e.key] = e.excess
		least = min(least, e.p)
		where = append(where, e.strokes...)
		evidence = append(evidence, plain(fmt.Sprintf("latency of %q longer (%d strokes)", e.key, e.n), e.excess, "ms").
			within(e.low, e.high).against(0, BasisTake, "the other letters of this take; drawn toward them by how little is known"))
	}
	relieved := c.relieved(func(i int) relief { return relief{ms: excess[c.char(i)]} })
	rare := least < 1e-5
	strength := Possible
	switch {
	case rare && len(relieved) > 0:
		strength = Strong
	case rare || len(relieved) > 0:
		strength = Likely
	}
	letters := strings.Join(names, ", ")
	return Finding{
		Fault: FaultSluggishBar, Share: ShareMachine, Strength: strength, Explains: len(relieved),
		Evidence: evidence, Where: inOrder(where), relieved: relieved,
		Check:   fmt.Sprintf("Lift the type bar of %s by hand and let it fall: it must drop by itself, like its neighbours. Dirt in the segment slot is the usual reason, a bar that rubs its neighbour the next.", letters),
		Next:    "Clean the slot and the bar's pivot; then look whether the bar or its link is bent.",
		Caution: caution(cautionSolvent, cautionBend),
	}, true
}
