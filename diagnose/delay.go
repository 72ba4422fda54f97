package diagnose

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/optimize"
)

// delayFit is what latencies say of a rocker that hangs before it swings back.
type delayFit struct {
	// MS is the mean delay in ms, with its 95 % likelihood interval.
	MS, Low, High float64
	// Gain is the logarithm of how many times likelier the latencies are with a
	// delay than without.
	Gain float64
	// Free is the share of strokes whose finger was off, Base their latency in ms
	// without the delay.
	Free, Base float64
}

// delayBins of 2 ms hold the latencies; what is longer stands in the last.
const (
	delayBins = 160
	delayBin  = 2.0
)

// fitDelay asks whether latencies (ms) come from a machine that lets go when the
// bar is back, or from one whose rocker then hangs for a while that differs from
// stroke to stroke. The model: with a share w the finger is off and the latency
// is the bar's return, normal about b; else the finger holds on for a further
// log-normal time (times of keys held down are log-normal or nearly so: Heliyon
// 2021, doi 10.1016/j.heliyon.2021.e08413) and some least time c. To both a
// hanging rocker adds an exponential delay of mean m, 0 for none. One in fifty
// latencies may be anything. Fitted by maximum likelihood, with and without m.
func fitDelay(latencies []float64) (f delayFit, ok bool) {
	s := Sorted(latencies)
	// Latencies that hardly spread follow no finger, and nothing that hangs.
	if len(s) < fewestDelay || s[0] < 0 || rebound(s) {
		return f, false
	}
	bins := min(int(Quantile(s, 0.995)/delayBin)+2, delayBins)
	count := make([]float64, bins)
	for _, v := range s {
		count[min(int(v/delayBin), bins-1)]++
	}
	middle := Quantile(s, 0.5)
	fast := Quantile(s, 0.03)
	spread := math.Max(Quantile(s, 0.75)-Quantile(s, 0.25), 2)
	// x: log b, logit w, log of the hold's median, log of its spread, log c, log s.
	start := func(w float64) []float64 {
		return []float64{math.Log(math.Max(fast, 2)), logit(w), math.Log(math.Max(middle-fast, 3)),
			math.Log(min(max(spread/1.35/math.Max(middle-fast, 3), 0.1), 0.8)), 0, 0}
	}
	held := holdTime(logNormal)
	var best []float64
	fit := func(m float64, free bool, from [][]float64) float64 {
		g := make([]float64, bins)
		minus := func(x []float64) float64 {
			d := m
			if free {
				d = math.Exp(x[6])
			}
			return -delayLikelihood(count, g, x, d, held)
		}
		least := math.Inf(1)
		for _, x := range from {
			r, err := optimize.Minimize(optimize.Problem{Func: minus}, x,
				&optimize.Settings{FuncEvaluations: 450, Converger: &optimize.FunctionConverge{Absolute: 0.01, Iterations: 60}},
				&optimize.NelderMead{SimplexSize: 0.4})
			if r != nil && (err == nil || !math.IsNaN(r.F)) && r.F < least {
				least, best = r.F, r.X
			}
		}
		return -least
	}
	none := fit(0, false, [][]float64{start(0.05), start(0.3)})
	sound := best
	from := func(m, w float64) []float64 {
		x := start(w)
		x[2] = math.Log(math.Max(middle-fast-0.7*m, 3))
		x[3] = math.Log(0.25)
		return append(x, math.Log(m))
	}
	with := fit(0, true, [][]float64{
		from(5, 0.1), from(12, 0.1), from(12, 0.3), from(30, 0.2),
		append(append([]float64{}, sound...), math.Log(1)),
	})
	f.MS, f.Base, f.Free = math.Exp(best[6]), math.Exp(best[0]), expit(best[1])
	f.Gain = with - none
	top := append([]float64{}, best[:6]...)
	if f.Gain > 1.92 {
		// A hand whose keys are held for any time down to none looks most like a
		// hanging rocker: Weibull and gamma times have such a foot.
		for _, held = range []holdTime{weibull, gammaTime} {
			none = math.Max(none, fit(0, false, [][]float64{start(0.05), start(0.3)})-footed)
		}
		held = logNormal
		f.Gain = with - none
	}
	// 1.92 is half the 95 % point of chi-squared with one degree of freedom.
	edge := func(step float64) float64 {
		m, x := f.MS, top
		for range 12 {
			if next := fit(m*step, false, [][]float64{x}); next < with-1.92 {
				return m * math.Sqrt(step)
			}
			m, x = m*step, best
		}
		return m
	}
	f.Low, f.High = f.MS, f.MS
	if f.Gain > 1.92 {
		f.Low, f.High = edge(0.8), edge(1.25)
	}
	return f, true
}

// footed is by how much less such hands are expected than those of the published
// distribution, as a logarithm: half as often.
const footed = 0.8

// fewestDelay is how many latencies a fit of six or seven numbers needs.
const fewestDelay = 80

func logit(p float64) float64 { return math.Log(p / (1 - p)) }
func expit(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// delayLikelihood is the log-likelihood of counts in bins; g is room to work in.
func delayLikelihood(count, g, x []float64, m float64, family holdTime) float64 {
	b, w := math.Exp(x[0]), expit(x[1])
	hold, sigma := math.Exp(x[2]), math.Exp(x[3])
	least, s := math.Exp(x[4]), 0.5+math.Exp(x[5])
	// Bounds: a bar's own return is known to a few ms, a hand's spread is a hand's.
	penalty := 0.0
	for _, over := range []float64{s/(0.1*b+1.5) - 1, sigma/0.6 - 1, 0.12/sigma - 1, least/20 - 1} {
		if over > 0 {
			penalty += 50 * over * over
		}
	}
	free0, held0 := 0.0, 0.0
	for i := range g {
		edge := delayBin * float64(i+1)
		free := normalCDF((edge - b) / s)
		held := 0.0
		if u := edge - b - least; u > 0 {
			held = family(u, hold, sigma)
		}
		g[i] = w*(free-free0) + (1-w)*(held-held0)
		free0, held0 = free, held
	}
	if m > 0 {
		a := math.Exp(-delayBin / m)
		// Within its own bin a delay leaves 1 - (1-a) m/bin of the strokes behind.
		stay := 1 - (1-a)*m/delayBin
		carried := 0.0
		for i, v := range g {
			g[i] = stay*v + (1-a)*carried
			carried = a*carried + (1-stay)*v
		}
	}
	const anything = 0.02
	sum := -penalty
	for i, n := range count {
		if n > 0 {
			sum += n * math.Log((1-anything)*math.Max(g[i], 0)+anything/delayBins)
		}
	}
	return sum
}

// holdTime is the share of keys let go within u ms, of times with the given median
// and spread of the logarithm.
type holdTime func(u, middle, sigma float64) float64

// logNormal is the share of keys let go within u ms: log-normal with the given
// median and spread of the logarithm.
func logNormal(u, middle, sigma float64) float64 { return normalCDF(math.Log(u/middle) / sigma) }

// weibull is the same of a Weibull time with that median, its logarithm as spread
// out: shape k = pi / (sqrt(6) sigma), 2 at the least (below, its foot is no
// hand's).
func weibull(u, middle, sigma float64) float64 {
	k := math.Max(math.Pi/(math.Sqrt(6)*sigma), 2)
	return -math.Expm1(-math.Ln2 * math.Pow(u/middle, k))
}

// gammaTime is the same of a gamma time: shape k = 1/sigma^2 + 1/2 (its logarithm
// has the trigamma of k as variance, near 1/(k - 1/2)), median k (1 - 1/(9k))^3
// (Wilson and Hilferty 1931, Proc. Natl. Acad. Sci. 17:684-688).
func gammaTime(u, middle, sigma float64) float64 {
	k := 1/(sigma*sigma) + 0.5
	median := 1 - 1/(9*k)
	median *= median * median * k
	return mathext.GammaIncReg(k, u/middle*median)
}

// normalTable is the normal distribution function from -6 to 6 in steps of 1/64.
var normalTable = func() (t [12*64 + 2]float64) {
	for i := range t {
		t[i] = 0.5 * math.Erfc(-(float64(i)/64-6)/math.Sqrt2)
	}
	return t
}()

// normalCDF is the normal distribution function to 5 decimals: fits ask for it a
// million times.
func normalCDF(z float64) float64 {
	switch {
	case z <= -6:
		return 0
	case !(z < 6):
		return 1
	}
	at := (z + 6) * 64
	i := int(at)
	return normalTable[i] + (at-float64(i))*(normalTable[i+1]-normalTable[i])
}
