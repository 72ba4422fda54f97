package compare

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"loosedog/diagnose"
)

// bootstrapShares is the interval of the second share less the first: lines drawn
// anew on either side, and each share as uncertain as the numbers leave it (Beta
// with k + 1/2 and n - k + 1/2, Jeffreys), for lines without a single yes, drawn
// however often, would claim that there can be none.
func bootstrapShares(s *shares) (low, high float64) {
	source := rand.NewPCG(resampleSeed, 2)
	r := rand.New(source)
	var values []float64
	for range 1000 {
		var share [2]float64
		for side := range 2 {
			var yes, all float64
			n := len(s.yes[side])
			for range n {
				i := r.IntN(n)
				yes, all = yes+s.yes[side][i], all+s.all[side][i]
			}
			share[side] = distuv.Beta{Alpha: yes + 0.5, Beta: max(all-yes, 0) + 0.5, Src: source}.Rand()
		}
		values = append(values, share[1]-share[0])
	}
	return interval(values)
}

// around is a value with the interval of its resampled values, which is widened to
// hold it: a share of 0 or 1 stands at the end of what it may be.
func around(value float64, resampled []float64) Range {
	low, high := interval(resampled)
	return between(value, min(low, value), max(high, value))
}

// cell are the four ways to set either side's typing on either side's machine:
// letters per page, by typing, then by machine.
type cell [2][2]float64

func cellOf(typing [2][][]stroke, times [2][]int, machines [2]*machine) (c cell) {
	for t := range 2 {
		for m := range 2 {
			c[t][m] = machines[m].perPage(typing[t], times[t])
		}
	}
	return c
}

// pooled is a machine's letters under both sides' typing, half and half.
func (c cell) pooled(machine int) float64 { return (c[0][machine] + c[1][machine]) / 2 }

// machine is what the machine makes of the difference, hand what the hand does.
func (c cell) machine() float64 { return c.pooled(1) - c.pooled(0) }
func (c cell) hand() float64 {
	return (c[1][0] - c[0][0] + c[1][1] - c[0][1]) / 2
}

// equal replays both machines under equal typing and takes the raw difference
// apart; it fills Typing, Raw and the sides' checks, and gives the resampled
// differences of the pooled hand and of each fixed one.
func (c *Comparison) equal(sides [2]*side, fixed []Hand, resamples int) (differences map[string][]float64) {
	machines := [2]*machine{sides[0].all, sides[1].all}
	own := [2][][]stroke{sides[0].typing(), sides[1].typing()}
	pages := make([][][]stroke, len(fixed))
	values := make([][2]float64, len(fixed))
	for i, h := range fixed {
		pages[i] = h.lines()
		for m := range 2 {
			values[i][m] = machines[m].perPage(pages[i], nil)
		}
	}
	seen := cellOf(own, [2][]int{}, machines)
	raw := sides[1].counted(nil) - sides[0].counted(nil)

	source := rand.NewPCG(resampleSeed, 3)
	r := rand.New(source)
	var cells []cell
	var raws []float64
	again := make([][2][]float64, len(fixed))
	for range resamples {
		var times [2][]int
		var drawn [2]*machine
		for i, s := range sides {
			times[i] = draw(r, len(s.lines))
			drawn[i] = s.machine(times[i]).uncertain(source, &s.grasp)
		}
		cells = append(cells, cellOf(own, times, drawn))
		raws = append(raws, sides[1].counted(times[1])-sides[0].counted(times[0]))
		for i := range fixed {
			for m := range 2 {
				again[i][m] = append(again[i][m], drawn[m].perPage(pages[i], nil))
			}
		}
	}
	take := func(value float64, of func(cell) float64) Range {
		v := make([]float64, len(cells))
		for i, x := range cells {
			v[i] = of(x)
		}
		return around(value, v)
	}
	c.Raw = Raw{
		Machine: take(seen.machine(), cell.machine),
		Hand:    take(seen.hand(), cell.hand),
	}
	c.Raw.Difference = around(raw, raws)
	for i, to := range []*Side{&c.Before, &c.After} {
		to.Counted = diagnose.Number(sides[i].counted(nil))
		to.Replayed = take(seen[i][i], func(x cell) float64 { return x[i][i] })
	}

	differences = map[string][]float64{}
	rate, flicked := pooledHand(sides)
	e := EqualTyping{Hand: Pooled, Rate: diagnose.Number(rate), Flicked: diagnose.Number(flicked),
		Before:     take(seen.pooled(0), func(x cell) float64 { return x.pooled(0) }),
		After:      take(seen.pooled(1), func(x cell) float64 { return x.pooled(1) }),
		Difference: c.Raw.Machine}
	c.Typing = []EqualTyping{e}
	for _, x := range cells {
		differences[Pooled] = append(differences[Pooled], x.machine())
	}
	for i, h := range fixed {
		diffs := make([]float64, len(again[i][0]))
		for k := range diffs {
			diffs[k] = again[i][1][k] - again[i][0][k]
		}
		differences[h.Name] = diffs
		c.Typing = append(c.Typing, EqualTyping{
			Hand: h.Name, Rate: diagnose.Number(h.Rate), Flicked: diagnose.Number(h.Flicked),
			Before:     around(values[i][0], again[i][0]),
			After:      around(values[i][1], again[i][1]),
			Difference: around(values[i][1]-values[i][0], diffs),
		})
	}
	return differences
}

// pooledHand is the mean of both sides' rates, in strokes a second within lines,
// and of the shares of their flicked strokes.
func pooledHand(sides [2]*side) (rate, flicked float64) {
	for _, s := range sides {
		if s.grasp.linkage[letter].always {
			flicked = math.NaN() // it makes no difference there
		}
		var n, sum, f, all float64
		for _, l := range s.lines {
			for i, t := range l.typing {
				if i+1 < len(l.typing) && t.interval < longPause {
					n, sum = n+1, sum+t.interval
				}
				all++
				if t.flicked {
					f++
				}
			}
		}
		rate += n / sum / 2
		flicked += f / all / 2
	}
	return rate, flicked
}
