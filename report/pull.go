package report

import (
	"math"
	"sort"

	"loosedog/diagnose"
)

// pullLine is a robust line through 1/travel^2 against carriage position.
// Travel = sqrt(2 p m / (F - D)) makes 1/travel^2 proportional to the net pull,
// which falls along the line as the mainspring unwinds, so the line is straight
// where travel itself is not.
type pullLine struct {
	// at0 is 1/travel^2 at position 0 in 1/ms^2, slope its change per space.
	at0, slope float64
	// from and to are the first and last position that it rests on.
	from, to float64
}

// travel is the line's travel in ms at a carriage position.
func (l pullLine) travel(position float64) float64 {
	return 1 / math.Sqrt(l.at0+l.slope*position)
}

// Least data for a line: fewer would be drawn through chance.
const (
	lineStrokes   = 20
	linePositions = 8
)

// fitPull fits the line by the medians of each position and the median of all
// slopes between them (Theil and Sen). ok is false where there are too few
// strokes or the line would leave what is physical.
func fitPull(strokes []diagnose.Stroke) (line pullLine, ok bool) {
	by := map[int][]float64{}
	n := 0
	for _, s := range strokes {
		t := float(s.TravelMS)
		if !inPicture(t) || t <= 0 {
			continue
		}
		by[s.Position] = append(by[s.Position], 1/(t*t))
		n++
	}
	// A line of a page has some hundred positions at most; more is not a page.
	if n < lineStrokes || len(by) < linePositions || len(by) > 400 {
		return line, false
	}
	var xs, ys []float64
	for x := range by {
		xs = append(xs, float64(x))
	}
	sort.Float64s(xs)
	for _, x := range xs {
		ys = append(ys, median(by[int(x)]))
	}
	var slopes []float64
	for i := range xs {
		for j := i + 1; j < len(xs); j++ {
			slopes = append(slopes, (ys[j]-ys[i])/(xs[j]-xs[i]))
		}
	}
	line.slope = median(slopes)
	var rests []float64
	for i := range xs {
		rests = append(rests, ys[i]-line.slope*xs[i])
	}
	line.at0 = median(rests)
	line.from, line.to = xs[0], xs[len(xs)-1]
	for _, x := range []float64{line.from, line.to} {
		if !(line.at0+line.slope*x > 0) || !inPicture(line.travel(x)) {
			return line, false
		}
	}
	return line, true
}

// median of xs, which it sorts; NaN when there are none.
func median(xs []float64) float64 {
	if len(xs) == 0 {
		return math.NaN()
	}
	sort.Float64s(xs)
	m := len(xs) / 2
	if len(xs)%2 == 1 {
		return xs[m]
	}
	return (xs[m-1] + xs[m]) / 2
}
