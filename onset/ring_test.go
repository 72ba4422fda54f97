package onset

import (
	"context"
	"errors"
	"io"
	"math"
	"testing"
)

// ringSource is a source of sound in memory.
type ringSource struct {
	x    []float64
	rate float64
	fail error
}

func (s *ringSource) SampleRate() float64 { return s.rate }

func (s *ringSource) Read(dst []float64) (int, error) {
	if s.fail != nil {
		return 0, s.fail
	}
	n := copy(dst, s.x)
	s.x = s.x[n:]
	if n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

// struck makes strikes 0.3 s apart: a burst at 3 kHz that falls to 1/e in 4 ms, and
// a ring at 90 Hz of the given share that falls to 1/e in tau s.
func struck(share, tau float64) (*ringSource, *Take) {
	const rate = 48000.0
	s := &ringSource{x: make([]float64, 12*48000), rate: rate}
	t := &Take{SampleRate: rate}
	for k := range 30 {
		at := 1 + 0.3*float64(k)
		t.Strokes = append(t.Strokes, Stroke{Strike: Mark{Time: at, Confidence: 1}})
		for i := range int(0.29 * rate) {
			u := float64(i) / rate
			s.x[int(at*rate)+i] += 0.3*math.Exp(-u/0.004)*math.Sin(2*math.Pi*3000*u) +
				0.3*share*math.Exp(-u/tau)*math.Sin(2*math.Pi*90*u)
		}
	}
	return s, t
}

// A ring that falls to 1/e in 0.1 s loses 8.7 dB a tenth of a second: from the
// first 20 ms to 40..60 ms, 40 ms on, 3.5 dB; one of 0.02 s 17 dB.
func TestMeasureRing(t *testing.T) {
	for _, c := range []struct{ tau, fall, tol float64 }{{0.1, 3.5, 1.5}, {0.02, 17.4, 4}} {
		src, take := struck(0.25, c.tau)
		r, err := MeasureRing(context.Background(), src, take)
		if err != nil || len(r.Strokes) != 30 {
			t.Fatal(err, len(r.Strokes))
		}
		if _, _ = medianMAD(r.Fall); math.Abs(middle(r.Fall)-c.fall) > c.tol {
			t.Errorf("tau %g s: fallen by %.1f dB, want %.1f", c.tau, middle(r.Fall), c.fall)
		}
	}
	loud, take := struck(0.25, 0.1)
	soft, _ := struck(0.25/4, 0.1)
	a, _ := MeasureRing(context.Background(), loud, take)
	b, _ := MeasureRing(context.Background(), soft, take)
	// A quarter of the amplitude: 12 dB less, but for its share in the whole.
	if d := middle(a.Level) - middle(b.Level); d < 9 || d > 12.5 {
		t.Errorf("a quarter of the ring is %.1f dB softer, want 12", d)
	}
}

func TestMeasureRingPassesOnErrors(t *testing.T) {
	src, take := struck(0.25, 0.1)
	src.fail = errors.New("gone")
	if _, err := MeasureRing(context.Background(), src, take); err == nil {
		t.Error("an error of the source was lost")
	}
	src, _ = struck(0.25, 0.1)
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := MeasureRing(ctx, src, take); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	if r, err := MeasureRing(context.Background(), &ringSource{rate: 48000}, &Take{}); err != nil || len(r.Strokes) != 0 {
		t.Errorf("no strokes: %+v, %v", r, err)
	}
	// A recording that ends too soon gives unknown values, not zeros.
	short, _ := struck(0.25, 0.1)
	short.x = short.x[:2*48000]
	r, err := MeasureRing(context.Background(), short, take)
	if err != nil || !math.IsNaN(r.Level[len(r.Level)-1]) {
		t.Errorf("after the end: %v", err)
	}
}
