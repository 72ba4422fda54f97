package diagnose

import (
	"math"
	"math/rand/v2"
	"testing"

	"loosedog/onset"
)

// travelFor is travel = sqrt(2 p m / F) in milliseconds.
func travelFor(pitch, mass, force float64) float64 {
	return 1000 * math.Sqrt(2*pitch*mass/force)
}

// The table that sqrt(2 m d / F) gives for pica and elite, carriages of 1, 1.5
// and 2 kg and pulls of 2.2, 3.3, 4.45 and 6.7 N: arithmetic on assumed
// masses and pulls, rounded to 0.1 ms.
var travelTable = []struct{ mass, force, pica, elite float64 }{
	{1.0, 2.2, 48.1, 43.9}, {1.0, 3.3, 39.2, 35.8}, {1.0, 4.45, 33.8, 30.8}, {1.0, 6.7, 27.5, 25.1},
	{1.5, 2.2, 58.9, 53.7}, {1.5, 3.3, 48.1, 43.9}, {1.5, 4.45, 41.4, 37.8}, {1.5, 6.7, 33.7, 30.8},
	{2.0, 2.2, 68.0, 62.0}, {2.0, 3.3, 55.5, 50.7}, {2.0, 4.45, 47.8, 43.6}, {2.0, 6.7, 38.9, 35.5},
}

// profiled is a take of whole lines whose travel at a position is given.
func profiled(lines, columns int, travel func(position int) float64) *Take {
	var all [][]onset.Stroke
	at := 1000.0
	for range lines {
		var l []onset.Stroke
		for c := range columns {
			l = append(l, letter(at-3, at, at+50, at+50+travel(c)))
			at += 250
		}
		at += 2000
		all = append(all, l)
	}
	return Measure("a.wav", take(all...), nil, Options{})
}

func TestTravelProfileRecoversPull(t *testing.T) {
	const columns = 60
	for _, c := range travelTable {
		for _, p := range []struct{ pitch, want float64 }{{0.00254, c.pica}, {0.0021167, c.elite}} {
			if got := travelFor(p.pitch, c.mass, c.force); !near(got, p.want, 0.051) {
				t.Fatalf("travel of %g kg at %g N is %g, the table says %g", c.mass, c.force, got, p.want)
			}
			for _, lost := range []float64{0, 0.2, 0.5} {
				m := profiled(3, columns, func(pos int) float64 {
					return travelFor(p.pitch, c.mass, c.force*(1-lost*float64(pos)/(columns-1)))
				})
				f := TravelProfile(m)
				if got := float64(f.PullLost); !near(got, lost, 0.01) {
					t.Errorf("%g kg, %g N: pull lost %g, want %g", c.mass, c.force, got, lost)
				}
				if got := float64(f.TravelAt(0)); !near(got, p.want, 0.01*p.want) {
					t.Errorf("%g kg, %g N: travel at the line's start %g, want %g", c.mass, c.force, got, p.want)
				}
				if f.From != 0 || f.To != columns-1 || len(f.Points) != 3*columns || f.Why != "" {
					t.Errorf("profile from %d to %d, %d points, %q", f.From, f.To, len(f.Points), f.Why)
				}
			}
		}
	}
}

// Ratios that need no mass: elite over pica sqrt(10/12) = 0.913, a pull a fifth
// weaker 11.8 % longer, half the pull 41.4 % longer, half the way 0.707.
func TestTravelRatios(t *testing.T) {
	whole := travelFor(0.00254, 1.2, 5)
	if !near(whole, 34.9, 0.05) { // the example of the timing model
		t.Errorf("travel %g, want 34.9", whole)
	}
	for _, c := range []struct{ got, want float64 }{
		{travelFor(0.0254/12, 1.2, 5), 0.913}, {travelFor(0.00254, 1.2, 4), 1.118},
		{travelFor(0.00254, 1.2, 2.5), 1.414}, {travelFor(0.00127, 1.2, 5), 0.707},
	} {
		if !near(c.got/whole, c.want, 0.0005) {
			t.Errorf("ratio %g, want %g", c.got/whole, c.want)
		}
	}
}

// With 0.7 ms of scatter and one travel in ten wrong, the interval must hold the
// truth about as often as it says.
func TestTravelProfileInterval(t *testing.T) {
	rnd := rand.New(rand.NewPCG(11, 4))
	const takes, columns, lost = 120, 60, 0.3
	held := 0
	for range takes {
		m := profiled(2, columns, func(pos int) float64 {
			v := travelFor(0.00254, 1.2, 5*(1-lost*float64(pos)/(columns-1))) + 0.7*rnd.NormFloat64()
			if rnd.IntN(10) == 0 {
				v += 30 * (rnd.Float64() - 0.5)
			}
			return v
		})
		f := TravelProfile(m)
		if f.LostLow <= lost && lost <= f.LostHigh {
			held++
		}
		if !near(float64(f.PullLost), lost, 0.1) {
			t.Errorf("pull lost %g, want %g", f.PullLost, lost)
		}
	}
	if held < takes*88/100 {
		t.Errorf("the interval held the truth in %d of %d takes", held, takes)
	}
}

func TestTravelProfileSaysWhyNot(t *testing.T) {
	flat := func(int) float64 { return 35 }
	unusable := profiled(3, 30, flat)
	unusable.Recording.Usable = false
	for name, m := range map[string]*Take{
		"few": profiled(1, 19, flat), "short lines": profiled(5, 9, flat), "unusable": unusable, "nothing": Measure("", nil, nil, Options{}),
	} {
		f := TravelProfile(m)
		if f.Why == "" || f.PullLost.Known() || f.Slope.Known() || f.TravelAt(3).Known() || f.Points == nil {
			t.Errorf("%s: %+v", name, f)
		}
	}
}
