package diagnose

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Example of Shier (2004), Statistics 2.3, as SciPy's mannwhitneyu quotes it: the
// asymptotic two-sided p without continuity correction is 0.0864107329737.
func TestRankShiftShier2004(t *testing.T) {
	all := []float64{19, 22, 16, 29, 24, 20, 11, 17, 12}
	r, ties := DoubledRanks(all)
	z := rankShift(r, ties, []int{0, 1, 2, 3, 4})
	if p := 2 * upper(z); !near(p, 0.0864107329737, 1e-12) {
		t.Errorf("p %.13f", p)
	}
}

// StatXact 5, dataset bloodp, as exactRankTests quotes it: asymptotic, corrected
// for ties, without continuity, 0.0853.
func TestRankShiftWithTies(t *testing.T) {
	all := []float64{94, 108, 110, 90, 80, 94, 85, 90, 90, 90, 108, 94, 78, 105, 88}
	r, ties := DoubledRanks(all)
	if p := 2 * upper(rankShift(r, ties, []int{0, 1, 2, 3})); !near(p, 0.0853, 5e-5) {
		t.Errorf("p %.5f", p)
	}
}

// Hollander and Wolfe (1973), p. 69f, as R's wilcox.test has it: the shift is the
// median of 50 differences, 0.305, its interval the 9th and the 42nd of them, (-0.15,
// 0.76); the normal approximation takes the same ranks.
func TestShiftOverHollanderWolfe(t *testing.T) {
	x := []float64{.80, .83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, .73, 1.46}
	y := []float64{1.15, .88, .90, .74, 1.21}
	shift, low, high := shiftOver(x, y, 0.95)
	if !near(shift, 0.305, 1e-12) || !near(low, -0.15, 1e-12) || !near(high, 0.76, 1e-12) {
		t.Errorf("%g (%g, %g), want 0.305 (-0.15, 0.76)", shift, low, high)
	}
	if v, _, _ := shiftOver(nil, y, 0.95); !math.IsNaN(v) {
		t.Error("a shift of nothing")
	}
}

func TestShiftFollowsAShift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-50, 50), 1, 12).Draw(t, "x")
		y := rapid.SliceOfN(rapid.Float64Range(-50, 50), 1, 40).Draw(t, "y")
		by := rapid.Float64Range(-20, 20).Draw(t, "by")
		moved := make([]float64, len(x))
		for i, v := range x {
			moved[i] = v + by
		}
		a, alow, ahigh := shiftOver(x, y, 0.95)
		b, blow, bhigh := shiftOver(moved, y, 0.95)
		if !near(b-a, by, 1e-9) || !near(blow-alow, by, 1e-9) || !near(bhigh-ahigh, by, 1e-9) || alow > a || a > ahigh {
			t.Fatalf("%g (%g, %g) moved by %g: %g (%g, %g)", a, alow, ahigh, by, b, blow, bhigh)
		}
	})
}

func TestAnyOf(t *testing.T) {
	// 1 - 0.9^3 = 0.271; a p of 1e-18 is not lost.
	if got := anyOf(0.1, 3); !near(got, 0.271, 1e-12) {
		t.Errorf("%g", got)
	}
	if got := anyOf(1e-18, 100); !near(got, 1e-16, 1e-20) {
		t.Errorf("%g", got)
	}
}
