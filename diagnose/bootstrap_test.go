package diagnose

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The bootstrap distribution of the median of 13 values: the probability that a
// resample's median is the l-th smallest value, as tabulated in Efron (1979),
// Annals of Statistics 7:1-26, section 3. Table from memory, held to 1 in its last digit.
func TestBootstrapOfMedianEfron1979(t *testing.T) {
	table := map[int]float64{
		2: 0.0015, 3: 0.0142, 4: 0.0550, 5: 0.1242, 6: 0.1936, 7: 0.2230,
		8: 0.1936, 9: 0.1242, 10: 0.0550, 11: 0.0142, 12: 0.0015,
	}
	for l, want := range table {
		got := bootstrapCDF(13, 7, l) - bootstrapCDF(13, 7, l-1)
		if !near(got, want, 0.0001) {
			t.Errorf("P(median = x(%d)) = %.5f, want %.4f", l, got, want)
		}
	}
}

// Every resample of 4 values, counted one by one: the exact distribution of
// their second smallest.
func TestBootstrapCDFByCounting(t *testing.T) {
	const n, r = 4, 2
	var count [n + 1]int
	for code := range 256 {
		draw := []int{code & 3, code >> 2 & 3, code >> 4 & 3, code >> 6 & 3}
		slices.Sort(draw)
		count[draw[r-1]+1]++
	}
	sum := 0
	for k := 1; k <= n; k++ {
		sum += count[k]
		if got, want := bootstrapCDF(n, r, k), float64(sum)/256; !near(got, want, 1e-12) {
			t.Errorf("P(X*(2) <= x(%d)) = %g, want %g", k, got, want)
		}
	}
}

// The treatment group of the mouse data (Efron and Tibshirani 1993, Table 2.1)
// resampled: the interval that nothing is resampled for is the limit of the
// usual one.
func TestBootstrapQuantileAgainstResampling(t *testing.T) {
	mice := []float64{16, 23, 38, 94, 99, 141, 197}
	rnd := rand.New(rand.NewPCG(7, 7))
	medians := make([]float64, 40001)
	draw := make([]float64, len(mice))
	for i := range medians {
		for j := range draw {
			draw[j] = mice[rnd.IntN(len(mice))]
		}
		medians[i] = Median(draw)
	}
	slices.Sort(medians)
	low, high := bootstrapQuantile(mice, 0.5, 0.95)
	if wantLow, wantHigh := Quantile(medians, 0.025), Quantile(medians, 0.975); low != wantLow || high != wantHigh {
		t.Errorf("interval (%g, %g), resampling gives (%g, %g)", low, high, wantLow, wantHigh)
	}
}

// The interval must hold the true median as often as it claims.
func TestBootstrapCoverage(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 9))
	for _, n := range []int{10, 41, 200} {
		const takes = 1000
		held := 0
		for range takes {
			s := make([]float64, n)
			for i := range s {
				s[i] = rnd.ExpFloat64()
			}
			low, high := bootstrapQuantile(Sorted(s), 0.5, 0.95)
			if low <= math.Ln2 && math.Ln2 <= high { // the median of exp(1)
				held++
			}
		}
		if share := float64(held) / takes; share < 0.92 {
			t.Errorf("of %d values the interval held the median in %.3f of takes, want 0.95", n, share)
		}
	}
}

func TestBootstrapQuantileEncloses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Sorted(rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 1, 60).Draw(t, "values"))
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		low, high := bootstrapQuantile(s, p, 0.95)
		if q := Quantile(s, p); low > q || q > high {
			t.Fatalf("quantile %g outside (%g, %g)", q, low, high)
		}
	})
	if low, high := bootstrapQuantile(nil, 0.5, 0.95); !math.IsNaN(low) || !math.IsNaN(high) {
		t.Error("an interval from nothing")
	}
}
