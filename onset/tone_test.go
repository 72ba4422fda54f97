package onset

import (
	"math"
	"testing"
)

// ring adds a tone that begins at t0 seconds, lasts length seconds and falls to
// 1/e in tau; a steady one, faded in and out over a tenth of a second, when tau
// is 0.
func ring(x []float64, rate, t0, length, amp, freq, tau float64) {
	for i := max(0, int(math.Ceil(t0*rate))); i < len(x); i++ {
		t := float64(i)/rate - t0
		if t > length {
			return
		}
		a := amp * min(1, (length-t)/0.1)
		if tau > 0 {
			a *= math.Exp(-t / tau)
		} else {
			a *= min(1, t/0.1)
		}
		x[i] += a * math.Sin(2*math.Pi*freq*t)
	}
}

// bar is n strikes step seconds apart from t0 on, each followed by the
// carriage; it returns their times.
func bar(x []float64, rate, t0, step float64, n int) []float64 {
	at := make([]float64, n)
	for i := range at {
		t := t0 + step*float64(i)
		at[i] = t
		seed := uint64(t * 1e6)
		burst(x, rate, t, 0.15, 0.005, seed)
		click(x, rate, t+0.050, 0.015, 4500, 0.001)
		click(x, rate, t+0.085, 0.030, 3500, 0.0015)
	}
	return at
}

// The clearest tone of a sine is its own, and its level follows the sine's.
func TestTonesOfASine(t *testing.T) {
	for _, rate := range []float64{16000, 44100, 48000, 96000} {
		for _, freq := range []float64{1200, 2300, 5100} {
			heard := func(amp float64) float64 {
				x := white(rate, 1, 1e-4, 50)
				ring(x, rate, 0, 1, amp, freq, 0)
				s := scanned(t, rate, x)
				if n := len(s.tones); n < 20 || n > 26 {
					t.Fatalf("%g Hz: %d stretches in a second", rate, n)
				}
				var levels []float64
				for _, u := range s.tones[4 : len(s.tones)-4] {
					if math.Abs(u.freq-freq) > 60 || u.over < 20 {
						t.Errorf("%g Hz: a sine of %g Hz is heard as %+v", rate, freq, u)
					}
					levels = append(levels, u.level)
				}
				return middle(levels)
			}
			if got := heard(0.2) - heard(0.02); math.Abs(got-20) > 0.5 {
				t.Errorf("%g Hz, a sine of %g Hz: 20 dB more are heard as %.2f dB", rate, freq, got)
			}
		}
	}
}

func TestBellAmongStrikes(t *testing.T) {
	const rate = 48000
	x := white(rate, 8, 1e-4, 51)
	bar(x, rate, 0.5, 0.19, 36)
	want := []float64{2.45, 6.03}
	for _, at := range want {
		ring(x, rate, at, 0.9, 0.06, 2300, 0.25)
	}
	got := scanned(t, rate, x).bells()
	if len(got) != len(want) {
		t.Fatalf("%d bells heard, want %d: %+v", len(got), len(want), got)
	}
	for i, b := range got {
		if math.Abs(b.time-want[i]) > 0.06 || math.Abs(b.freq-2300) > 60 || b.length < 0.25 {
			t.Errorf("bell %d is %+v, want one at %g s", i, b, want[i])
		}
	}
}

func TestNoBell(t *testing.T) {
	const rate = 48000
	for name, add := range map[string]func(x []float64){
		"nothing more":     func([]float64) {},
		"a steady whistle": func(x []float64) { ring(x, rate, 0.2, 7.5, 0.05, 2300, 0) },
		"a hum":            func(x []float64) { ring(x, rate, 0.2, 7.5, 0.2, 100, 0) },
		"noise":            func(x []float64) { addTo(x, white(rate, 8, 0.01, 53)) },
	} {
		x := white(rate, 8, 1e-4, 52)
		bar(x, rate, 0.5, 0.19, 36)
		add(x)
		if got := scanned(t, rate, x).bells(); len(got) > 0 {
			t.Errorf("%s: heard as bells: %+v", name, got)
		}
	}
}

func addTo(x, y []float64) {
	for i, v := range y {
		x[i] += v
	}
}

// Halving keeps low tones and takes down what would come to lie over them.
func TestHalve(t *testing.T) {
	amplitude := func(freq float64) float64 { // of a sine of amplitude 1 at 48 kHz, after
		x := make([]float64, 512)
		for i := range x {
			x[i] = math.Sin(2 * math.Pi * freq * float64(i) / 48000)
		}
		x = halve(x)
		if len(x) != 256 {
			t.Fatalf("%d samples left of 512", len(x))
		}
		sum := 0.0
		for _, v := range x[8:248] {
			sum += v * v
		}
		return 10 * math.Log10(2*sum/240)
	}
	for _, c := range []struct{ freq, least, most float64 }{
		{700, -0.1, 0.1}, {3000, -0.1, 0.1}, {6000, -0.5, 0.1}, {8900, -2, 0.1}, {15100, -100, -14}, {18000, -100, -25}, {23000, -200, -60},
	} {
		if got := amplitude(c.freq); got < c.least || got > c.most {
			t.Errorf("%g Hz comes out at %.1f dB, want %g to %g", c.freq, got, c.least, c.most)
		}
	}
}
