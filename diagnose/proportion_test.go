package diagnose

import "testing"

// The lady tasting tea (Fisher, R. A. (1935), The Design of Experiments): 8 cups,
// 4 of each. All right: 1 in 70; three or more of each right: 17 in 70.
func TestExactGreaterLadyTastingTea(t *testing.T) {
	for _, c := range []struct {
		right int
		want  float64
	}{{4, 1.0 / 70}, {3, 17.0 / 70}, {0, 1}} {
		if p := exactGreater(c.right, 4, 4-c.right, 4); !near(p, c.want, 1e-12) {
			t.Errorf("%d right: %g, want %g", c.right, p, c.want)
		}
	}
}

// Exact intervals as R's binom.test gives them (from memory): 0 of 10 up to 0.3085
// (1 - 0.025^(1/10)); 4 of 10 from 0.1216 to 0.7376.
func TestShareClopperPearson(t *testing.T) {
	for _, c := range []struct {
		k, n      int
		low, high float64
	}{{0, 10, 0, 0.3085}, {4, 10, 0.1216, 0.7376}, {10, 10, 0.6915, 1}} {
		v, low, high := share(c.k, c.n, 0.95)
		if !near(v, float64(c.k)/float64(c.n), 1e-12) || !near(low, c.low, 1e-4) || !near(high, c.high, 1e-4) {
			t.Errorf("%d of %d: %g (%g, %g), want (%g, %g)", c.k, c.n, v, low, high, c.low, c.high)
		}
	}
	if v, _, _ := share(0, 0, 0.95); v == v {
		t.Error("a share of nothing")
	}
}

// By counting: 2 or more heads of 3 fair coins are 4 of 8.
func TestAtLeast(t *testing.T) {
	for _, c := range []struct {
		k, n    int
		p, want float64
	}{{2, 3, 0.5, 0.5}, {3, 3, 0.5, 0.125}, {0, 3, 0.5, 1}, {4, 3, 0.5, 0}, {1, 3, 0, 0}, {1, 3, 1, 1}} {
		if got := atLeast(c.k, c.n, c.p); !near(got, c.want, 1e-12) {
			t.Errorf("%d of %d at %g: %g, want %g", c.k, c.n, c.p, got, c.want)
		}
	}
}
