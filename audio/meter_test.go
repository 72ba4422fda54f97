package audio

import (
	"math"
	"math/rand/v2"
	"testing"
)

// sums are those of their definition, of a channel alone and of a pair with its
// mean.
func TestSumsAreTheirDefinition(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, n := range []int{0, 1, 2, 3, 511, 512} {
		planes := make([][]float64, 3)
		var both []float64
		for range n {
			a, b := 0.1+0.3*r.NormFloat64(), 0.3*r.NormFloat64()
			both = append(both, a, b)
			planes[0], planes[1], planes[2] = append(planes[0], a), append(planes[1], b), append(planes[2], (a+b)/2)
		}
		l, rt, m := sumsOfPair(both)
		for i, got := range []sums{l, rt, m} {
			want := sums{n: n}
			for k, v := range planes[i] {
				want.sum += v
				want.square += v * v
				want.moment += float64(k) * v
			}
			for _, got := range []sums{got, sumsOf(planes[i])} {
				if got.n != n || off(got.sum, want.sum) || off(got.square, want.square) || off(got.moment, want.moment) {
					t.Errorf("signal %d, %d samples: %+v, want %+v", i, n, got, want)
				}
			}
		}
	}
}

func off(got, want float64) bool { return math.Abs(got-want) > 1e-9*(1+math.Abs(want)) }

// A frame that holds a new extreme, comes near one, or is silent is looked at.
func TestMeterLooksWhereItMatters(t *testing.T) {
	const n = 512
	m := newMeter(48000, 0)
	show := func(x []float64) (needed bool) {
		s := sumsOf(x)
		needed = m.needs(s)
		m.add(s, true, needed && m.look(x))
		return needed
	}
	noise := func(sigma float64) []float64 {
		r := rand.New(rand.NewPCG(2, uint64(sigma*1e6)))
		x := make([]float64, n)
		for i := range x {
			x[i] = sigma * r.NormFloat64()
		}
		return x
	}
	peak := func(height float64) []float64 {
		x := noise(1e-3)
		x[n/2] = height
		return x
	}
	show(peak(0.5))
	show(peak(-0.4))
	if show(noise(1e-3)) {
		t.Error("a quiet frame was looked at")
	}
	for _, x := range [][]float64{peak(0.21), peak(-0.45), peak(0.6), make([]float64, n)} {
		if !show(x) {
			t.Errorf("a frame with %g in its middle was not looked at", x[n/2])
		}
	}
	constant := make([]float64, n)
	for i := range constant {
		constant[i] = 0.1
	}
	if !show(constant) {
		t.Error("a constant was not looked at")
	}
	if m.hi != 0.6 || m.lo != -0.45 || m.silent != 2 {
		t.Errorf("extremes %g and %g, %d silent frames; want 0.6, -0.45 and 2", m.hi, m.lo, m.silent)
	}
}
