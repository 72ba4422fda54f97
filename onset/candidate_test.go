package onset

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// near is how far in s the closest candidate is from t, early onsets counted
// when early is set.
func (s *scan) near(t float64, early bool) float64 {
	best := math.Inf(1)
	for _, c := range s.found {
		best = min(best, math.Abs(c.time-t))
		if early && c.preRise > 0 {
			best = min(best, math.Abs(c.preTime-t))
		}
	}
	return best
}

// Clicks at known times between samples, 20 dB (peak over RMS) and more over
// white noise.
func TestClicksAreFound(t *testing.T) {
	for _, rate := range []float64{16000, 44100, 48000, 96000} {
		for _, over := range []float64{20, 30, 50} {
			t.Run(fmt.Sprintf("%g Hz %g dB", rate, over), func(t *testing.T) {
				const seconds, sigma = 20, 1e-3
				amp := sigma * math.Pow(10, over/20)
				x := white(rate, seconds, sigma, 5)
				r := rand.New(rand.NewPCG(uint64(over), 6))
				var at []float64
				for c := 0.1; c < seconds-0.1; c += 0.06 + 0.1*r.Float64() {
					at = append(at, c)
					click(x, rate, c, amp, 2500+2500*r.Float64(), 0.002)
				}
				s := scanned(t, rate, x)
				missed := 0
				var off, signed []float64
				for _, a := range at {
					d := s.near(a, false)
					if d > 0.002 {
						missed++
						continue
					}
					off = append(off, d)
					for _, c := range s.found {
						if math.Abs(c.time-a) == d {
							signed = append(signed, c.time-a)
						}
					}
				}
				if missed > 0 {
					t.Errorf("%d of %d clicks missed", missed, len(at))
				}
				if m := middle(off); !(m <= 0.15e-3) {
					t.Errorf("median error %.3f ms", m*1e3)
				}
				if m := middle(signed); !(math.Abs(m) <= 0.15e-3) {
					t.Errorf("median signed error %.3f ms", m*1e3)
				}
			})
		}
	}
}

// A trip 2.5 ms before its strike and 20 dB under it is not lost in it, and
// neither is one 0.7 ms before: there the loud one gives the time.
func TestSoundCloseBeforeALoudOne(t *testing.T) {
	const rate, seconds, sigma = 48000, 20, 1e-4
	for _, lead := range []float64{0.0025, 0.0007} {
		x := white(rate, seconds, sigma, 8)
		r := rand.New(rand.NewPCG(9, 9))
		var at []float64
		for c := 0.1; c < seconds-0.1; c += 0.1 + 0.1*r.Float64() {
			at = append(at, c)
			click(x, rate, c, 0.3, 3000+1000*r.Float64(), 0.003)
			click(x, rate, c-lead, 0.03, 3000+1000*r.Float64(), 0.001)
		}
		s := scanned(t, rate, x)
		loud, quiet := 0, 0
		var off []float64
		for _, a := range at {
			d := s.near(a, false)
			off = append(off, d)
			if d < 0.0003 {
				loud++
			}
			if s.near(a-lead, true) < 0.0003 {
				quiet++
			}
		}
		if n := len(at); loud < n*95/100 || quiet < n*90/100 {
			t.Errorf("%g ms apart: of %d pairs %d loud sounds and %d quiet ones found", lead*1e3, n, loud, quiet)
		}
		if m := middle(off); m > 0.15e-3 {
			t.Errorf("%g ms apart: loud sounds are %.3f ms off", lead*1e3, m*1e3)
		}
	}
}

func TestNothingStruckNothingFound(t *testing.T) {
	const rate, seconds = 48000, 30
	for _, sigma := range []float64{1e-3, 0.1} {
		if n := len(scanned(t, rate, white(rate, seconds, sigma, 11)).found); n > seconds {
			t.Errorf("%d candidates in %d s of white noise of %g", n, seconds, sigma)
		}
	}
	if s := scanned(t, rate, make([]float64, rate*5)); len(s.found) > 0 {
		t.Errorf("%d candidates in digital silence", len(s.found))
	}
	sine := make([]float64, rate*5)
	for i := range sine {
		// Faded: a sine that begins or ends at once does so with a click.
		sine[i] = 0.3 * min(1, float64(min(i, len(sine)-1-i))/rate) * math.Sin(2*math.Pi*440*float64(i)/rate)
	}
	if s := scanned(t, rate, sine); len(s.found) > 1 {
		t.Errorf("%d candidates in a sine", len(s.found))
	}
}

// What a scan finds hangs neither on the sizes of its reads nor on the level.
func TestScanInPieces(t *testing.T) {
	const rate = 22050
	x := white(rate, 4, 1e-3, 12)
	r := rand.New(rand.NewPCG(13, 13))
	for c := 0.1; c < 3.9; c += 0.1 * (0.2 + r.Float64()) {
		click(x, rate, c, 0.2*r.Float64(), 1000+4000*r.Float64(), 0.002)
	}
	whole := scanned(t, rate, slices.Clone(x))
	want := fmt.Sprintf("%v %v %v", whole.found, whole.tones, whole.frames)
	if len(whole.found) < 20 {
		t.Fatalf("only %d candidates to compare", len(whole.found))
	}
	rapid.Check(t, func(t *rapid.T) {
		block := rapid.IntRange(1, 20000).Draw(t, "block")
		s, err := scanTake(context.Background(), &playback{rate: rate, x: x, block: block}, 1e-10, nil)
		if err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprintf("%v %v %v", s.found, s.tones, s.frames); got != want {
			t.Errorf("reads of %d samples find something else", block)
		}
	})
}

// brokenSource fails after some samples.
type brokenSource struct {
	n   int
	err error
}

func (b *brokenSource) SampleRate() float64 { return 48000 }

func (b *brokenSource) Read(dst []float64) (int, error) {
	if b.n <= 0 {
		return 0, b.err
	}
	n := min(b.n, len(dst))
	clear(dst[:n])
	b.n -= n
	return n, nil
}

func TestScanTellsOfErrors(t *testing.T) {
	broken := errors.New("the card was pulled out")
	if _, err := scanTake(context.Background(), &brokenSource{50000, broken}, 1e-10, nil); !errors.Is(err, broken) {
		t.Errorf("the error is %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := scanTake(ctx, &brokenSource{50000, io.EOF}, 1e-10, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("the error is %v", err)
	}
	var told []int64
	if _, err := scanTake(context.Background(), &brokenSource{50000, io.EOF}, 1e-10, func(n int64) { told = append(told, n) }); err != nil {
		t.Error(err)
	}
	if !slices.IsSorted(told) || len(told) == 0 || told[len(told)-1] != 50000 {
		t.Errorf("progress was %v, want up to 50000", told)
	}
}

// A take may begin or end in the middle of a sound, and be shorter than any
// filter's memory.
func TestScanOfShortTakes(t *testing.T) {
	for n := range 300 {
		x := white(8000, 0.1, 0.3, uint64(n))[:n]
		if s := scanned(t, 8000, x); s.samples != int64(n) {
			t.Fatalf("%d samples counted of %d", s.samples, n)
		}
	}
}

// Samples that are no finite numbers become 0, wherever they stand; the others
// stay what they are.
func TestBrokenSamplesBecomeSilence(t *testing.T) {
	for n := range 12 {
		for at := range n {
			for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
				x := white(8000, 0.01, 0.3, uint64(n))[:n]
				want := slices.Clone(x)
				x[at], want[at] = bad, 0
				silenceBroken(x)
				if !slices.Equal(x, want) {
					t.Fatalf("%g as sample %d of %d leaves %v, want %v", bad, at, n, x, want)
				}
			}
		}
		x := white(8000, 0.01, 0.3, uint64(n))[:n]
		want := slices.Clone(x)
		silenceBroken(x)
		if !slices.Equal(x, want) {
			t.Fatalf("%d good samples became %v", n, x)
		}
	}
}
