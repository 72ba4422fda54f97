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
	f := newRingFilter(rate)
	block := make([]float64, 1<<14)
	bin := 1.0 // the open one, from 1
	in := 0    // samples in it
	for seen := 0; float64(seen) < end*rate; {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		n, err := src.Read(block)
		silenceBroken(block[:n])
		for x := block[:n]; len(x) > 0; {
			left := int(math.Ceil(bin*ringBin*rate)) - seen // in the bin
			take := min(left, len(x))
			f.add(x[:take])
			x = x[take:]
			seen, in = seen+take, in+take
			if take == left {
				l, w := f.powers(in)
				low, wide = append(low, l), append(wide, w)
				bin, in = bin+1, 0
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

// ringFilter splits what is above ringLow from what of that is under ringHigh, the
// latter by two filters in a row, and sums up the squares of both. The filters are
// Butterworth's of second order, one after the other as in a bank.
type ringFilter struct {
	up, down       section
	v1, v2         float64 // the last two inputs, times the gain of up
	u1, u2         float64 // what is above ringLow,
	p1, p2, q1, q2 float64 // after the first and the second of down, without their gains
	low, wide      float64 // sums of squares, low without the gains
}

func newRingFilter(rate float64) *ringFilter {
	return &ringFilter{up: highPass(ringLow, math.Sqrt2/2, rate), down: lowPass(ringHigh, math.Sqrt2/2, rate)}
}

func (f *ringFilter) add(x []float64) {
	up, down := f.up, f.down
	v1, v2, u1, u2, p1, p2, q1, q2 := f.v1, f.v2, f.u1, f.u2, f.p1, f.p2, f.q1, f.q2
	var low, wide float64
	for _, v := range x {
		v *= up.gain
		u := v - (v1 + v1) + v2 - up.a2*u2 - up.a1*u1
		p := u + (u1 + u1) + u2 - down.a2*p2 - down.a1*p1
		q := p + (p1 + p1) + p2 - down.a2*q2 - down.a1*q1
		v1, v2 = v, v1
		u1, u2 = u, u1
		p1, p2 = p, p1
		q1, q2 = q, q1
		wide += u * u
		low += q * q
	}
	f.v1, f.v2, f.u1, f.u2, f.p1, f.p2, f.q1, f.q2 = v1, v2, u1, u2, p1, p2, q1, q2
	f.low, f.wide = f.low+low, f.wide+wide
}

// powers are the mean powers of the n samples since they were asked for last.
func (f *ringFilter) powers(n int) (low, wide float64) {
	gain := f.down.gain * f.down.gain // of both together
	low, wide = f.low*gain*gain/float64(n), f.wide/float64(n)
	f.low, f.wide = 0, 0
	return low, wide
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
