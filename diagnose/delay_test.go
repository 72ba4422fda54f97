package diagnose

import (
	"math"
	"math/rand/v2"
	"testing"
)

// typing draws n latencies: a share of free strokes that last base, the rest held
// for a further time.
func typing(r *rand.Rand, n int, free, base, delay float64, hold func() float64) []float64 {
	var l []float64
	for range n {
		v := base*(1+0.08*r.NormFloat64()) + 0.8*r.NormFloat64() + delay*r.ExpFloat64()
		if r.Float64() > free {
			v += hold()
		}
		l = append(l, math.Max(v, 0))
	}
	return l
}

// A delay that is there is found, with an interval about it.
func TestFitDelayFindsADelay(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	held := 0
	for range 8 {
		f, ok := fitDelay(typing(r, 400, 0.2, 8, 14, func() float64 { return 40 * math.Exp(0.25*r.NormFloat64()) }))
		if !ok || f.Gain < hangingGain || f.MS < 8 || f.MS > 22 || math.Abs(f.Base-8) > 3 {
			t.Errorf("%+v %v, want a delay of 14 after 8 ms", f, ok)
		}
		if f.Low <= 14 && 14 <= f.High {
			held++
		}
	}
	if held < 6 {
		t.Errorf("the interval held 14 ms in %d of 8", held)
	}
}

// Hands of all kinds on a machine that lets go at once: hardly one is a hanging
// rocker, whatever the distribution of their holds is.
func TestFitDelayFindsNoneInHands(t *testing.T) {
	hands := []struct {
		name string
		hold func(r *rand.Rand) float64
	}{
		{"log-normal", func(r *rand.Rand) float64 { return 40 * math.Exp(0.25*r.NormFloat64()) }},
		{"wide", func(r *rand.Rand) float64 { return 60 * math.Exp(0.45*r.NormFloat64()) }},
		{"gamma 9", gammaHold(9, 40)},
		{"gamma 4", gammaHold(4, 50)},
		{"normal", func(r *rand.Rand) float64 { return math.Max(45+14*r.NormFloat64(), 0) }},
		{"log-logistic", func(r *rand.Rand) float64 { u := r.Float64(); return 40 * math.Pow(u/(1-u), 0.17) }},
		{"two fingers", func(r *rand.Rand) float64 {
			return []float64{28, 60}[r.IntN(2)] * math.Exp(0.2*r.NormFloat64())
		}},
		{"Rayleigh", func(r *rand.Rand) float64 { return 50 * math.Sqrt(r.ExpFloat64()) }},
	}
	const seeds = 4
	found := 0
	for i, h := range hands {
		for _, free := range []float64{0, 0.03, 0.1, 0.3, 0.9} {
			for seed := range uint64(seeds) {
				// Each take has its own chance: what is tried before it changes nothing.
				r := rand.New(rand.NewPCG(100*uint64(i)+seed, uint64(1000*free)))
				l := typing(r, 400, free, 5+6*r.Float64(), 0, func() float64 { return h.hold(r) })
				if f, ok := fitDelay(l); ok && f.hanging(l) {
					t.Logf("%s, %g free, seed %d: %+v", h.name, free, seed, f)
					found++
				}
			}
		}
	}
	// Of 960 such takes it was found in none, and once in some hundred others.
	if found > 1 {
		t.Errorf("found in %d takes", found)
	}
}

// gammaHold is a hand whose holds are the sum of k equal waits.
func gammaHold(k int, mean float64) func(r *rand.Rand) float64 {
	return func(r *rand.Rand) float64 {
		x := 0.0
		for range k {
			x += r.ExpFloat64()
		}
		return mean * x / float64(k)
	}
}

func TestFitDelayRefuses(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	few := typing(r, fewestDelay-1, 0.2, 8, 14, func() float64 { return 40 })
	rebounding := typing(r, 400, 1, 45, 0, nil)
	for name, l := range map[string][]float64{"none": nil, "few": few, "on the rebound": rebounding} {
		if f, ok := fitDelay(l); ok {
			t.Errorf("%s: %+v", name, f)
		}
	}
}

// Half of the keys are let go within the median of each family of times; the spread
// of the logarithm is near what was asked: 68 % of a log-normal time's within it, more
// of a Weibull time's, whose logarithm is lopsided.
func TestHoldTimes(t *testing.T) {
	for name, family := range map[string]holdTime{"log-normal": logNormal, "Weibull": weibull, "gamma": gammaTime} {
		for _, sigma := range []float64{0.15, 0.3, 0.5} {
			if got := family(40, 40, sigma); !near(got, 0.5, 0.002) {
				t.Errorf("%s: %g within its median", name, got)
			}
			within := family(40*math.Exp(sigma), 40, sigma) - family(40*math.Exp(-sigma), 40, sigma)
			if !near(within, 0.7, 0.06) {
				t.Errorf("%s: %g within a spread of %g of the logarithm", name, within, sigma)
			}
		}
	}
}

// The table's normal distribution against the library's.
func TestNormalCDF(t *testing.T) {
	for z := -7.0; z <= 7; z += 0.013 {
		if want := 1 - upper(z); !near(normalCDF(z), want, 2e-5) {
			t.Fatalf("%g: %g, want %g", z, normalCDF(z), want)
		}
	}
}
