package onset

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// bandCounts is how many bands fit under the Nyquist frequency of a rate.
var bandCounts = map[float64]int{
	8000: 3, 11025: 3, 16000: 3, 22050: 4, 32000: 4, 44100: 4, 48000: 4, 88200: 4, 96000: 4, 192000: 4,
}

func TestBankAtEveryRate(t *testing.T) {
	for rate, want := range bandCounts {
		b := newBank(rate)
		if b.bands != want {
			t.Errorf("%g Hz: %d bands, want %d", rate, b.bands, want)
		}
		if hop := float64(b.hop) / rate; math.Abs(hop-hopSeconds) > 0.1*hopSeconds {
			t.Errorf("%g Hz: a hop of %.4f ms", rate, hop*1e3)
		}
		x := white(rate, 0.05, 0.1, 1)
		y, env := b.run(x, nil, nil)
		if len(y) != len(x) || len(env) != len(x)/b.hop {
			t.Errorf("%g Hz: %d samples gave %d and %d hops of %d", rate, len(x), len(y), len(env), b.hop)
		}
		for k, e := range env {
			for i, v := range e[:b.bands] {
				if !(v >= 0) || math.IsInf(v, 0) {
					t.Fatalf("%g Hz: band %d has the energy %g in hop %d", rate, i, v, k)
				}
			}
		}
	}
}

// A sine in the middle of a band is strongest in that band. (At 8 and 22.05 kHz
// the upper two bands overlap.)
func TestBandsHoldTheirSines(t *testing.T) {
	for rate, bands := range bandCounts {
		if rate == 8000 || rate == 22050 {
			continue
		}
		for want := range bands {
			e := bandEdges[want]
			freq := math.Sqrt(e[0] * min(e[1], 0.45*rate))
			x := make([]float64, int(0.2*rate))
			for i := range x {
				x[i] = math.Sin(2 * math.Pi * freq * float64(i) / rate)
			}
			_, env := newBank(rate).run(x, nil, nil)
			var sum [maxBands]float64
			for _, e := range env[len(env)/2:] {
				for i, v := range e {
					sum[i] += v
				}
			}
			got := 0
			for i := range bands {
				if sum[i] > sum[got] {
					got = i
				}
			}
			if got != want {
				t.Errorf("%g Hz: a sine of %.0f Hz is in band %d, not %d (%.3g)", rate, freq, got, want, sum)
			}
		}
	}
}

// A click's energy begins in the hop in which the click does, never before; in
// the upper bands the most of it lies there.
func TestBandsDelay(t *testing.T) {
	for _, rate := range []float64{44100, 48000, 96000} {
		b := newBank(rate)
		const hop = 40
		x := make([]float64, 100*b.hop)
		x[hop*b.hop] = 1
		_, env := b.run(x, nil, nil)
		for i := range b.bands {
			top := 0
			for k, e := range env {
				if k < hop && e[i] != 0 {
					t.Errorf("%g Hz: band %d sounds %d hops before the click", rate, i, hop-k)
				}
				if e[i] > env[top][i] {
					top = k
				}
			}
			late := 0
			if i == 0 {
				late = 2 // its period is eight hops
			}
			if top < hop || top > hop+late {
				t.Errorf("%g Hz: band %d is loudest %d hops after the click", rate, i, top-hop)
			}
		}
	}
}

// How the samples come in makes no difference.
func TestBankInPieces(t *testing.T) {
	x := white(22050, 0.1, 0.1, 7)
	y, env := newBank(22050).run(x, nil, nil)
	rapid.Check(t, func(t *rapid.T) {
		b := newBank(22050)
		var gotY []float64
		var got [][maxBands]float64
		for rest := x; len(rest) > 0; {
			n := min(len(rest), rapid.IntRange(1, 700).Draw(t, "n"))
			gotY, got = b.run(rest[:n], gotY, got)
			rest = rest[n:]
		}
		if !slices.Equal(y, gotY) || !slices.Equal(env, got) {
			t.Error("not the same as in one piece")
		}
	})
}

// The levels are what they are said to be: the mean energy of a sine of
// amplitude 1 is a half (3 dB are lost at most to the filter's slopes).
func TestBandsLevel(t *testing.T) {
	const rate = 48000
	for i, freq := range []float64{400, math.Sqrt(900 * 2800), math.Sqrt(2800 * 7000), 12000} {
		x := make([]float64, rate/5)
		for k := range x {
			x[k] = math.Sin(2 * math.Pi * freq * float64(k) / rate)
		}
		_, env := newBank(rate).run(x, nil, nil)
		sum, n := 0.0, 0
		for _, e := range env[len(env)/2:] {
			sum += e[i]
			n++
		}
		if got := db(sum / float64(n)); got > db(0.5)+0.5 || got < db(0.5)-3 {
			t.Errorf("band %d: a full sine of %.0f Hz has %.1f dB", i, freq, got)
		}
	}
}
