package diagnose

import (
	"math"
	"testing"
)

func near(got, want, tol float64) bool {
	return math.Abs(got-want) <= tol || math.IsNaN(got) && math.IsNaN(want)
}

// Expected values by hand from the definition of the type 7 quantile, which is
// also the default of R's quantile: quantile(c(1,2,3,4), c(.5,.95)) = 2.5, 3.85.
func TestQuantile(t *testing.T) {
	for _, c := range []struct {
		s       []float64
		p, want float64
	}{
		{nil, 0.5, math.NaN()},
		{[]float64{7}, 0.95, 7},
		{[]float64{1, 2, 3, 4}, 0.5, 2.5},
		{[]float64{1, 2, 3, 4}, 0.95, 3.85},
		{[]float64{1, 2, 3, 4}, 0, 1},
		{[]float64{1, 2, 3, 4}, 1, 4},
		{[]float64{1, 2, 9}, 0.5, 2},
	} {
		if got := Quantile(c.s, c.p); !near(got, c.want, 1e-12) {
			t.Errorf("Quantile(%v, %g) = %g, want %g", c.s, c.p, got, c.want)
		}
	}
}

func TestMedianAndMAD(t *testing.T) {
	// R: median(c(1,1,2,2,4,6,9)) = 2, mad(..., constant = 1) = 1.
	x := []float64{9, 1, 6, 1, 2, 4, 2}
	if m, d := Median(x), MAD(x); m != 2 || d != 1 {
		t.Errorf("median and MAD are %g and %g, want 2 and 1", m, d)
	}
	if x[0] != 9 {
		t.Error("the caller's values were moved")
	}
	nan := []float64{math.NaN(), 3, math.Inf(1)}
	if m := Median(nan); m != 3 {
		t.Errorf("median of one finite value is %g, want 3", m)
	}
}
