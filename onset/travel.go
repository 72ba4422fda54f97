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
		m.b = slope(positions, inv)
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
	m.sigma = max(1.4826*mad, 0.0005)
	return m
}

// slope is a robust slope of y on x, of three points or more: the difference of
// the median y of the upper and the lower third by x, over the difference of
// their mean x; 0 where those are less than 3 apart.
func slope(x, y []float64) float64 {
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
		return 0
	}
	return (y1 - y0) / (x1 - x0)
}
