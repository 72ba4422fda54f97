package onset

import (
	"math"
	"slices"
)

// travelModel says how long the carriage takes to move one space at a carriage
// position. The pull falls evenly along the line as the mainspring unwinds and
// 1/travel^2 is proportional to it, so
//
//	1/travel^2 = a + b*position   (a, b in 1/s^2),
//
// with residuals of sigma seconds.
type travelModel struct {
	a, b, sigma float64
	n           int // travels that it rests on; 0 for a guess
	// reach is how many spaces lie between the middles of the first and the last
	// third of the travels; 0 where there are too few to tell a slope.
	reach float64
	// spread is sigma before it is kept from being believed too small.
	spread float64
}

const (
	minTravel = 0.012 // s: nothing heavier than a bare rail moves faster
	maxTravel = 0.110 // s: slower than this nobody can type
)

// at is the travel in seconds at a position, kept within what a machine can do.
func (m *travelModel) at(position float64) float64 {
	v := m.a + m.b*position
	lo, hi := 1/(maxTravel*maxTravel), 1/(minTravel*minTravel)
	return 1 / math.Sqrt(clamp(v, lo, hi))
}

// growth bounds by which share the travel grows over 60 spaces, two standard
// errors either way; NaN where the travels do not tell.
func (m *travelModel) growth() (low, high float64) {
	if m.reach == 0 {
		return math.NaN(), math.NaN()
	}
	const spaces = 60
	t0, t1 := m.at(0), m.at(spaces)
	// The slope lies between two medians of a third of the travels each; a
	// median's standard error is 1.253 times a mean's.
	sd := 1.253 * m.spread * math.Sqrt(2/float64(m.n/3)) * spaces / m.reach
	return (t1 - t0 - 2*sd) / t0, (t1 - t0 + 2*sd) / t0
}

// fitTravel fits the model to travels (s) at positions: b is the slope between
// the outer thirds of 1/travel^2 (0 under a dozen travels), a the median of what
// is left, and sigma the scaled MAD of the residuals in s, at least half a
// millisecond.
func fitTravel(positions, travels []float64) travelModel {
	n := len(travels)
	m := travelModel{n: n, sigma: 0.003}
	if n == 0 {
		return m
	}
	inv := make([]float64, n)
	for i, t := range travels {
		inv[i] = 1 / (t * t)
	}
	if n >= 12 {
		m.b, m.reach = slope(positions, inv)
	}
	res := make([]float64, n)
	for i := range inv {
		res[i] = inv[i] - m.b*positions[i]
	}
	m.a = middle(res)
	for i, t := range travels {
		res[i] = t - m.at(positions[i])
	}
	_, mad := medianMAD(res)
	m.spread = 1.4826 * mad
	m.sigma = max(m.spread, 0.0005)
	return m
}

// slope is a robust slope of y on x, of three points or more: the difference of
// the median y of the upper and the lower third by x, over the difference of
// their mean x, which is the reach; 0 where that is less than 3.
func slope(x, y []float64) (slope, reach float64) {
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		switch {
		case x[i] < x[j]:
			return -1
		case x[i] > x[j]:
			return 1
		default:
			return i - j
		}
	})
	k := len(order) / 3
	part := func(idx []int) (mx, my float64) {
		v := make([]float64, len(idx))
		for j, i := range idx {
			mx += x[i]
			v[j] = y[i]
		}
		return mx / float64(len(idx)), middle(v)
	}
	x0, y0 := part(order[:k])
	x1, y1 := part(order[len(order)-k:])
	if x1-x0 < 3 {
		return 0, 0
	}
	return (y1 - y0) / (x1 - x0), x1 - x0
}
