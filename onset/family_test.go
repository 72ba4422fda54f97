package onset

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// kindOfSound is a made-up kind of sound: how loud it is in dB, its bands
// against the whole, how it decays and how sharp it is; spread says by how much
// its members differ.
type kindOfSound struct {
	loud         float64
	shape        [maxBands]float64
	decay, sharp float64
	spread       float64
}

var (
	strikeSound  = kindOfSound{-15, [maxBands]float64{-6, -5, -6, -9}, 12, 2, 2}
	thumpSound   = kindOfSound{-28, [maxBands]float64{-2, -8, -18, -28}, 6, -3, 2}
	releaseSound = kindOfSound{-45, [maxBands]float64{-20, -10, -4, -4}, 16, 4, 2}
	landingSound = kindOfSound{-38, [maxBands]float64{-14, -4, -4, -10}, 14, 5, 2}
	leverSound   = kindOfSound{-50, [maxBands]float64{-3, -4, -14, -24}, 3, -2, 3}
)

const quietBefore = -80

// at makes one of the kind at t seconds.
func (k kindOfSound) at(t float64, r *rand.Rand) candidate {
	c := candidate{time: t, score: 20, preTime: math.NaN()}
	c.loud = k.loud + k.spread*r.NormFloat64()
	c.peak = c.loud + 6
	for i, v := range k.shape {
		c.level[i] = c.loud + v + k.spread*r.NormFloat64()
		c.before[i] = quietBefore
	}
	c.decay = k.decay + k.spread*r.NormFloat64()
	c.sharp = k.sharp + k.spread*r.NormFloat64()
	return c
}

func (k kindOfSound) some(n int, r *rand.Rand) []*candidate {
	out := make([]*candidate, n)
	for i := range out {
		c := k.at(float64(i), r)
		out[i] = &c
	}
	return out
}

// A fifth of strays moves a family by less than its own spread.
func TestFitBearsStrays(t *testing.T) {
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 20))
		clean := landingSound.some(400, r)
		mixed := append(landingSound.some(320, r), strikeSound.some(80, r)...)
		a, b := fit(clean), fit(mixed)
		for i := range nFeatures {
			if d := math.Abs(a.mean[i] - b.mean[i]); d > 0.6*a.sigma[i] {
				t.Errorf("seed %d: feature %d moved by %.2f dB of a spread of %.2f", seed, i, d, a.sigma[i])
			}
			if b.sigma[i] > 2*a.sigma[i] {
				t.Errorf("seed %d: the spread of feature %d grew from %.2f to %.2f", seed, i, a.sigma[i], b.sigma[i])
			}
		}
	}
}

// Members of a family are told from strangers.
func TestMembersScoreAboveStrangers(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 21))
	kinds := []kindOfSound{strikeSound, thumpSound, releaseSound, landingSound, leverSound}
	var families []family
	var everything []*candidate
	for _, k := range kinds {
		m := k.some(60, r)
		families = append(families, fit(m))
		everything = append(everything, m...)
	}
	wide := fit(everything)
	wrong, n := 0, 0
	for i, k := range kinds {
		for _, c := range k.some(100, r) {
			n++
			for j := range families {
				if j != i && families[j].log(c, maxBands, &wide) >= families[i].log(c, maxBands, &wide) {
					wrong++
					break
				}
			}
		}
	}
	if wrong > n/50 {
		t.Errorf("%d of %d members score higher in another family", wrong, n)
	}
}

// Where a loud ring hides a band, what the band says counts less.
func TestBuriedBandsSayLittle(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 22))
	f := fit(landingSound.some(60, r))
	wide := fit(append(append(strikeSound.some(60, r), leverSound.some(60, r)...), landingSound.some(60, r)...))
	c := landingSound
	c.spread = 0
	odd := c.at(0, r)
	odd.level[0] += 20
	open := f.log(&odd, maxBands, &wide)
	odd.before[0] = odd.level[0]
	if buried := f.log(&odd, maxBands, &wide); buried <= open {
		t.Errorf("a buried band weighs %.2f, an open one %.2f", buried, open)
	}
}

func TestFitOfFew(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 23))
	for n := range 4 {
		f := fit(landingSound.some(n, r))
		if f.n != n {
			t.Errorf("%d members counted of %d", f.n, n)
		}
		c := strikeSound.at(0, r)
		c.decay = math.NaN()
		if v := f.log(&c, maxBands, &f); math.IsNaN(v) || math.IsInf(v, 0) {
			t.Errorf("a family of %d scores %g", n, v)
		}
	}
}

// Sounds of kinds that a mixture has learnt are likelier in it than in one wide
// family.
func TestClutterLearnsItsKinds(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 24))
	members := append(leverSound.some(200, r), releaseSound.some(200, r)...)
	mixture, wide := fitClutter(members, maxBands), wideClutter(members)
	var gain float64
	for _, k := range []kindOfSound{leverSound, releaseSound} {
		for _, c := range k.some(50, r) {
			gain += mixture.log(c, maxBands) - wide.log(c, maxBands)
		}
	}
	if gain < 100 {
		t.Errorf("100 sounds are only %.1f likelier", gain)
	}
}

// Each feature has the density of Student's t with four degrees of freedom,
// 12/(4+x^2)^(5/2), 3/8 at 0 (from memory; it sums to one).
func TestFamilyIsADensity(t *testing.T) {
	density := func(x float64) float64 { return 12 / math.Pow(4+x*x, 2.5) }
	sum := 0.0
	for x := -200.0; x < 200; x += 0.01 {
		sum += 0.01 * density(x)
	}
	if math.Abs(sum-1) > 1e-4 {
		t.Errorf("the density sums to %.6f", sum)
	}
	var f family
	const sigma = 3
	for i := range f.sigma {
		f.sigma[i] = sigma
	}
	f.mean[loudness] = -30
	for _, x := range []float64{0, 0.5, 1, 3, 10} {
		c := candidate{loud: -30 + sigma*x}
		for i := range c.level {
			c.level[i], c.before[i] = c.loud, -100
		}
		want := math.Log(density(x)/sigma) + (nFeatures-1)*math.Log(density(0)/sigma)
		if got := f.log(&c, maxBands, &f); math.Abs(got-want) > 1e-9 {
			t.Errorf("%g spreads off: %.9f, want %.9f", x, got, want)
		}
	}
	if got := math.Exp(normalLog(0, 0, 1)); math.Abs(got-1/math.Sqrt(2*math.Pi)) > 1e-12 {
		t.Errorf("the normal density at 0 is %.12f", got)
	}
}

// The median and MAD of 1, 1, 2, 2, 4, 6, 9 are 2 and 1: the worked example of
// the encyclopaedia's article on the median absolute deviation (from memory;
// easily done by hand).
func TestMedianMAD(t *testing.T) {
	for _, c := range []struct {
		v           []float64
		median, mad float64
	}{
		{[]float64{1, 1, 2, 2, 4, 6, 9}, 2, 1},
		{[]float64{9, 1, 6, 2, 4, 1, 2}, 2, 1},
		{[]float64{5}, 5, 0},
		{[]float64{1, 2}, 1.5, 0.5},
		{[]float64{4, 1, 3, 2}, 2.5, 1},
		{nil, math.NaN(), math.NaN()},
	} {
		before := append([]float64(nil), c.v...)
		median, mad := medianMAD(c.v)
		if !same(median, c.median) || !same(mad, c.mad) {
			t.Errorf("medianMAD(%v) = %g, %g, want %g, %g", c.v, median, mad, c.median, c.mad)
		}
		for i := range before {
			if before[i] != c.v[i] {
				t.Errorf("medianMAD changed its argument to %v", c.v)
			}
		}
	}
}

func TestQuantile(t *testing.T) {
	v := []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}
	for q, want := range map[float64]float64{0: 0, 0.2: 2, 0.5: 5, 0.75: 7, 1: 9} {
		if got := quantile(v, q); got != want {
			t.Errorf("quantile %g of 0..9 is %g, want %g", q, got, want)
		}
	}
	if got := quantile(nil, 0.5); !math.IsNaN(got) {
		t.Errorf("quantile of nothing is %g", got)
	}
}

func same(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }

// The densest place of many is where they were put.
func TestDensest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(0.001, 0.012).Draw(t, "at")
		near := rapid.SliceOfN(rapid.Float64Range(-0.0003, 0.0003), 20, 60).Draw(t, "near")
		v := rapid.SliceOfN(rapid.Float64Range(0, 0.013), 0, 8).Draw(t, "stray")
		for _, d := range near {
			v = append(v, at+d)
		}
		if got := densest(v, 0.0012); math.Abs(got-at) > 0.0012 {
			t.Errorf("densest at %g, want %g", got, at)
		}
	})
}

// The k-th smallest is where sorting puts it, whatever the order and the ties.
func TestNthIsSorted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-3, 3), 1, 90).Draw(t, "v")
		if rapid.Bool().Draw(t, "ties") {
			for i := range v {
				v[i] = math.Round(v[i])
			}
		}
		if rapid.Bool().Draw(t, "infinite") {
			for i := range v {
				if math.Abs(v[i]) > 2 {
					v[i] = math.Inf(int(v[i]))
				}
			}
		}
		k := rapid.IntRange(0, len(v)-1).Draw(t, "k")
		want := slices.Clone(v)
		slices.Sort(want)
		if got := Nth(v, k); got != want[k] {
			t.Errorf("number %d is %g, want %g", k, got, want[k])
		}
		for i, x := range v {
			if i < k && x > want[k] || i > k && x < want[k] {
				t.Errorf("%g is on the wrong side of number %d, %g", x, k, want[k])
			}
		}
		slices.Sort(v)
		if !slices.Equal(v, want) {
			t.Errorf("left %v of %v", v, want)
		}
	})
	// What is no number is no reason to go on for ever.
	nan := math.NaN()
	for k := range 5 {
		Nth([]float64{nan, 1, nan, 0, 2}, k)
	}
}
