package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"loosedog/audio"
	"loosedog/onset"
)

// keySounds is where Debian's bucklespring-data lies: recordings of the keys of
// a real computer keyboard, NN-1.wav the press of the key with scan code NN,
// NN-0.wav its release.
const keySounds = "/usr/share/buckle/wav"

// letterKeys are the scan codes (hexadecimal) of the three rows of letters.
var letterKeys = []int{
	0x10, 0x11, 0x12, 0x13, 0x14, 0x15, 0x16, 0x17, 0x18, 0x19,
	0x1e, 0x1f, 0x20, 0x21, 0x22, 0x23, 0x24, 0x25, 0x26,
	0x2c, 0x2d, 0x2e, 0x2f, 0x30, 0x31, 0x32,
}

// TestStrikesOfRealKeys splices presses of real keys at known gaps. The files
// were cut where the press begins, so a press's time is where it was spliced
// in. Nothing of this was made by the project, and it is no typewriter: only
// the strikes are judged.
func TestStrikesOfRealKeys(t *testing.T) {
	if _, err := os.Stat(keySounds); err != nil {
		if inCI() {
			t.Fatalf("bucklespring-data is not installed: %v", err)
		}
		t.Skip("bucklespring-data is not installed")
	}
	presses, rate := keyClips(t, 1)
	releases, _ := keyClips(t, 0)
	for _, c := range []struct {
		name string
		// releaseGain of the key's release sound, 0.09 s after its press. These
		// clicks are as hard as the presses; they are set lower by more than the
		// 15 dB that lie between a take's light and heavy strikes, as far as what
		// follows a typewriter's strike may be under it (30 dB).
		releaseGain float64
	}{{"presses alone", 0}, {"releases 24 dB quieter", 0.063}} {
		t.Run(c.name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(3, 5))
			var times []float64
			at := 1.0
			for range 150 {
				times = append(times, at)
				// Median 0.2 s, spread of an unhurried hand; no nearer than a
				// press lasts.
				at += max(0.13, 0.2*math.Exp(0.25*r.NormFloat64()))
			}
			take := make([]float64, int((at+1)*rate))
			for i := range take {
				take[i] = 2e-4 * r.NormFloat64() // a quiet room, -74 dB
			}
			for i := range times {
				n := math.Round(times[i] * rate)
				times[i] = n / rate
				key := r.IntN(len(presses))
				mixIn(take, presses[key], int(n), 0.5*between(r, 0.6, 1))
				mixIn(take, releases[key], int(n+0.09*rate), 0.5*c.releaseGain)
			}
			path := filepath.Join(t.TempDir(), "keys.wav")
			if err := audio.WriteWAV(path, int(rate), 24, take); err != nil {
				t.Fatal(err)
			}
			found := strikesIn(t, path)
			hits, worst := 0, 0.0
			for i, j := 0, 0; i < len(times) && j < len(found); {
				switch d := found[j] - times[i]; {
				case math.Abs(d) <= 0.002:
					hits++
					worst = max(worst, math.Abs(d))
					i, j = i+1, j+1
				case d < 0:
					j++
				default:
					i++
				}
			}
			t.Logf("%d presses, %d strikes found, %d within 2 ms, the worst %.2f ms off", len(times), len(found), hits, 1000*worst)
			if hits < len(times)*98/100 {
				t.Errorf("%d of %d presses found within 2 ms, want 98 %%", hits, len(times))
			}
			if hits < len(found)*95/100 {
				t.Errorf("%d strikes found, only %d of them presses, want 95 %%", len(found), hits)
			}
		})
	}
}

func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// keyClips reads every letter key's press (which = 1) or release (0).
func keyClips(t *testing.T, which int) (clips [][]float64, rate float64) {
	t.Helper()
	for _, key := range letterKeys {
		clip, r := readMono(t, filepath.Join(keySounds, fmt.Sprintf("%02x-%d.wav", key, which)))
		clips, rate = append(clips, clip), r
	}
	return clips, rate
}

// readMono reads a whole short recording.
func readMono(t *testing.T, path string) (samples []float64, rate float64) {
	t.Helper()
	m, err := audio.OpenMono(t.Context(), path, audio.Mix{Channel: audio.Sum})
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	block := make([]float64, 4096)
	for {
		n, err := m.Read(block)
		samples = append(samples, block[:n]...)
		if errors.Is(err, io.EOF) {
			return samples, m.SampleRate()
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

// mixIn adds a clip to a take from frame at on.
func mixIn(take, clip []float64, at int, gain float64) {
	for i, v := range clip {
		if at+i < len(take) {
			take[at+i] += gain * v
		}
	}
}

// strikesIn gives the times of the typed strokes heard in a recording.
func strikesIn(t *testing.T, path string) []float64 {
	t.Helper()
	ctx := context.Background()
	q, err := audio.Survey(ctx, path, nil)
	if err != nil {
		t.Fatal(err)
	}
	m, err := audio.OpenMono(ctx, path, q.Mix)
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	heard, err := onset.Detect(ctx, m, q, onset.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var times []float64
	spaces := 0
	for _, s := range heard.Strokes {
		if s.Space {
			spaces++
			continue
		}
		times = append(times, s.Strike.Time)
	}
	t.Logf("%d strokes, %d of them taken for the space bar", len(heard.Strokes), spaces)
	return times
}
