package compare

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"loosedog/diagnose"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.12g, want %.12g", what, got, want)
	}
}

func TestRankSum(t *testing.T) {
	for _, c := range []struct {
		source            string
		x, y              []float64
		u, greater, twice float64
		tolerance         float64
		exact             bool
	}{
		{"SciPy docstring of mannwhitneyu, after Shier (2004), Statistics 2.3: males against females",
			[]float64{19, 22, 16, 29, 24}, []float64{20, 11, 17, 12},
			17, 1. / 18, 0.1111111111111111, 1e-12, true},
		{"R ?wilcox.test, Hollander and Wolfe (1973) p. 69f: W = 35, p(greater) = 0.1272, which is 382/3003",
			[]float64{.80, .83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, .73, 1.46}, []float64{1.15, .88, .90, .74, 1.21},
			35, 382. / 3003, math.NaN(), 1e-12, true},
		{"exactRankTests tests/reg-tests.R (StatXact 5), bloodp with ties: rank sum 45, greater 74/1365, two-sided 135/1365",
			[]float64{94, 108, 110, 90}, []float64{80, 94, 85, 90, 90, 90, 108, 94, 78, 105, 88},
			45 - 10, 74. / 1365, 135. / 1365, 1e-12, true},
	} {
		got := rankSum(c.x, c.y)
		near(t, c.source+": U", got.U, c.u, 0)
		near(t, c.source+": greater", got.Greater, c.greater, c.tolerance)
		if !math.IsNaN(c.twice) {
			near(t, c.source+": two-sided", got.TwoSided, c.twice, c.tolerance)
		}
		if got.Exact != c.exact {
			t.Errorf("%s: exact %v", c.source, got.Exact)
		}
	}
}

// R ?wilcox.test on airquality's Ozone, May against August, with ties: W = 127.5,
// p = 0.0001208 (normal approximation with tie correction and continuity;
// 0.000120807830769). 52 values are few enough for us to count exactly, so the
// approximation is asked by repeating what it does: see normalRankSum.
func TestRankSumNormal(t *testing.T) {
	may := []float64{41, 36, 12, 18, 28, 23, 19, 8, 7, 16, 11, 14, 18, 14, 34, 6, 30, 11, 1, 11, 4, 32, 23, 45, 115, 37}
	august := []float64{39, 9, 16, 78, 35, 66, 122, 89, 110, 44, 28, 65, 22, 59, 23, 31, 44, 21, 9, 45, 168, 73, 76, 118, 84, 85}
	u, ties := pairsWon(may, august)
	near(t, "W", u, 127.5, 0)
	got := normalRankSum(u, ties, len(may), len(august))
	near(t, "p", got.TwoSided, 0.000120807830769, 1e-13)
	exact := rankSum(may, august)
	near(t, "exact U", exact.U, 127.5, 0)
	// Calculated: the exact conditional p, which so far out in the tail is half the
	// approximation.
	near(t, "exact p", exact.TwoSided, 6.1087e-05, 5e-9)
	// Above mostExact values the approximation is what is given.
	long := slices.Concat(may, may)
	if rankSum(long, slices.Concat(august, august)).Exact {
		t.Error("104 values counted exactly")
	}
	// SciPy docstring of mannwhitneyu: asymptotic with continuity
	// 0.11134688653314041.
	u, ties = pairsWon([]float64{19, 22, 16, 29, 24}, []float64{20, 11, 17, 12})
	near(t, "males", normalRankSum(u, ties, 5, 4).TwoSided, 0.11134688653314041, 1e-14)
}

func pairsWon(x, y []float64) (u, ties float64) {
	ranks, ties := diagnose.DoubledRanks(slices.Concat(x, y))
	sum := 0
	for _, r := range ranks[:len(x)] {
		sum += r
	}
	return float64(sum)/2 - float64(len(x)*(len(x)+1))/2, ties
}

func TestHodgesLehmann(t *testing.T) {
	x := []float64{1.15, .88, .90, .74, 1.21}
	y := []float64{.80, .83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, .73, 1.46}
	// Hollander and Wolfe (1973) p. 69f data; median of 50 differences 0.305, limits
	// at ranks 9 and 42 by R's rule, coverage 0.96003996 (calculated with R's rule).
	s := hodgesLehmann(x, y, 0.95)
	near(t, "shift", s.Shift, 0.305, 1e-12)
	near(t, "low", s.Low, -0.15, 1e-12)
	near(t, "high", s.High, 0.76, 1e-12)
	near(t, "level", s.Level, 0.9600399600, 1e-9)
	if c, _ := shiftRank(5, 10, 0.95); c != 9 {
		t.Errorf("rank %d, want 9", c)
	}
	// exactRankTests tests/reg-tests.R (StatXact 5), bloodp: 9.5 and (-4, 22).
	s = hodgesLehmann([]float64{80, 94, 85, 90, 90, 90, 108, 94, 78, 105, 88}, []float64{94, 108, 110, 90}, 0.95)
	near(t, "bloodp shift", s.Shift, 9.5, 1e-12)
	near(t, "bloodp low", s.Low, -4, 1e-12)
	near(t, "bloodp high", s.High, 22, 1e-12)
	// Calculated: SciPy docstring data, 7.0.
	near(t, "males", hodgesLehmann([]float64{20, 11, 17, 12}, []float64{19, 22, 16, 29, 24}, 0.95).Shift, 7, 1e-12)
	if s := hodgesLehmann([]float64{1, 2, 3}, []float64{7, 8, 9}, 0.95); s.Shift != 6 || !math.IsNaN(s.Low) {
		t.Errorf("three against three have no 95 %% interval: %+v", s)
	}
}

func TestHodgesLehmannMirrors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Whole numbers, whose differences are exact, so that ties stay ties.
		values := rapid.SliceOfN(rapid.Map(rapid.IntRange(-100, 100), func(i int) float64 { return float64(i) }), 1, 40)
		x, y := values.Draw(t, "x"), values.Draw(t, "y")
		a, b := hodgesLehmann(x, y, 0.95), hodgesLehmann(y, x, 0.95)
		if math.Abs(a.Shift+b.Shift) > 1e-9 || (!math.IsNaN(a.Low) && math.Abs(a.Low+b.High) > 1e-9) {
			t.Fatalf("%+v and back %+v", a, b)
		}
		if !math.IsNaN(a.Low) && !(a.Low <= a.Shift && a.Shift <= a.High) {
			t.Fatalf("shift outside its interval: %+v", a)
		}
		p, q := rankSum(x, y), rankSum(y, x)
		if math.Abs(p.TwoSided-q.TwoSided) > 1e-9 || p.TwoSided < 0 || p.TwoSided > 1+1e-9 {
			t.Fatalf("p %v and back %v", p, q)
		}
	})
}

// effsize's tests: delta = -0.25, 95 % (-0.7265846, 0.3890062), which is the
// unbiased variance with Student's t of 14 degrees of freedom.
func TestCliff(t *testing.T) {
	treatment := []float64{10, 10, 20, 20, 20, 30, 30, 30, 40, 50}
	control := []float64{10, 20, 30, 40, 40, 50}
	e := cliff(control, treatment, 0.95)
	near(t, "delta", e.Delta, -0.25, 1e-12)
	near(t, "low", e.Low, -0.7265846, 5e-8)
	near(t, "high", e.High, 0.3890062, 5e-8)
	// Calculated for SciPy's docstring data: 0.70.
	near(t, "males", cliff([]float64{20, 11, 17, 12}, []float64{19, 22, 16, 29, 24}, 0.95).Delta, 0.7, 1e-12)
	if e := cliff([]float64{1, 2, 3}, []float64{4, 5, 6}, 0.95); e.Delta != 1 || math.IsNaN(e.Low) {
		t.Errorf("all one way: %+v", e)
	}
}

// Holm's own rule by hand: 0.01, 0.04, 0.03, 0.005 of four become 0.03, 0.06,
// 0.06, 0.02 (the example that R's ?p.adjust method "holm" gives for them, from
// memory, checked by arithmetic).
func TestHolm(t *testing.T) {
	got := Holm([]float64{0.01, 0.04, math.NaN(), 0.03, 0.005})
	for i, want := range []float64{0.03, 0.06, math.NaN(), 0.06, 0.02} {
		if math.IsNaN(want) != math.IsNaN(got[i]) || math.Abs(got[i]-want) > 1e-12 {
			t.Errorf("%d: %v, want %v", i, got[i], want)
		}
	}
}

// exactRankTests tests/reg-tests.R (StatXact 5), bloodp: the permutation test of
// means has two-sided p = 0.1040 over C(15,4) = 1365 dealings.
func TestDealLines(t *testing.T) {
	values := []float64{94, 108, 110, 90, 80, 94, 85, 90, 90, 90, 108, 94, 78, 105, 88}
	difference := func(first []bool) float64 {
		var a, b float64
		for i, v := range values {
			if first[i] {
				a += v
			} else {
				b += v
			}
		}
		return a/4 - b/11
	}
	d := dealLines(4, 11, difference)
	if !d.Exact || d.Tried != 1365 {
		t.Errorf("%+v: not all 1365 dealings", d)
	}
	near(t, "p", d.P, 0.1040, 5e-5)
	if d := dealLines(30, 30, func([]bool) float64 { return 0 }); d.Exact || d.P != 1 {
		t.Errorf("%+v", d)
	}
	if d := dealLines(0, 3, difference); !math.IsNaN(d.P) {
		t.Errorf("%+v of an empty side", d)
	}
}
