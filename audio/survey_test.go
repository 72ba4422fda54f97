package audio

import (
	"context"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// typing is noise of a level (dB relative to a full-scale sine, RMS) with
// clicks of one decay in seconds, broad in band: some three a second at uneven
// times, 15 dB apart in level, the loudest of the amplitude given.
func typing(rate int, secs, amplitude, noise, decay float64) []float64 {
	rng := rand.New(rand.NewPCG(7, 11))
	x := make([]float64, int(secs*float64(rate)))
	g := math.Pow(10, noise/20) / math.Sqrt2
	for i := range x {
		x[i] = g * rng.NormFloat64()
	}
	for at := 0.3; at < secs-0.3; at += 0.15 + 0.4*rng.Float64() {
		a := amplitude * math.Pow(10, -15*rng.Float64()/20)
		from := int(at * float64(rate))
		for i := 0; i < int(8*decay*float64(rate)) && from+i < len(x); i++ {
			x[from+i] += a * math.Exp(-float64(i)/decay/float64(rate)) * max(-1, min(1, rng.NormFloat64()/2))
		}
	}
	return x
}

func gain(x []float64, g float64) []float64 {
	y := slices.Clone(x)
	for i := range y {
		y[i] *= g
	}
	return y
}

// survey writes channels as 32-bit float WAV and surveys them.
func survey(t *testing.T, rate int, channels ...[]float64) *Quality {
	t.Helper()
	data := make([]byte, 0, 4*len(channels)*len(channels[0]))
	for i := range channels[0] {
		for _, c := range channels {
			data = binary.LittleEndian.AppendUint32(data, math.Float32bits(float32(c[i])))
		}
	}
	path := write(t, "take.wav", riff(fmtChunk(3, len(channels), rate, 32), chunk("data", data)))
	return surveyFile(t, path)
}

func surveyFile(t *testing.T, path string) *Quality {
	t.Helper()
	q, err := Survey(context.Background(), path, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range q.Problems {
		if p.Code == "" || p.Text == "" || strings.ContainsAny(p.Text, "\n") {
			t.Errorf("problem %+v", p)
		}
	}
	if q.Mix.Why == "" || strings.Contains(q.Mix.Why, "\n") || strings.Contains(q.Mix.Why, "NaN") {
		t.Errorf("mix %+v", q.Mix)
	}
	return q
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.3f, want %.3f within %.3f", what, got, want, tol)
	}
}

func wantCodes(t *testing.T, q *Quality, want ...string) {
	t.Helper()
	if got := codes(q.Problems); !slices.Equal(got, want) {
		t.Errorf("problems %v, want %v", q.Problems, want)
	}
}

// A full-scale sine stands at 0 dB, in peak and RMS (AES17).
func TestLevels(t *testing.T) {
	x := make([]float64, 10*48000)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * 997 * float64(i) / 48000)
	}
	q := survey(t, 48000, x)
	near(t, "peak", q.Peak, 0, 0.01)
	near(t, "RMS", q.RMS, 0, 0.01)
	near(t, "duration", q.Duration, 10, 0)
	if q.Frames != 480000 || q.ClippedShare != 0 {
		t.Errorf("%d frames, %v clipped", q.Frames, q.ClippedShare)
	}
	wantCodes(t, q, "little-contrast")
	q = survey(t, 48000, gain(x, 0.1))
	near(t, "peak", q.Peak, -20, 0.01)
	near(t, "RMS", q.RMS, -20, 0.01)
}

// The noise between strokes is found at its level, at any rate, through offset
// and rumble, and however the whole is turned down; its spectrum is flat and
// adds up to the level.
func TestNoiseFloor(t *testing.T) {
	for _, rate := range []int{8000, 44100, 48000, 96000} {
		x := typing(rate, 12, 0.7, -60, 0.005)
		for i := range x {
			x[i] += 0.02 + 0.01*math.Sin(2*math.Pi*12*float64(i)/float64(rate))
		}
		for _, g := range []float64{1, 0.01} {
			db := 20 * math.Log10(g)
			q := survey(t, rate, gain(x, g))
			near(t, "noise floor", q.NoiseFloor, -60+db, 0.5)
			var power float64
			for i, d := range q.NoiseDensity {
				if i > 2 {
					power += math.Pow(10, d/10) * q.NoiseFreqs[1]
				}
			}
			near(t, "noise from its spectrum", 10*math.Log10(power), -60+db, 0.7)
			mid := q.NoiseDensity[len(q.NoiseDensity)/2]
			near(t, "density", mid, -60+db-10*math.Log10(float64(rate)/2), 2)
			if last := q.NoiseFreqs[len(q.NoiseFreqs)-1]; last != float64(rate)/2 {
				t.Errorf("spectrum ends at %v Hz", last)
			}
			if q.Gated || q.Pumped || !math.IsNaN(q.BandLimit) || q.ClippedShare != 0 {
				t.Errorf("%d Hz: gated %v, pumped %v, band limit %v, clipped %v", rate, q.Gated, q.Pumped, q.BandLimit, q.ClippedShare)
			}
			wantCodes(t, q)
		}
	}
}

// Dense typing leaves little quiet; what is left still gives the floor.
func TestNoiseFloorDense(t *testing.T) {
	x := typing(48000, 20, 0, -60, 0.005)
	rng := rand.New(rand.NewPCG(3, 4))
	for at := 0.1; at < 19.9; at += 0.09 { // 11 a second
		for i := range 2500 {
			x[int(at*48000)+i] += 0.5 * math.Exp(-float64(i)/300) * rng.NormFloat64() / 3
		}
	}
	near(t, "noise floor", survey(t, 48000, x).NoiseFloor, -60, 1.5)
}

// Clipping is found whatever the level at which it stands, and is not seen in
// what only looks flat.
func TestClipping(t *testing.T) {
	x := typing(48000, 10, 1, -60, 0.02)
	clip := func(at float64) (y []float64, share float64) {
		y = slices.Clone(x)
		n := 0
		for i, v := range y {
			if math.Abs(v) >= at {
				y[i] = math.Copysign(at, v)
				n++
			}
		}
		return y, float64(n) / float64(len(y))
	}
	for _, at := range []float64{0.7, 0.3, 0.1} {
		y, share := clip(at)
		for _, g := range []float64{1, 0.02} {
			q := survey(t, 48000, gain(y, g))
			near(t, "clipped share, relative", q.ClippedShare/share, 1, 0.15)
			if c := codes(q.Problems); !slices.Contains(c, "clipped") {
				t.Errorf("clipped at %v, turned down to %v: problems %v", at, g, q.Problems)
			}
		}
		// 16 bits and turned down before: the ceiling wavers by the rounding.
		path := filepath.Join(t.TempDir(), "take.wav")
		rng := rand.New(rand.NewPCG(1, 1))
		z := gain(y, 0.1/at)
		for i := range z {
			z[i] += (rng.Float64() - rng.Float64()) / 32768 // dither
		}
		if err := WriteWAV(path, 48000, 16, z); err != nil {
			t.Fatal(err)
		}
		near(t, "clipped share, dithered, relative", surveyFile(t, path).ClippedShare/share, 1, 0.2)
	}
	// Not clipped: the take itself, slow waves (flat tops), a full-scale tone
	// that meets its own peak again and again, and few coarse steps.
	slow := make([]float64, 48000*5)
	tone := make([]float64, 48000*5)
	for i := range slow {
		slow[i] = 0.9 * math.Sin(2*math.Pi*50*float64(i)/48000)
		tone[i] = math.Sin(2 * math.Pi * 1000 * float64(i) / 48000)
	}
	for name, y := range map[string][]float64{"typing": x, "slow": slow, "tone": tone} {
		if q := survey(t, 48000, y); q.ClippedShare != 0 {
			t.Errorf("%s: clipped share %v", name, q.ClippedShare)
		}
		for _, g := range []float64{1, 0.01} {
			path := filepath.Join(t.TempDir(), "take.wav")
			if err := WriteWAV(path, 48000, 16, gain(y, g)); err != nil {
				t.Fatal(err)
			}
			if q := surveyFile(t, path); q.ClippedShare != 0 {
				t.Errorf("%s, 16 bits, gain %v: clipped share %v", name, g, q.ClippedShare)
			}
		}
	}
}

// gate shuts the sound off, after a hold, where it has stayed under a level.
func gate(x []float64, rate int, under, hold, shut float64) []float64 {
	y := slices.Clone(x)
	since := 0
	for i, v := range x {
		if math.Abs(v) > under {
			since = 0
		}
		since++
		if float64(since) > hold*float64(rate) {
			y[i] *= shut
		}
	}
	return y
}

func TestGated(t *testing.T) {
	x := typing(48000, 15, 0.7, -60, 0.01)
	for name, y := range map[string][]float64{
		"to nothing":            gate(x, 48000, 0.02, 0.08, 0),
		"30 dB down":            gate(x, 48000, 0.02, 0.08, 0.03),
		"to nothing, quiet":     gain(gate(x, 48000, 0.02, 0.08, 0), 0.01),
		"to nothing, at once":   gate(x, 48000, 0.02, 0.01, 0),
		"no microphone is that": gate(typing(48000, 15, 0.7, -140, 0.01), 48000, 0.02, 10, 0),
	} {
		q := survey(t, 48000, y)
		if !q.Gated || q.Pumped {
			t.Errorf("%s: gated %v, pumped %v", name, q.Gated, q.Pumped)
		}
		wantCodes(t, q, "gated")
	}
	for name, y := range map[string][]float64{
		"plain":                x,
		"a still room":         typing(48000, 15, 0.7, -80, 0.01),
		"clicks, short decay":  typing(48000, 15, 0.7, -75, 0.002),
		"a long decay":         typing(48000, 15, 0.7, -75, 0.06),
		"silence at each end":  append(append(make([]float64, 240000), x...), make([]float64, 240000)...),
		"half of it no typing": append(slices.Clone(x), typing(48000, 15, 0, -60, 0.01)...),
	} {
		if q := survey(t, 48000, y); q.Gated {
			t.Errorf("%s: gated", name)
		}
	}
	// In few bits silence is the rounding's doing: too quiet, not gated.
	path := filepath.Join(t.TempDir(), "take.wav")
	if err := WriteWAV(path, 48000, 16, gain(x, 0.005)); err != nil {
		t.Fatal(err)
	}
	wantCodes(t, surveyFile(t, path), "too-quiet")
}

// pump is a plain automatic gain: down within some 2 ms, back by 20 dB in a
// time in seconds.
func pump(x []float64, rate int, to, back float64) []float64 {
	y := make([]float64, len(x))
	g := 1.0
	up := math.Pow(10, 20/(20*back*float64(rate)))
	down := math.Exp(-1 / (0.002 * float64(rate)))
	for i, v := range x {
		y[i] = v * g
		if g = min(1, g*up); math.Abs(v)*g > to {
			g *= down
		}
	}
	return y
}

func TestPumped(t *testing.T) {
	// Pauses as between words and lines.
	x := typing(48000, 25, 0.7, -55, 0.01)
	pauses := typing(48000, 25, 0, -55, 0.01)
	for i := range x {
		if math.Mod(float64(i)/48000, 4) > 2.8 {
			x[i] = pauses[i]
		}
	}
	for _, back := range []float64{0.3, 0.8, 2} {
		for _, g := range []float64{1, 0.02} {
			q := survey(t, 48000, gain(pump(x, 48000, 0.05, back), g))
			if !q.Pumped || q.Gated {
				t.Errorf("back in %v s, gain %v: pumped %v, gated %v", back, g, q.Pumped, q.Gated)
			}
			wantCodes(t, q, "gain-pumping")
		}
	}
	for name, y := range map[string][]float64{"plain": x, "no pauses": typing(48000, 25, 0.7, -55, 0.01), "a slow decay": typing(48000, 25, 0.7, -70, 0.1)} {
		if q := survey(t, 48000, y); q.Pumped {
			t.Errorf("%s: pumped", name)
		}
	}
}

func TestBandLimit(t *testing.T) {
	needTool(t, "sox", "ffmpeg")
	dir := t.TempDir()
	wav := filepath.Join(dir, "take.wav")
	if err := WriteWAV(wav, 48000, 24, typing(48000, 20, 0.7, -70, 0.01)); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name string
		cmd  []string
		want float64 // Hz; NaN: none
		tol  float64
	}{
		{"whole.wav", []string{"sox", wav, ""}, math.NaN(), 0},
		{"12k.wav", []string{"sox", wav, "", "sinc", "-12k"}, 12000, 600},
		{"15k.wav", []string{"sox", wav, "", "sinc", "-15k"}, 15000, 600},
		{"4k.wav", []string{"sox", wav, "", "sinc", "-4k"}, 4000, 600},
		{"resampled.wav", []string{"sox", wav, "", "rate", "16000", "rate", "48000"}, 8000, 600},
		// A gentle slope is a microphone's or a room's.
		{"slope.wav", []string{"sox", wav, "", "lowpass", "6k"}, math.NaN(), 0},
		{"aac64.m4a", []string{"ffmpeg", "-v", "error", "-y", "-i", wav, "-c:a", "aac", "-cutoff", "15000", "-b:a", "64k", ""}, 15000, 700},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := filepath.Join(dir, tt.name)
			for i, a := range tt.cmd {
				if a == "" {
					tt.cmd[i] = path
				}
			}
			run(t, tt.cmd[0], tt.cmd[1:]...)
			q := surveyFile(t, path)
			if math.IsNaN(tt.want) {
				if !math.IsNaN(q.BandLimit) {
					t.Errorf("band limit %v", q.BandLimit)
				}
				return
			}
			near(t, "band limit", q.BandLimit, tt.want, tt.tol)
			if !slices.Contains(codes(q.Problems), "band-limited") {
				t.Errorf("problems %v", q.Problems)
			}
		})
	}
	// A bell is no cliff, though nothing sounds above its partials.
	bell := typing(48000, 10, 0, -70, 0.01)
	for i := range bell {
		s := math.Mod(float64(i)/48000, 1)
		bell[i] += 0.3 * math.Exp(-6*s) * (math.Sin(2*math.Pi*2600*s) + math.Sin(2*math.Pi*3900*s))
	}
	if q := survey(t, 48000, bell); !math.IsNaN(q.BandLimit) {
		t.Errorf("bell: band limit %v", q.BandLimit)
	}
}

func TestMix(t *testing.T) {
	x := typing(48000, 8, 0.7, -60, 0.01)
	rng := rand.New(rand.NewPCG(9, 9))
	noisy := func(x []float64, g, noise float64) []float64 {
		y := gain(x, g)
		for i := range y {
			y[i] += math.Pow(10, noise/20) * rng.NormFloat64()
		}
		return y
	}
	clipped := gain(x, 4)
	for i, v := range clipped {
		clipped[i] = max(-0.7, min(0.7, v))
	}
	silent := make([]float64, len(x))
	hiss := noisy(silent, 0, -70)
	offset := slices.Clone(silent)
	for i := range offset {
		offset[i] = 0.4
	}
	late := append(make([]float64, 25), x[:len(x)-25]...) // half a millisecond
	for _, tt := range []struct {
		name     string
		channels [][]float64
		want     int
		why      string // part of it
	}{
		{"mono", [][]float64{x}, 0, "only channel"},
		{"the same twice", [][]float64{x, x}, Sum, "alike"},
		{"alike", [][]float64{noisy(x, 1, -60), noisy(x, 0.8, -62)}, Sum, "alike"},
		{"right dead", [][]float64{x, silent}, 0, "no other holds any sound"},
		{"left dead", [][]float64{silent, x}, 1, "no other holds any sound"},
		{"left only hiss", [][]float64{hiss, x}, 1, "no other holds any sound"},
		{"left only an offset", [][]float64{offset, x}, 1, "no other holds any sound"},
		{"opposite", [][]float64{x, gain(x, -1)}, 0, "opposite polarity"},
		{"opposite, left noisy", [][]float64{noisy(x, 1, -30), gain(x, -1)}, 1, "opposite polarity"},
		{"left noisy", [][]float64{noisy(x, 1, -40), x}, 1, "right channel"},
		{"left quiet but clean", [][]float64{gain(x, 0.05), noisy(x, 1, -30)}, 0, "left channel"},
		{"left clipped", [][]float64{clipped, x}, 1, "clipped more"},
		{"apart in time", [][]float64{x, late}, 0, "left channel"},
		{"five, one best", [][]float64{noisy(x, 1, -40), noisy(x, 1, -30), x, silent, hiss}, 2, "channel 3"},
		{"four alike", [][]float64{x, x, noisy(x, 1, -65), x}, Sum, "4 channels"},
		{"silent", [][]float64{silent, silent}, 0, "no channel holds any sound"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			q := survey(t, 48000, tt.channels...)
			if q.Mix.Channel != tt.want || !strings.Contains(q.Mix.Why, tt.why) {
				t.Errorf("mix %+v, want %d, %s", q.Mix, tt.want, tt.why)
			}
			if tt.name == "opposite" || tt.name == "right dead" {
				near(t, "noise floor", q.NoiseFloor, -60, 0.5)
			}
		})
	}
}

// Takes of nothing, or nearly.
func TestSurveySmall(t *testing.T) {
	for _, n := range []int{0, 1, 2, 63, 64, 100, 511, 512, 513, 1024, 5000} {
		for _, channels := range []int{1, 2, 8} {
			data := make([]byte, 0, 2*n*channels)
			for i := range n * channels {
				data = append(data, le16(i*7919%2000-1000)...)
			}
			q := surveyFile(t, write(t, "take.wav", riff(fmtChunk(1, channels, 48000, 16), chunk("data", data))))
			if q.Frames != int64(n) {
				t.Errorf("%d frames, want %d", q.Frames, n)
			}
			want := "too-short"
			if n == 0 {
				want = "empty"
			}
			if !slices.Contains(codes(q.Problems), want) {
				t.Errorf("%d frames: problems %v", n, q.Problems)
			}
		}
	}
	q := survey(t, 48000, make([]float64, 480000))
	wantCodes(t, q, "silent")
	if !math.IsNaN(q.Peak) || !math.IsNaN(q.RMS) || !math.IsNaN(q.NoiseFloor) || q.Gated {
		t.Errorf("silence: %+v", q)
	}
}

// What was said while reading is passed on, and progress ends at the whole.
func TestSurveyPassesOn(t *testing.T) {
	file := riff(fmtChunk(1, 1, 48000, 16), chunk("data", ramp16(20000)))
	path := write(t, "take.wav", file[:len(file)-101])
	var last, total int64
	q, err := Survey(context.Background(), path, func(d, n int64) {
		if d <= last {
			t.Errorf("progress from %d to %d", last, d)
		}
		last, total = d, n
	})
	if err != nil {
		t.Fatal(err)
	}
	if last != q.Frames || total != q.Frames {
		t.Errorf("progress ended at %d of %d, %d frames", last, total, q.Frames)
	}
	if !slices.Contains(codes(q.Problems), "cut-short") {
		t.Errorf("problems %v", q.Problems)
	}
}
