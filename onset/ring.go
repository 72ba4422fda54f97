package onset

import (
	"context"
	"errors"
	"io"
	"math"
)

// Ring is the low ring that strikes leave behind: of a desk or a floor that
// gives way, between 35 and 220 Hz.
type Ring struct {
	// Level is the ring 40 to 60 ms after a strike, in dB relative to the whole of
	// the strike's first 10 ms; Fall is by how much the ring has fallen there since
	// the strike's first 20 ms, in dB; Over is how far it stands there over the
	// same band just before the strike, in dB. One value a strike, in order, of the
	// strikes whose neighbours leave them the time; NaN where there was no sound.
	Level, Fall, Over []float64
	// Strokes are the indexes of those strikes in Take.Strokes.
	Strokes []int
}

const (
	ringLow, ringHigh = 35.0, 220.0 // Hz
	ringBin           = 0.0025      // s
	// ringStrikes is how many strikes are listened to at most: a desk does not
	// change, and the recording is read once more for it.
	ringStrikes = 300
)

// MeasureRing reads the recording of a take once more, up to the first 300
// strikes that stand alone (none in the 120 ms before and the 70 ms after), and
// measures the ring after them. The error is that of src or of ctx.
func MeasureRing(ctx context.Context, src Source, t *Take) (*Ring, error) {
	r := &Ring{}
	end := 0.0
	for i, s := range t.Strokes {
		at := s.Strike.Time
		alone := !s.Space && !math.IsNaN(at) && at > 0.05
		if i > 0 {
			alone = alone && at-t.Strokes[i-1].Strike.Time > 0.12
		}
		if i+1 < len(t.Strokes) {
			alone = alone && t.Strokes[i+1].Strike.Time-at > 0.07
		}
		if alone && len(r.Strokes) < ringStrikes {
			r.Strokes = append(r.Strokes, i)
			end = at + 0.1
		}
	}
	if len(r.Strokes) == 0 {
		return r, nil
	}
	low, wide, err := ringBins(ctx, src, end)
	if err != nil {
		return nil, err
	}
	for _, i := range r.Strokes {
		at := t.Strokes[i].Strike.Time
		ring := power(low, at+0.040, at+0.060)
		r.Level = append(r.Level, decibels(ring, power(wide, at, at+0.010)))
		r.Fall = append(r.Fall, decibels(power(low, at, at+0.020), ring))
		r.Over = append(r.Over, decibels(ring, power(low, at-0.030, at-0.010)))
	}
	return r, nil
}

// ringBins are the mean powers of bins of 2.5 ms from the start to end in s:
// between 35 and 220 Hz, and of everything above 35 Hz.
func ringBins(ctx context.Context, src Source, end float64) (low, wide []float64, err error) {
	rate := src.SampleRate()
	up := newSecondOrder(rate, ringLow, true)
	down := [2]secondOrder{newSecondOrder(rate, ringHigh, false), newSecondOrder(rate, ringHigh, false)}
	block := make([]float64, 1<<14)
	var sumLow, sumWide float64
	var in int
	next := ringBin * rate
	for seen := 0.0; seen < end*rate; {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		n, err := src.Read(block)
		silenceBroken(block[:n])
		for _, x := range block[:n] {
			x = up.next(x)
			y := down[1].next(down[0].next(x))
			sumLow, sumWide = sumLow+y*y, sumWide+x*x
			in++
			if seen++; seen >= next {
				low, wide = append(low, sumLow/float64(in)), append(wide, sumWide/float64(in))
				sumLow, sumWide, in = 0, 0, 0
				next += ringBin * rate
			}
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, nil, err
		}
	}
	return low, wide, nil
}

// power is the mean of the bins from a to b in s; NaN outside them.
func power(bins []float64, a, b float64) float64 {
	from, to := int(math.Round(a/ringBin)), int(math.Round(b/ringBin))
	if from < 0 || to > len(bins) || from >= to {
		return math.NaN()
	}
	var sum float64
	for _, v := range bins[from:to] {
		sum += v
	}
	return sum / float64(to-from)
}

// decibels of a over b; NaN where one is none.
func decibels(a, b float64) float64 {
	if !(a > 0) || !(b > 0) {
		return math.NaN()
	}
	return 10 * math.Log10(a/b)
}

// secondOrder is a Butterworth filter of second order by the bilinear transform
// (any text on digital filters: Q = 1/sqrt 2, w = tan(pi f / rate)).
type secondOrder struct{ b0, b1, b2, a1, a2, z1, z2 float64 }

func newSecondOrder(rate, edge float64, high bool) secondOrder {
	w := math.Tan(math.Pi * edge / rate)
	norm := 1 / (1 + math.Sqrt2*w + w*w)
	f := secondOrder{a1: 2 * (w*w - 1) * norm, a2: (1 - math.Sqrt2*w + w*w) * norm}
	if high {
		f.b0, f.b1, f.b2 = norm, -2*norm, norm
	} else {
		f.b0, f.b1, f.b2 = w*w*norm, 2*w*w*norm, w*w*norm
	}
	return f
}

func (f *secondOrder) next(x float64) float64 {
	y := f.b0*x + f.z1
	f.z1 = f.b1*x - f.a1*y + f.z2
	f.z2 = f.b2*x - f.a2*y
	return y
}
