package onset

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func alternating(n int, amp float64) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = amp
		if i%2 == 1 {
			x[i] = -amp
		}
	}
	return x
}

// 50 samples of +-1 and then 50 of +-10 have the least AIC(k) at k = 50 by the
// formula of Maeda (1985) in the form that ObsPy's aic_simple cites; calculated
// by hand.
func TestPickerOnMaedasForm(t *testing.T) {
	x := append(alternating(50, 1), alternating(50, 10)...)
	if got := aic(x, 0); got != 50 {
		t.Errorf("onset at %d, want 50", got)
	}
	if got := aic(x, 1e-10); got != 50 {
		t.Errorf("onset at %d with a floor, want 50", got)
	}
}

// The picker against the formula written out as printed.
func TestPickerIsTheFormula(t *testing.T) {
	variance := func(x []float64) float64 {
		var sum, sq float64
		for _, v := range x {
			sum += v
		}
		mean := sum / float64(len(x))
		for _, v := range x {
			sq += (v - mean) * (v - mean)
		}
		return sq / float64(len(x))
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-1, 1), 8, 120).Draw(t, "x")
		const floor = 1e-6
		n := len(x)
		form := func(k int) float64 {
			return float64(k)*math.Log(variance(x[:k])+floor) + float64(n-k-1)*math.Log(variance(x[k:])+floor)
		}
		best := math.Inf(1)
		for k := 4; k <= n-4; k++ {
			best = min(best, form(k))
		}
		if got := aic(x, floor); form(got) > best+1e-6*(1+math.Abs(best)) {
			t.Errorf("AIC(%d) = %g, the least is %g", got, form(got), best)
		}
	})
}

// Where quiet ends and ten times louder begins.
func TestPickerFindsTheStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		before := rapid.IntRange(10, 150).Draw(t, "before")
		after := rapid.IntRange(10, 150).Draw(t, "after")
		factor := rapid.Float64Range(10, 1000).Draw(t, "factor")
		x := rapid.SliceOfN(rapid.Float64Range(0.5, 1.5), before+after, before+after).Draw(t, "x")
		for i := range x {
			// Signs in turn: a few values that happen to be alike are no silence.
			if i%2 == 1 {
				x[i] = -x[i]
			}
		}
		for i := before; i < len(x); i++ {
			x[i] *= factor
		}
		if got := aic(x, 1e-12); got < before-2 || got > before+2 {
			t.Errorf("onset at %d, want %d", got, before)
		}
	})
}

// Normal noise now and then begins with samples near zero, so not every one of
// these can be found to the sample.
func TestPickerInNoise(t *testing.T) {
	const takes = 500
	far := 0
	for seed := range uint64(takes) {
		r := rand.New(rand.NewPCG(seed, 3))
		at, n := 20+r.IntN(160), 200
		factor := 10 + 20*r.Float64()
		x := make([]float64, n)
		for i := range x {
			x[i] = r.NormFloat64()
			if i >= at {
				x[i] *= factor
			}
		}
		if got := aic(x, 1e-12); got < at-2 || got > at+2 {
			far++
		}
	}
	if far > takes/50 {
		t.Errorf("%d of %d onsets are more than 2 samples off", far, takes)
	}
}

func TestPickerOnNothing(t *testing.T) {
	for _, x := range [][]float64{nil, {}, {1}, {1, 2, 3}, make([]float64, 7), make([]float64, 8), make([]float64, 100),
		{5, 5, 5, 5, 5, 5, 5, 5, 5, 5}, {0, 0, 0, 0, math.NaN(), 0, 0, 0, 0}, {0, 0, 0, 0, math.Inf(1), 0, 0, 0, 0}} {
		for _, floor := range []float64{0, 1e-10} {
			if got := aic(x, floor); got < 0 || got > len(x) {
				t.Errorf("aic(%v, %g) = %d", x, floor, got)
			}
		}
	}
}
