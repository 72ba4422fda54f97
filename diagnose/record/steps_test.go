package record

import (
	"math"
	"math/rand/v2"
	"testing"

	"loosedog/diagnose"
)

// each puts every value into a take of its own.
func each(v ...float64) (takes [][]float64) {
	for _, x := range v {
		takes = append(takes, []float64{x})
	}
	return takes
}

// The data of Pettitt (1979), Table 1, with K = 232 and the change behind value 17,
// approximate p = 0.0146: as the example of pett in the R package wq 0.4.8 gives them,
// which says that these are Pettitt's own results.
var pettittData = []float64{-1.05, 0.96, 1.22, 0.58, -0.98, -0.03, -1.54, -0.71, -0.35, 0.66, 0.44,
	0.91, -0.02, -1.42, 1.26, -1.02, -0.81, 1.66, 1.05, 0.97, 2.14, 1.22, -0.24,
	1.60, 0.72, -0.12, 0.44, 0.03, 0.66, 0.56, 1.37, 1.66, 0.10, 0.80, 1.29, 0.49,
	-0.07, 1.18, 3.29, 1.84}

func TestPettitt(t *testing.T) {
	sizes := make([]int, len(pettittData))
	for i := range sizes {
		sizes[i] = 1
	}
	most, where := 0, 0
	ranks, _ := diagnose.DoubledRanks(pettittData)
	pettitt(ranks, sizes, func(at, before, u int) {
		if before != at {
			t.Fatalf("%d values before take %d", before, at)
		}
		if u = max(u, -u); u > most {
			most, where = u, at
		}
	})
	if most != 232 || where != 17 {
		t.Errorf("K = %d behind %d, want 232 behind 17", most, where)
	}
	// The published approximation of its p-value, 2 exp(-6 K^2 / (n^3 + n^2)).
	n := float64(len(pettittData))
	if p := 2 * math.Exp(-6*float64(most*most)/(n*n*n+n*n)); math.Abs(p-0.0146) > 0.00005 {
		t.Errorf("approximate p = %.4f, want 0.0146", p)
	}
	// Ours looks for the most standard deviations, which is no other place here; its
	// p-value is of the same order.
	at, p, ok := split(each(pettittData...))
	if !ok || at != 17 || p < 0.001 || p > 0.05 {
		t.Errorf("split at %d, p = %.4f", at, p)
	}
}

// takesOf draws takes of six lines around given levels.
func takesOf(r *rand.Rand, spread float64, levels ...float64) (takes [][]float64) {
	for _, l := range levels {
		var v []float64
		for range 6 {
			v = append(v, l+spread*r.NormFloat64())
		}
		takes = append(takes, v)
	}
	return takes
}

// Of histories in which nothing changes few show a change: 5 in 100 at most, and
// chance lets 200 of them have up to 17 at that rate 97 times in 100 (binomial).
func TestNoChange(t *testing.T) {
	if testing.Short() {
		t.Skip("nothing runs at once in it, and it is long")
	}
	r := rand.New(rand.NewPCG(1, 2))
	wrong := 0
	for range 200 {
		a, b := takesOf(r, 1, 35, 35, 35, 35, 35, 35), takesOf(r, 0.1, 3, 3, 3, 3, 3, 3)
		if len(steps([][][]float64{a, b}, []float64{0, 0}, []float64{1, 1})) > 0 {
			wrong++
		}
	}
	if wrong > 17 {
		t.Errorf("%d of 200 histories without a change show one", wrong)
	}
}

func TestSteps(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, c := range []struct {
		name   string
		levels []float64
		want   []int
	}{
		{"in the middle", []float64{35, 35, 35, 40, 40, 40}, []int{3}},
		{"at the last take", []float64{35, 35, 35, 35, 35, 40}, []int{5}},
		{"behind the first take", []float64{35, 40, 40, 40, 40, 40}, []int{1}},
		{"there and back", []float64{35, 35, 35, 42, 42, 42, 35, 35, 35}, []int{3, 6}},
		{"two takes", []float64{35, 40}, []int{1}},
		{"one take", []float64{35}, nil},
		{"less than the floor", []float64{35, 35, 35, 35.3, 35.3, 35.3}, nil},
		// The takes themselves wander: no step stands out from that.
		{"wandering", []float64{35, 37, 34.5, 36.8, 34.9, 37.3, 35.5}, nil},
		{"nothing", nil, nil},
	} {
		found := steps([][][]float64{takesOf(r, 0.2, c.levels...)}, []float64{0.5}, []float64{1})
		var got []int
		for _, s := range found {
			got = append(got, s.at)
			if !(s.corrected >= s.p) || !(s.corrected <= 0.05) {
				t.Errorf("%s: p = %g, corrected %g", c.name, s.p, s.corrected)
			}
			if before, after := c.levels[s.at-1], c.levels[s.at]; !(float64(s.shift.Value)*(after-before) > 0) {
				t.Errorf("%s: shift %g", c.name, float64(s.shift.Value))
			}
		}
		if len(got) != len(c.want) {
			t.Errorf("%s: changes at %v, want %v", c.name, got, c.want)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("%s: changes at %v, want %v", c.name, got, c.want)
			}
		}
	}
	// Leads that have not doubled may be a harder touch.
	for levels, want := range map[[4]float64]int{{3, 3, 4.5, 4.5}: 0, {2, 2, 4.5, 4.5}: 1, {4.5, 4.5, 2, 2}: 1} {
		if n := len(steps([][][]float64{takesOf(r, 0.1, levels[:]...)}, []float64{0.6}, []float64{2})); n != want {
			t.Errorf("leads %v: %d changes, want %d", levels, n, want)
		}
	}
	if at, p, ok := split(each(1, 1, 1)); !ok || at != 0 || p != 1 {
		t.Errorf("equal values: %d, %g, %v", at, p, ok)
	}
}

// A thousand takes are worked through in the time of a breath: the work of a test
// has a bound (no clock here, only that it comes back).
func TestManyTakes(t *testing.T) {
	if testing.Short() {
		t.Skip("nothing runs at once in it, and it is long")
	}
	r := rand.New(rand.NewPCG(5, 6))
	levels := make([]float64, 1000)
	for i := range levels {
		levels[i] = 35
		if i > 600 {
			levels[i] = 36.5
		}
	}
	found := steps([][][]float64{takesOf(r, 0.3, levels...)}, []float64{0.5}, []float64{1})
	if len(found) != 1 || found[0].at != 601 {
		t.Errorf("%+v", found)
	}
}
