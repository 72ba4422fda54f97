package diagnose

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Critical values of Fisher's g, worked out from the exact formula in rational
// arithmetic; they agree with the table of Fisher (1929) as remembered.
func TestFishersGCriticalValues(t *testing.T) {
	for _, c := range []struct {
		m         int
		five, one float64
	}{
		{5, 0.68377, 0.78853}, {10, 0.44495, 0.53584}, {15, 0.33461, 0.40689}, {20, 0.27040, 0.32971},
		{25, 0.22805, 0.27819}, {30, 0.19784, 0.24124}, {40, 0.15738, 0.19156}, {50, 0.13135, 0.15954},
	} {
		if p := fishersGTail(c.five, c.m); !near(p, 0.05, 2e-5) {
			t.Errorf("m = %d: P(g > %g) = %.6f, want 0.05", c.m, c.five, p)
		}
		if p := fishersGTail(c.one, c.m); !near(p, 0.01, 1e-5) {
			t.Errorf("m = %d: P(g > %g) = %.6f, want 0.01", c.m, c.one, p)
		}
	}
}

func TestFishersGFindsAPeriod(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	y := make([]float64, 420)
	for i := range y {
		y[i] = r.NormFloat64() + 0.7*math.Sin(2*math.Pi*float64(i)/14)
	}
	g, p, k := fishersG(y)
	if k != 420/14 || p > 1e-6 || g < 0.05 {
		t.Errorf("g %g, p %g at %d cycles, want 30 cycles", g, p, k)
	}
	for _, flat := range [][]float64{nil, {1, 2}, make([]float64, 50), {7, 7, 7, 7, 7, 7, 7}} {
		if g, p, _ := fishersG(flat); g != 0 || p != 1 {
			t.Errorf("%v: g %g, p %g", flat, g, p)
		}
	}
}

// Of noise the test must be right as often as it claims.
func TestFishersGHoldsItsLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	below := 0
	const takes = 1000
	for range takes {
		y := make([]float64, 61)
		for i := range y {
			y[i] = r.NormFloat64()
		}
		if _, p, _ := fishersG(y); p < 0.05 {
			below++
		}
	}
	if below < 30 || below > 75 { // 50, 3.6 standard deviations either way
		t.Errorf("%d of %d noises under 0.05", below, takes)
	}
}
