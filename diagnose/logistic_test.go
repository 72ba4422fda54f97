package diagnose

import (
	"math"
	"testing"
)

func root(x float64) float64 { return math.Sqrt(x) }

// The O-ring data of 23 launches (Dalal, Fowlkes and Hoadley 1989, JASA 84:945-957;
// data and R's glm answer from memory): intercept 15.0429 (7.3786), slope -0.2322
// (0.1082) a degree.
func TestLogisticORings(t *testing.T) {
	x := []float64{66, 70, 69, 68, 67, 72, 73, 70, 57, 63, 70, 78, 67, 53, 67, 75, 70, 81, 76, 79, 75, 76, 58}
	hit := map[int]bool{1: true, 8: true, 9: true, 10: true, 13: true, 20: true, 22: true}
	yes := make([]bool, len(x))
	for i := range yes {
		yes[i] = hit[i]
	}
	f, ok := logistic(x, yes)
	if !ok || !near(f.Intercept, 15.0429, 5e-4) || !near(f.Slope, -0.2322, 5e-5) ||
		!near(f.InterceptSE, 7.3786, 5e-3) || !near(f.SlopeSE, 0.1082, 5e-5) {
		t.Errorf("%+v %v", f, ok)
	}
}

func TestLogisticRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		x   []float64
		yes []bool
	}{
		"too few":      {[]float64{1, 2}, []bool{true, false}},
		"all alike":    {[]float64{1, 2, 3, 4}, []bool{true, true, true, true}},
		"wholly apart": {[]float64{1, 2, 3, 4, 5, 6}, []bool{false, false, false, true, true, true}},
		"one x":        {[]float64{2, 2, 2, 2}, []bool{true, false, true, false}},
	} {
		if f, ok := logistic(c.x, c.yes); ok {
			t.Errorf("%s: %+v", name, f)
		}
	}
}
