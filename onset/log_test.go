package onset

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestQuickLogIsTheLogarithm(t *testing.T) {
	check := func(x float64) {
		if got, want := quickLog(x), math.Log(x); math.Abs(got-want) > 1e-11+1e-14*math.Abs(want) {
			t.Errorf("quickLog(%g) = %.15g, want %.15g", x, got, want)
		}
	}
	// About the seams of the table, where its error is largest.
	for i := range 2049 {
		m := 1 + float64(i)/2048
		for _, e := range []float64{1e-300, 1e-20, 1e-10, 0.25, 1, 1024, 1e30} {
			check(m * e)
			check(math.Nextafter(m*e, 0))
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		check(rapid.Float64Range(1e-300, 1e300).Draw(t, "x"))
	})
	for _, x := range []float64{0, -1, math.Inf(1), math.Inf(-1), math.NaN()} {
		if got := quickLog(x); math.IsNaN(got) || math.IsInf(got, 0) {
			t.Errorf("quickLog(%g) = %g", x, got)
		}
	}
}

func BenchmarkQuickLog(b *testing.B) {
	x, sum := 1.0, 0.0
	for b.Loop() {
		x += 0.37
		sum += quickLog(x)
	}
	_ = sum
}

func BenchmarkMathLog(b *testing.B) {
	x, sum := 1.0, 0.0
	for b.Loop() {
		x += 0.37
		sum += math.Log(x)
	}
	_ = sum
}
