package onset

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

const pica = 0.0254 / 10 // m

// pull is the model of a carriage of mass kg pulled by a net force in N that
// falls evenly from start to end over 60 spaces of pitch m: by
// travel = sqrt(2 p m / (F - D)), 1/travel^2 = (F - D) / (2 p m).
func pull(mass, start, end, pitch float64) travelModel {
	return travelModel{a: start / (2 * pitch * mass), b: (end - start) / 60 / (2 * pitch * mass)}
}

// Calculated table of t = sqrt(2 m d / F), ms: constant pull, no friction, for
// carriages of 1, 1.5 and 2 kg, pulls of 1/2, 3/4, 1 and 1 1/2 lbf, pica.
func TestTravelTable(t *testing.T) {
	want := map[float64][4]float64{
		1.0: {48.1, 39.2, 33.8, 27.5},
		1.5: {58.9, 48.1, 41.4, 33.7},
		2.0: {68.0, 55.5, 47.8, 38.9},
	}
	for mass, row := range want {
		for i, force := range []float64{2.2, 3.3, 4.45, 6.7} {
			m := pull(mass, force, force, pica)
			for _, position := range []float64{0, 30, 60} {
				if got := m.at(position) * 1e3; math.Abs(got-row[i]) > 0.06 {
					t.Errorf("%g kg, %g N at %g: %.2f ms, want %.1f", mass, force, position, got, row[i])
				}
			}
		}
	}
}

// The line comes back out of travels made from it, with a tenth of them wrong.
func TestFitTravelFindsTheLine(t *testing.T) {
	for _, c := range []struct{ mass, start, end float64 }{
		{1.2, 5.5, 4.5}, {1.2, 5.5, 5.5}, {1.8, 4, 2}, {0.9, 6, 3}, {1.5, 3, 2.2},
	} {
		for seed := range uint64(5) {
			truth := pull(c.mass, c.start, c.end, pica)
			r := rand.New(rand.NewPCG(seed, 30))
			var positions, travels []float64
			for range 6 {
				for p := range 60 {
					v := truth.at(float64(p)) + 0.0003*r.NormFloat64()
					if r.Float64() < 0.1 {
						v += 0.005 + 0.02*r.Float64()
					}
					positions, travels = append(positions, float64(p)), append(travels, v)
				}
			}
			m := fitTravel(positions, travels)
			for _, p := range []float64{0, 30, 59} {
				if d := m.at(p) - truth.at(p); math.Abs(d) > 0.0006 {
					t.Errorf("%+v seed %d: at %g the travel is %.2f ms off", c, seed, p, d*1e3)
				}
			}
			if m.sigma > 0.0008 || m.n != len(travels) {
				t.Errorf("%+v seed %d: sigma %.2f ms of %d", c, seed, m.sigma*1e3, m.n)
			}
		}
	}
}

func TestFitTravelOfFew(t *testing.T) {
	for n := range 15 {
		positions, travels := make([]float64, n), make([]float64, n)
		for i := range travels {
			positions[i], travels[i] = float64(i%3), 0.035
		}
		m := fitTravel(positions, travels)
		if got := m.at(20); n > 0 && math.Abs(got-0.035) > 1e-9 || !(got >= minTravel && got <= maxTravel) {
			t.Errorf("%d travels of 35 ms: %.2f ms", n, got*1e3)
		}
		if !(m.sigma > 0) {
			t.Errorf("%d travels: sigma %g", n, m.sigma)
		}
	}
}

// A travel is finite, within what a carriage can do, and goes one way along the
// line.
func TestTravelIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := travelModel{a: rapid.Float64Range(-1000, 8000).Draw(t, "a"), b: rapid.Float64Range(-60, 60).Draw(t, "b")}
		last := m.at(0)
		for p := 1.0; p <= 90; p++ {
			v := m.at(p)
			if !(v >= minTravel-1e-12 && v <= maxTravel+1e-12) {
				t.Fatalf("%g s at %g", v, p)
			}
			if m.b < 0 && v < last || m.b > 0 && v > last {
				t.Fatalf("from %g to %g at %g with a slope of %g", last, v, p, m.b)
			}
			last = v
		}
	})
}
