package audio

import (
	"math"
	"math/cmplx"
	"slices"

	"github.com/mjibson/go-dsp/spectral"
	"github.com/mjibson/go-dsp/window"
	"gonum.org/v1/gonum/dsp/fourier"
)

// level is the power of a stretch in dB, each of its two frames taken about its
// own straight line, as the meter does.
func level(x []float64) float64 {
	var power float64
	for half := range 2 {
		y := x[half*len(x)/2 : (half+1)*len(x)/2]
		var sum, square, moment float64
		for i, v := range y {
			sum += v
			square += v * v
			moment += float64(i) * v
		}
		power += aboutLine(len(y), sum, square, moment) / 2
	}
	return decibels(power)
}

// noiseSpectrum is Welch's estimate (Hann, no overlap, no padding: with padding
// go-dsp's scale is wrong) over stretches of equal, even length. Density is in
// dB relative to a full-scale sine's power, per Hz; the integral over frequency
// is the stretches' power about their means.
func noiseSpectrum(stretches [][]float64, rate int) (freqs, density []float64) {
	if len(stretches) == 0 {
		return nil, nil
	}
	n := len(stretches[0])
	all := make([]float64, 0, n*len(stretches))
	for _, x := range stretches {
		var sum float64
		for _, v := range x {
			sum += v
		}
		for _, v := range x {
			all = append(all, v-sum/float64(n)) // Pwelch takes no mean away
		}
	}
	power, freqs := spectral.Pwelch(all, float64(rate), &spectral.PwelchOptions{NFFT: n, Window: window.Hann})
	density = make([]float64, len(power))
	for i, p := range power {
		density[i] = 10 * math.Log10(2*max(p, 1e-40)) // full-scale sine: power 1/2
	}
	return freqs, density
}

// loudSpectrum is the mean over stretches of the log power spectrum in dB: the
// mean of logarithms, so that one stroke does not outweigh all others. nil when
// there are too few.
func loudSpectrum(stretches [][]float64) []float64 {
	if len(stretches) < leastLoud {
		return nil
	}
	n := len(stretches[0])
	win := window.Hann(n)
	fft := fourier.NewFFT(n)
	mean := make([]float64, n/2+1)
	buf := make([]float64, n)
	var coeff []complex128
	for _, x := range stretches {
		for i, v := range x {
			buf[i] = v * win[i]
		}
		coeff = fft.Coefficients(coeff, buf)
		for i, c := range coeff {
			a := cmplx.Abs(c)
			mean[i] += 10 * math.Log10(a*a+1e-30) / float64(len(stretches))
		}
	}
	return mean
}

// leastLoud stretches show a cliff, not one sound's colour.
const leastLoud = 8

// The cliff that a lossy codec or a resampler leaves: at least cliffDrop dB
// within cliffWidth Hz, and nothing above it that comes back to within
// cliffRise of what was before. Microphones and rooms fall off by some 12 to
// 24 dB an octave, which is 2 dB in that width. The last share of the band is
// the converter's own filter.
const (
	cliffDrop  = 20
	cliffRise  = 15
	cliffWidth = 1000
	cliffTop   = 0.88 // of the Nyquist frequency
	cliffLow   = 0.1
)

// bandLimit finds the cliff in a log spectrum whose bins run from 0 to the
// Nyquist frequency; NaN when there is none.
func bandLimit(spectrum []float64, nyquist float64) float64 {
	bins := len(spectrum) - 1
	if bins < 32 {
		return math.NaN()
	}
	hz := nyquist / float64(bins)
	// A window of half the cliff's width on either side.
	w := max(3, int(min(cliffWidth, 0.1*nyquist)/2/hz))
	sum := make([]float64, len(spectrum)+1)
	for i, v := range spectrum {
		sum[i+1] = sum[i] + v
	}
	mean := func(a, b int) float64 { // [a,b)
		return (sum[b] - sum[a]) / float64(b-a)
	}
	first := max(2*w, int(cliffLow*float64(bins)))
	last := min(int(cliffTop*float64(bins)), bins-2*w)
	best, at := 0.0, -1
	for i := first; i <= last; i++ {
		// a gap of half a window between them lets the edge itself be slanted
		before, after := mean(i-w-w/2, i-w/2), mean(i+w/2, i+w+w/2)
		if before-after > best {
			best, at = before-after, i
		}
	}
	if at < 0 || best < cliffDrop {
		return math.NaN()
	}
	before := mean(at-w-w/2, at-w/2)
	// A bell's partials stand out of nothing; what a codec cuts off was there
	// over a wide band before.
	lower := slices.Clone(spectrum[at/2 : at-w/2])
	slices.Sort(lower)
	if lower[len(lower)/4] < before-best+cliffRise {
		return math.NaN()
	}
	for i := at + w; i+w <= int(0.97*float64(bins)); i++ {
		if mean(i, i+w) > before-cliffRise {
			return math.NaN()
		}
	}
	// Where it has fallen by half.
	half := before - best/2
	for i := at - w; i <= at+w; i++ {
		if (spectrum[i]+spectrum[i+1])/2 < half {
			return float64(i) * hz
		}
	}
	return float64(at) * hz
}
