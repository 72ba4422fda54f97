package audio

import (
	"encoding/binary"
	"fmt"
	"math"
	"path/filepath"
	"testing"
)

// Every kind of WAV that sox writes, decoded to the same samples as sox's own
// dump of the same file. sox holds samples in 32 bits: its dump of float is
// exact to half of 2^-31 (and clips at 1, so the signal stays under it).
func TestSoxFiles(t *testing.T) {
	needTool(t, "sox")
	kinds := []struct {
		name string
		args []string
		bits int
		tol  float64
	}{
		{"u8", []string{"-b", "8", "-e", "unsigned-integer"}, 8, 0},
		{"s16", []string{"-b", "16"}, 16, 0},
		{"s24", []string{"-b", "24"}, 24, 0},                                       // EXTENSIBLE
		{"s32", []string{"-b", "32", "-e", "signed-integer"}, 32, 0},               // EXTENSIBLE
		{"s24 plain", []string{"-b", "24", "-t", "wavpcm"}, 24, 0},                 // tag 1
		{"s32 plain", []string{"-b", "32", "-e", "signed", "-t", "wavpcm"}, 32, 0}, // tag 1
		{"f32", []string{"-b", "32", "-e", "floating-point"}, 32, 1.0 / (1 << 31)},
		{"f64", []string{"-b", "64", "-e", "floating-point"}, 64, 1.0 / (1 << 31)},
	}
	rates := []int{8000, 11025, 16000, 22050, 32000, 44100, 48000, 88200, 96000, 176400, 192000}
	dir := t.TempDir()
	n := 0
	for _, k := range kinds {
		for channels := 1; channels <= maxChannels; channels++ {
			rate := rates[n%len(rates)] // each rate with many kinds
			n++
			t.Run(fmt.Sprintf("%s, %d channels, %d Hz", k.name, channels, rate), func(t *testing.T) {
				path := filepath.Join(dir, fmt.Sprintf("%d.wav", n))
				args := []string{"-R", "-n", "-r", fmt.Sprint(rate), "-c", fmt.Sprint(channels)}
				args = append(append(args, k.args...), path, "synth", "0.0501")
				for c := range channels {
					args = append(args, "sine", fmt.Sprint(200+110*c))
				}
				run(t, "sox", append(args, "gain", "-1")...)
				raw := run(t, "sox", path, "-t", "f64", "-")
				want := make([]float64, len(raw)/8)
				for i := range want {
					want[i] = math.Float64frombits(binary.LittleEndian.Uint64(raw[8*i:]))
				}
				got, s := readAll(t, path, 333)
				same(t, got, want, k.tol)
				f := s.Format()
				if f.Channels != channels || f.SampleRate != rate || f.Bits != k.bits || f.Float != (k.tol > 0) {
					t.Errorf("format %+v", f)
				}
				if len(s.Problems()) > 0 {
					t.Errorf("problems %v", s.Problems())
				}
			})
		}
	}
}
