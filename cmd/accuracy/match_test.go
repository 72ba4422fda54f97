package main

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The cases are worked by hand on the definition in mir_eval, onset.py and
// util.match_events (facts of the method: one-to-one best matching, window
// included, F = 2PR/(P+R), empty list gives 0, 0, 0).
func TestMatchHandWorked(t *testing.T) {
	for _, c := range []struct {
		name     string
		ref, est []float64
		want     []pair
	}{
		{"nothing", nil, nil, nil},
		{"nothing found", []float64{1}, nil, nil},
		{"exact", []float64{1, 2, 3}, []float64{1, 2, 3}, []pair{{0, 0}, {1, 1}, {2, 2}}},
		{"window included", []float64{1}, []float64{1.5}, []pair{{0, 0}}},
		{"just outside", []float64{1}, []float64{1.5000001}, nil},
		// Two found for one true: only one counts, the nearer one.
		{"doubled", []float64{1}, []float64{0.75, 1.125}, []pair{{0, 1}}},
		// One found for two true: only one counts.
		{"merged", []float64{1, 1.25}, []float64{1.25}, []pair{{1, 0}}},
		// Nearest-first would pair 1 with 1.125 and leave 1.5 and 0.625 alone,
		// out of each other's reach: the largest matching pairs both.
		{"largest, not nearest", []float64{1, 1.5}, []float64{0.625, 1.125}, []pair{{0, 0}, {1, 1}}},
		{"chain", []float64{0, 0.5, 1}, []float64{0.5, 1, 1.5}, []pair{{0, 0}, {1, 1}, {2, 2}}},
		{"far apart", []float64{0, 10}, []float64{5, 10.25}, []pair{{1, 1}}},
	} {
		if got := match(c.ref, c.est, 0.5); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
}

func TestFMeasureHandWorked(t *testing.T) {
	// 4 true, 5 found, 3 of them within the window: P = 3/5, R = 3/4,
	// F = 2 * 0.6 * 0.75 / 1.35 = 2/3.
	s := scoreEvents([]float64{1, 2, 3, 4}, []float64{4.001, 0.999, 2.002, 2.5, 9}, 0.002)
	f, p, r := s.fMeasure()
	for _, c := range []struct {
		name      string
		got, want float64
	}{{"F", f, 2.0 / 3}, {"precision", p, 0.6}, {"recall", r, 0.75}} {
		if math.Abs(c.got-c.want) > 1e-12 {
			t.Errorf("%s: got %v, want %v", c.name, c.got, c.want)
		}
	}
	median, p95, signed := s.spread()
	// Errors in ms: -1, +2, +1. Sizes 1, 1, 2: median 1; 95th percentile by
	// R's type 7 at 1.9 of 0..2: 1.9.
	if math.Abs(median-0.001) > 1e-9 || math.Abs(p95-0.0019) > 1e-9 || math.Abs(signed-0.001) > 1e-9 {
		t.Errorf("spread: got %v, %v, %v", median, p95, signed)
	}
	for _, empty := range []score{
		scoreEvents(nil, []float64{1}, 1), scoreEvents([]float64{1}, nil, 1), scoreEvents(nil, nil, 1),
	} {
		if f, p, r := empty.fMeasure(); f != 0 || p != 0 || r != 0 {
			t.Errorf("an empty list must score 0, 0, 0; got %v, %v, %v", f, p, r)
		}
	}
}

// TestMatchIsLargest compares with a plain augmenting-path matching (Kuhn's
// algorithm), which knows nothing of order on a line.
func TestMatchIsLargest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		times := rapid.SliceOfN(rapid.IntRange(0, 60), 0, 14)
		draw := func(name string) []float64 {
			var v []float64
			for _, x := range slices.Sorted(slices.Values(times.Draw(t, name))) {
				v = append(v, float64(x))
			}
			return v
		}
		ref, est := draw("ref"), draw("est")
		window := float64(rapid.IntRange(0, 6).Draw(t, "window"))
		got := match(ref, est, window)
		if want := kuhn(ref, est, window); len(got) != want {
			t.Fatalf("got %d pairs, the largest matching has %d", len(got), want)
		}
		for k, p := range got {
			if math.Abs(ref[p.ref]-est[p.est]) > window {
				t.Fatalf("pair %v is outside the window", p)
			}
			if k > 0 && (got[k-1].ref >= p.ref || got[k-1].est >= p.est) {
				t.Fatalf("not one to one in order: %v", got)
			}
		}
	})
}

func kuhn(ref, est []float64, window float64) int {
	owner := make([]int, len(est))
	for j := range owner {
		owner[j] = -1
	}
	var try func(i int, seen []bool) bool
	try = func(i int, seen []bool) bool {
		for j := range est {
			if seen[j] || math.Abs(ref[i]-est[j]) > window {
				continue
			}
			seen[j] = true
			if owner[j] < 0 || try(owner[j], seen) {
				owner[j] = i
				return true
			}
		}
		return false
	}
	pairs := 0
	for i := range ref {
		if try(i, make([]bool, len(est))) {
			pairs++
		}
	}
	return pairs
}
