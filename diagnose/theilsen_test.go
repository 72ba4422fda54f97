package diagnose

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The example of Sen, P. K. (1968), JASA 63:1379-1389, as SciPy's
// test_theilslopes quotes it: slope 4, 93 % interval (3.71, 4.38), that is the
// 4th and the 18th of the 21 slopes, 26/7 and 35/8; intercept med(y) - 4 med(x).
func TestTheilSenExampleOfSen(t *testing.T) {
	x := []float64{1, 2, 3, 4, 10, 12, 18}
	y := []float64{9, 15, 19, 20, 45, 55, 78}
	l := theilSen(x, y, 0.93)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"slope", l.Slope, 4}, {"low", l.Low, 26.0 / 7}, {"high", l.High, 35.0 / 8}, {"intercept", l.Intercept, 4},
	} {
		if !near(c.got, c.want, 1e-12) {
			t.Errorf("%s %g, want %g", c.name, c.got, c.want)
		}
	}
}

// SciPy's test_theilslopes: y = 0, 1, 1 has slope 0.5, intercept 0.5.
func TestTheilSenSmall(t *testing.T) {
	l := theilSen([]float64{0, 1, 2}, []float64{0, 1, 1}, 0.95)
	if !near(l.Slope, 0.5, 1e-12) || !near(l.Intercept, 0.5, 1e-12) {
		t.Errorf("slope %g, intercept %g, want 0.5, 0.5", l.Slope, l.Intercept)
	}
}

func TestTheilSenWithoutExtent(t *testing.T) {
	if l := theilSen([]float64{5, 5, 5}, []float64{1, 2, 3}, 0.95); !math.IsNaN(l.Slope) || !math.IsNaN(l.Low) {
		t.Errorf("a slope from one position: %+v", l)
	}
}

// y -> a + b y turns the line the same way, whatever the points are.
func TestTheilSenFollowsScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 40).Draw(t, "n")
		x, y, z := make([]float64, n), make([]float64, n), make([]float64, n)
		a, b := rapid.Float64Range(-10, 10).Draw(t, "a"), rapid.Float64Range(0.1, 10).Draw(t, "b")
		for i := range n {
			x[i] = float64(rapid.IntRange(0, 70).Draw(t, "x"))
			y[i] = float64(rapid.IntRange(-1000, 1000).Draw(t, "y")) // scaling makes no ties
			z[i] = a + b*y[i]
		}
		l, m := theilSen(x, y, 0.95), theilSen(x, z, 0.95)
		if math.IsNaN(l.Slope) {
			return
		}
		if !near(m.Slope, b*l.Slope, 1e-6) || !near(m.Low, b*l.Low, 1e-6) || !near(m.High, b*l.High, 1e-6) {
			t.Fatalf("%+v against %+v by %g", m, l, b)
		}
		if l.Low > l.Slope || l.Slope > l.High {
			t.Fatalf("slope outside its interval: %+v", l)
		}
	})
}

// Long takes are thinned; a fifth of them gone wild must not bend the line, and
// the points at both ends of the line must stay in.
func TestTheilSenThinned(t *testing.T) {
	const n = 20000
	x, y := make([]float64, n), make([]float64, n)
	for i := range n {
		x[i] = float64(i % 70)
		y[i] = 800 - 3*x[i] + math.Sin(float64(i)*1.7)
		if i%10 < 2 {
			y[i] = 5000
		}
	}
	l := theilSen(x, y, 0.95)
	if math.Abs(l.Slope+3) > 0.1 {
		t.Errorf("slope %g, want -3 (one in five points is an outlier)", l.Slope)
	}
	tx, _ := thin(x, y, theilSenPoints)
	if len(tx) != theilSenPoints || tx[0] != 0 || tx[len(tx)-1] != 69 {
		t.Errorf("thinned to %d points from %g to %g", len(tx), tx[0], tx[len(tx)-1])
	}
}

// Ties in x and in y, against scipy.stats.theilslopes(y, x, level) of SciPy
// 1.10.1. Without its correction for ties in x the first interval would begin at
// -11/3, without that for y the second one at 2/19.
func TestTheilSenWithTies(t *testing.T) {
	var x1, y1, x2, y2 []float64
	for i := range 32 {
		x1 = append(x1, float64(i%4))
		y1 = append(y1, math.Round(float64(i*37%101)/7-2*float64(i%4)))
	}
	for i := range 24 {
		x2 = append(x2, float64(i))
		y2 = append(y2, float64(i/6+i*5%3))
	}
	for _, c := range []struct {
		x, y  []float64
		level float64
		want  robustLine
	}{
		{x1, y1, 0.90, robustLine{Slope: -7.0 / 3, Intercept: 8, Low: -3.5, High: -1}},
		{x2, y2, 0.95, robustLine{Slope: 1.0 / 6, Intercept: 0.5833333333333335, Low: 1.0 / 9, High: 0.21428571428571427}},
	} {
		got := theilSen(c.x, c.y, c.level)
		if !near(got.Slope, c.want.Slope, 1e-12) || !near(got.Intercept, c.want.Intercept, 1e-12) ||
			!near(got.Low, c.want.Low, 1e-12) || !near(got.High, c.want.High, 1e-12) {
			t.Errorf("%+v, want %+v", got, c.want)
		}
	}
}
