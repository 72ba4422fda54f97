package diagnose

import (
	"testing"

	"pgregory.net/rapid"
)

// The batting averages of Efron and Morris (1975), JASA 70:311-319 (from memory):
// 18 players, 45 times at bat, mean 0.265; James-Stein keeps 1 - 15 sigma^2/S =
// 0.212 of what stands off from the mean. The moment estimate has 17 for 15.
func TestShrinkBattingAverages(t *testing.T) {
	y := []float64{.400, .378, .356, .333, .311, .311, .289, .267, .244, .244, .222, .222, .222, .222, .222, .200, .178, .156}
	mean, squares := 0.0, 0.0
	for _, v := range y {
		mean += v / float64(len(y))
	}
	for _, v := range y {
		squares += (v - mean) * (v - mean)
	}
	variance := mean * (1 - mean) / 45
	if keep := 1 - 15*variance/squares; !near(keep, 0.212, 0.002) || !near(mean, 0.265, 0.0006) {
		t.Fatalf("the data are not those of 1975: mean %.4f, keep %.4f", mean, keep)
	}
	se := make([]float64, len(y))
	for i := range se {
		se[i] = root(variance)
	}
	got := shrink(y, se)
	want := 1 - 17*variance/squares
	for i, v := range y {
		if !near(got.Effect[i], mean+want*(v-mean), 1e-6) {
			t.Errorf("%.3f becomes %.5f, want %.5f", v, got.Effect[i], mean+want*(v-mean))
		}
	}
}

// An effect never moves away from the mean, and less is left of one that is less
// known.
func TestShrinkDrawsIn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 20).Draw(t, "n")
		y, se := make([]float64, n), make([]float64, n)
		for i := range n {
			y[i] = rapid.Float64Range(-30, 30).Draw(t, "y")
			se[i] = rapid.Float64Range(0.5, 10).Draw(t, "se")
		}
		got := shrink(y, se)
		for i := range n {
			before, after := y[i]-got.Mean, got.Effect[i]-got.Mean
			if after*before < -1e-9 || after*after > before*before+1e-9 {
				t.Fatalf("%g became %g about %g", y[i], got.Effect[i], got.Mean)
			}
		}
	})
}
