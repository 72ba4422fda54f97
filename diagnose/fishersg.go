package diagnose

import (
	"math"
	"math/big"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat"
)

// fishersG looks for one periodicity in an evenly spaced series: g is the
// largest ordinate of its periodogram as a share of their sum, k/len(y) cycles a
// step the frequency it stands at, and p the probability of a g as large in a
// series of independent normal values. The mean, and of an even number of values
// the ordinate at half a cycle a step, are left out, so that m = (n-1)/2 or
// (n-2)/2 ordinates remain. Fewer than 5 values or a constant series: g = 0, p = 1.
//
// Fisher, R. A. (1929), "Tests of significance in harmonic analysis", Proc. R.
// Soc. A 125:54-59.
func fishersG(y []float64) (g, p float64, k int) {
	n := len(y)
	if n < 5 {
		return 0, 1, 0
	}
	mean := stat.Mean(y, nil)
	centred := make([]float64, n)
	for i, v := range y {
		centred[i] = v - mean
	}
	c := fourier.NewFFT(n).Coefficients(nil, centred)
	m := (n - 1) / 2
	var sum, largest float64
	for j := 1; j <= m; j++ {
		power := real(c[j])*real(c[j]) + imag(c[j])*imag(c[j])
		sum += power
		if power > largest {
			largest, k = power, j
		}
	}
	// What rounding leaves of a constant series is no spectrum.
	if !(sum > 1e-20*float64(n)*float64(n)*(1+mean*mean)) {
		return 0, 1, 0
	}
	g = largest / sum
	return g, fishersGTail(g, m), k
}

// fishersGTail is P(g > x) of m ordinates:
//
//	sum over j = 1 to floor(1/x) of (-1)^(j-1) C(m, j) (1 - j x)^(m-1)
//
// (Fisher 1929). Its terms alternate and can be far larger than their sum, so it
// is worked out with 400 bits.
func fishersGTail(x float64, m int) float64 {
	switch {
	case m < 1 || math.IsNaN(x) || x <= 0:
		return 1
	case x >= 1:
		return 0
	}
	// Where the first term is small the others only take away from it, and above 1
	// nothing is to be learnt.
	const bits = 400
	number := func(f float64) *big.Float { return new(big.Float).SetPrec(bits).SetFloat64(f) }
	sum, binomial := number(0), number(1)
	for j := 1; j <= m && float64(j)*x < 1; j++ {
		binomial.Mul(binomial, number(float64(m-j+1)))
		binomial.Quo(binomial, number(float64(j)))
		base := new(big.Float).SetPrec(bits).Sub(number(1), new(big.Float).Mul(number(float64(j)), number(x)))
		term := new(big.Float).SetPrec(bits).Mul(binomial, power(base, m-1))
		if j%2 == 0 {
			term.Neg(term)
		}
		sum.Add(sum, term)
	}
	p, _ := sum.Float64()
	return math.Min(math.Max(p, 0), 1)
}

// power is x to the n.
func power(x *big.Float, n int) *big.Float {
	out := new(big.Float).SetPrec(x.Prec()).SetInt64(1)
	square := new(big.Float).Copy(x)
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			out.Mul(out, square)
		}
		square.Mul(square, square)
	}
	return out
}
