package report

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// pieceLength is how many points of a waveform are stroked at once. The
// rasteriser searches every line segment of a path for each scan line, so one
// long noisy path takes minutes.
const pieceLength = 50

// between is the part of the waveform from one time to another in seconds: the
// samples and the time of the first.
func (w Waveform) between(from, to float64) (samples []float64, start float64) {
	if !(w.SampleRate > 0) || math.IsInf(w.SampleRate, 0) || math.IsNaN(w.Start) || math.IsInf(w.Start, 0) {
		return nil, 0
	}
	n := float64(len(w.Samples))
	first := math.Ceil(math.Min(math.Max((from-w.Start)*w.SampleRate, 0), n))
	last := math.Floor(math.Min(math.Max((to-w.Start)*w.SampleRate, -1), n-1))
	if !(last >= first) {
		return nil, 0
	}
	return w.Samples[int(first) : int(last)+1], w.Start + first/w.SampleRate
}

// peakOf is the largest magnitude among the samples that are numbers.
func peakOf(samples []float64) float64 {
	peak := 0.0
	for _, x := range samples {
		if a := math.Abs(x); a > peak && !math.IsInf(a, 0) {
			peak = a
		}
	}
	return peak
}

// squareRoot brings quiet sounds up beside loud ones: a click 30 dB under the
// strike stands at 18 % of its height and not at 3 %. x runs from -1 to 1.
func squareRoot(x float64) float64 {
	return math.Copysign(math.Sqrt(math.Min(math.Abs(x), 1)), x)
}

// envelope brings samples down to the least and the greatest of each of n
// columns of equal width; NaN where a column holds no number.
func envelope(samples []float64, n int) (low, high []float64) {
	low, high = make([]float64, n), make([]float64, n)
	for c := range n {
		from, to := c*len(samples)/n, (c+1)*len(samples)/n
		low[c], high[c] = math.NaN(), math.NaN()
		for _, x := range samples[from:to] {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				continue
			}
			if !(x >= low[c]) {
				low[c] = x
			}
			if !(x <= high[c]) {
				high[c] = x
			}
		}
	}
	return low, high
}

// drawWaveform draws samples from left to right in columns of one pixel, each
// value put into place by y (which takes -1 to 1).
func drawWaveform(c *draw.Canvas, samples []float64, left, right vg.Length, y func(float64) vg.Length) {
	peak := peakOf(samples)
	if peak == 0 {
		peak = 1
	}
	const pixel = vg.Inch / pictureDPI
	n := min(int((right-left)/pixel), len(samples))
	if n < 1 {
		return
	}
	low, high := envelope(samples, n)
	step := (right - left) / vg.Length(n)
	sty := draw.LineStyle{Color: wave, Width: 1.2 * pixel}

	var piece []vg.Point
	flush := func() {
		if len(piece) > 1 {
			c.StrokeLines(sty, piece)
		}
		piece = piece[:0]
	}
	up := true
	for i := range n {
		if math.IsNaN(low[i]) {
			flush()
			continue
		}
		x := left + (vg.Length(i)+0.5)*step
		a, b := squareRoot(low[i]/peak), squareRoot(high[i]/peak)
		if !up {
			a, b = b, a
		}
		up = !up
		pts := []vg.Point{{X: x, Y: y(a)}, {X: x, Y: y(b)}}
		piece = append(piece, pts...)
		if len(piece) >= pieceLength {
			last := pts[1]
			flush()
			piece = append(piece, last)
		}
	}
	flush()
}
