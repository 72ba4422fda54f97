package onset

import (
	"math"
	"math/rand/v2"
	"testing"
)

// ratchet adds a carriage return: clicks of a ratchet over length seconds, with
// the rush between them, and the thump of the carriage stopping.
func ratchet(x []float64, rate, t0, length float64) {
	r := rand.New(rand.NewPCG(uint64(t0*1e6), 60))
	for t := t0; t < t0+length; t += 0.015 + 0.004*r.Float64() {
		burst(x, rate, t, 0.03, 0.004, r.Uint64())
	}
	for i := int(t0 * rate); i < min(len(x), int((t0+length)*rate)); i++ {
		x[i] += 0.003 * r.NormFloat64()
	}
	click(x, rate, t0+length, 0.2, 250, 0.012)
}

// laidOut is the take cut into lines.
func laidOut(t *testing.T, rate float64, x []float64) *session {
	t.Helper()
	s := scanned(t, rate, x)
	found, f := s.strikes()
	if len(found) == 0 {
		t.Fatal("no strikes heard")
	}
	return layOut(s, found, f)
}

func TestReturnsPartLines(t *testing.T) {
	const rate = 48000
	for _, length := range []float64{0.4, 0.5, 0.9, 1.3} {
		x := white(rate, 22, 1e-4, 61)
		at := 0.5
		var starts, strikes []float64
		for k := range 3 {
			strikes = append(strikes, bar(x, rate, at, 0.19, 25)...)
			at += 0.19*24 + 0.45
			if k < 2 {
				starts = append(starts, at)
				ratchet(x, rate, at, length)
				at += length + 0.5
			}
		}
		e := laidOut(t, rate, x)
		if len(e.lines) != 3 {
			t.Errorf("returns of %g s: %d lines, want 3", length, len(e.lines))
			continue
		}
		for k, want := range starts {
			if got := e.lines[k].carriage; math.Abs(got.from-want) > 0.08 || math.Abs(got.to-want-length) > 0.12 {
				t.Errorf("return %d of %g s at %.2f s is heard from %.3f to %.3f", k, length, want, got.from, got.to)
			}
		}
		if n := len(e.strikes); n < len(strikes)*95/100 || n > len(strikes) {
			t.Errorf("returns of %g s: %d strikes, want %d", length, n, len(strikes))
		}
	}
}

// Neither a space-bar stroke between two strikes, nor thinking, nor a noise that
// only dies away ends a line.
func TestGapsThatEndNoLine(t *testing.T) {
	const rate = 48000
	thump := func(x []float64, at float64) {
		click(x, rate, at, 0.05, 220, 0.012)
		click(x, rate, at+0.050, 0.015, 4500, 0.001)
		click(x, rate, at+0.085, 0.030, 3500, 0.0015)
	}
	for name, add := range map[string]func(x []float64, from float64){
		"a space bar": func(x []float64, from float64) { thump(x, from+0.2) },
		"two spaces":  func(x []float64, from float64) { thump(x, from+0.2); thump(x, from+0.4) },
		"silence":     func([]float64, float64) {},
		"a knock":     func(x []float64, from float64) { click(x, rate, from+0.3, 0.1, 180, 0.05) },
	} {
		for _, gap := range []float64{0.45, 0.65, 1, 2} {
			x := white(rate, 14, 1e-4, 62)
			bar(x, rate, 0.5, 0.19, 25)
			last := 0.5 + 0.19*24
			add(x, last)
			bar(x, rate, last+gap, 0.19, 25)
			if e := laidOut(t, rate, x); len(e.lines) != 1 {
				t.Errorf("%s in a gap of %g s: %d lines (%+v)", name, gap, len(e.lines), e.lines[0].carriage)
			}
		}
	}
}

func TestNoiseLevels(t *testing.T) {
	const rate = 48000
	x := white(rate, 10, 1e-3, 63)
	bar(x, rate, 0.5, 0.19, 48)
	quiet := scanned(t, rate, white(rate, 10, 1e-3, 63)).noiseLevels()
	for i, v := range scanned(t, rate, x).noiseLevels() {
		if math.Abs(v-quiet[i]) > 3 {
			t.Errorf("band %d: noise of %.1f dB is heard as %.1f dB under typing", i, quiet[i], v)
		}
	}
}
