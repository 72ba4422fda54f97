package diagnose

import (
	"math"
	"slices"
)

// change is what stands out at one place of the line.
type change struct {
	From, To int // positions
	// Excess is by how much y is larger there, with its 95 % interval ([shiftOver]).
	Excess, Low, High float64
	// P is the probability that the best of all the places looked at stands out as
	// much by chance.
	P float64
	// Looked is how many places were looked at.
	Looked int
}

// widest place that is looked at, in spaces: what is wider is no longer a place.
const widestPlace = 7

// fewestThere is how many values a place needs: of the k largest of n the rank
// sum's z is sqrt(3k(n-k)/(n+1)), so of four never above 3.5, and with hundreds of
// places looked at that is nothing rare.
const fewestThere = 5

// changeAtPosition looks for the place of the line, one to seven spaces wide, at
// which y is larger than elsewhere, by rank sums, and takes into account how many
// places it looked at ([anyOf]; places overlap, so that errs on the careful
// side). Trends along the line are taken off first: a robust line, and what it leaves
// of the median of y over the 15 positions to either side.
func changeAtPosition(x []int, y []float64) (best change, ok bool) {
	if len(x) == 0 {
		return best, false
	}
	first, last := slices.Min(x), slices.Max(x)
	at := make([][]int, last-first+1)
	for i, p := range x {
		at[p-first] = append(at[p-first], i)
	}
	at64 := make([]float64, len(x))
	for i, p := range x {
		at64[i] = float64(p)
	}
	y = levelled(at64, y)
	height := make([]float64, len(at))
	for p := range at {
		var v []float64
		for q := max(0, p-15); q <= min(len(at)-1, p+15); q++ {
			for _, i := range at[q] {
				v = append(v, y[i])
			}
		}
		height[p] = Median(v)
	}
	flat := make([]float64, len(y))
	for i, p := range x {
		flat[i] = y[i] - height[p-first]
	}
	r, ties := DoubledRanks(flat)
	bestZ := math.Inf(-1)
	var in []int
	for from := range at {
		in = in[:0]
		for to := from; to < min(len(at), from+widestPlace); to++ {
			in = append(in, at[to]...)
			if len(in) < fewestThere || len(at[from]) == 0 || len(at[to]) == 0 {
				continue
			}
			best.Looked++
			if z := rankShift(r, ties, in); z > bestZ {
				bestZ = z
				best.From, best.To = from+first, to+first
			}
		}
	}
	if math.IsInf(bestZ, -1) {
		return best, false
	}
	best.P = anyOf(upper(bestZ), best.Looked)
	best.trim(at, flat, first)
	var there, rest []float64
	for i, p := range x {
		if p >= best.From && p <= best.To {
			there = append(there, flat[i])
		} else {
			rest = append(rest, flat[i])
		}
	}
	best.Excess, best.Low, best.High = shiftOver(there, rest, level)
	return best, true
}

// trim takes positions off the ends of a place whose own median is less than half
// of the highest one's: by rank a place of few values gains by a neighbour that is
// no part of it. at lists the values of each position from first on.
func (p *change) trim(at [][]int, flat []float64, first int) {
	height := func(position int) float64 {
		var v []float64
		for _, i := range at[position-first] {
			v = append(v, flat[i])
		}
		return Median(v)
	}
	top := math.Inf(-1)
	for q := p.From; q <= p.To; q++ {
		if h := height(q); h > top { // an empty position has none
			top = h
		}
	}
	for p.From < p.To && !(height(p.From) >= top/2) {
		p.From++
	}
	for p.From < p.To && !(height(p.To) >= top/2) {
		p.To--
	}
}
