package audio

import (
	"bytes"
	"context"
	"encoding/binary"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	goaudio "github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// libraryRead decodes the section that the guard found with go-audio/wav,
// behind a plain header made for it: bounded, whole frames, an even number of
// bytes, and a reader that always fills its reads. ok is false where the
// library cannot read the encoding.
func libraryRead(t *testing.T, path string) (x []float64, ok bool) {
	t.Helper()
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	l, err := walk(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	if l.enc != s16 && l.enc != s24 && l.enc != s32 || l.length == 0 {
		return nil, false
	}
	section := riff(fmtChunk(tagPCM, l.channels, l.rate, 8*l.enc.bytes()), chunk("data", file[l.offset:l.offset+l.length]))
	d := wav.NewDecoder(bytes.NewReader(section))
	buf := &goaudio.IntBuffer{Data: make([]int, 3*l.channels*64)}
	full := math.Ldexp(1, 8*l.enc.bytes()-1)
	for {
		n, err := d.PCMBuffer(buf)
		if err != nil {
			t.Fatal(err)
		}
		if n == 0 {
			break
		}
		for _, v := range buf.Data[:n] {
			x = append(x, float64(v)/full)
		}
	}
	if int(d.NumChans) != l.channels || int(d.SampleRate) != l.rate {
		t.Fatalf("the library reads %d channels at %d Hz, the guard %d at %d", d.NumChans, d.SampleRate, l.channels, l.rate)
	}
	// The pad byte of an odd section can come out as one sample too many.
	if want := int(l.length) / l.enc.bytes(); len(x) == want+1 {
		x = x[:want]
	}
	return x, true
}

// Where both can read, the library and our own reader give equal samples: on
// files made here, whose samples run through the whole range.
func TestLibraryAgrees(t *testing.T) {
	for _, bits := range []int{16, 24, 32} {
		for _, channels := range []int{1, 2, 5} {
			var data []byte
			for i := range 999 * channels {
				v := uint32(i) * 2654435761 // Knuth's multiplier: all bits vary
				data = append(data, binary.LittleEndian.AppendUint32(nil, v)[4-bits/8:]...)
			}
			for name, f := range map[string][]byte{
				"plain":      riff(fmtChunk(1, channels, 48000, bits), chunk("data", data)),
				"extensible": riff(extChunk(1, channels, 48000, bits, bits/8), chunk("data", data)),
				"LIST":       riff(chunk("LIST", []byte("INFO")), fmtChunk(1, channels, 48000, bits), chunk("bext", make([]byte, 602)), chunk("data", data)),
				"cut":        riff(fmtChunk(1, channels, 48000, bits), chunk("data", data))[:2000],
				"open":       resize(riff(fmtChunk(1, channels, 48000, bits), chunk("data", data)), "data", 0xFFFFFFFF),
			} {
				path := write(t, "take.wav", f)
				want, ok := libraryRead(t, path)
				if !ok || len(want) == 0 {
					t.Fatalf("%s, %d bits: the library read nothing", name, bits)
				}
				got, _ := readAll(t, path, 100)
				same(t, got, want, 0)
			}
		}
	}
}

// go-audio/wav's own fixtures, from the module cache. Formats and lengths as
// soxi 14.4.2 prints them; the sums of two files' samples as the
// library's decoder_test.go has them.
func TestLibraryFixtures(t *testing.T) {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/go-audio/wav").Output()
	dir := filepath.Join(strings.TrimSpace(string(out)), "fixtures")
	if _, e := os.Stat(dir); err != nil || e != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("go-audio/wav's fixtures are not there: %v, %v", err, e)
		}
		t.Skip("go-audio/wav's fixtures are not in the module cache")
	}
	tests := []struct {
		file                         string
		channels, rate, bits, frames int
		total                        float64 // 0: not stated
	}{
		{"32bit.wav", 1, 44100, 32, 88200, 0},
		{"8bit.wav", 1, 44100, 8, 88200, 0},
		{"bass.wav", 2, 44100, 24, 23957, 0},
		{"bwf.wav", 1, 44100, 24, 7287, 1003870765},
		{"dirty-kick-24b441k.wav", 2, 44100, 24, 21340, 0},
		{"flloop.wav", 2, 44100, 16, 108281, 0},
		{"kick-16b441k.wav", 2, 44100, 16, 7782, 0},
		{"kick.wav", 1, 22050, 16, 4484, 180896},
		{"listChunkInHeader.wav", 2, 44100, 24, 15318, 0},
		{"listinfo.wav", 1, 44100, 16, 88200, 0},
		{"misaligned-chunk.wav", 2, 44100, 24, 564480, 0},
		{"padded24b.wav", 1, 44100, 24, 3713, 0},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			path := filepath.Join(dir, tt.file)
			got, s := readAll(t, path, 4096)
			f := s.Format()
			if f.Channels != tt.channels || f.SampleRate != tt.rate || f.Bits != tt.bits || len(got) != tt.frames*tt.channels {
				t.Errorf("format %+v, %d samples", f, len(got))
			}
			var total float64
			for _, v := range got {
				total += math.Ldexp(v, f.Bits-1)
			}
			if tt.total != 0 && total != tt.total {
				t.Errorf("samples add up to %.0f, want %.0f", total, tt.total)
			}
			if want, ok := libraryRead(t, path); ok {
				same(t, got, want, 0)
			} else if f.Bits != 8 && !f.Float {
				t.Error("the library could not read it")
			}
		})
	}
	// An AVI and an AIFF file: not WAV; ffmpeg's if it is there.
	for _, file := range []string{"sample.avi", "bloop.aif"} {
		s, err := Open(context.Background(), filepath.Join(dir, file))
		if err == nil {
			if !strings.Contains(s.Format().Name, "ffmpeg") {
				t.Errorf("%s was read as %q", file, s.Format().Name)
			}
			s.Close()
		} else if !strings.Contains(err.Error(), "ffmpeg") {
			t.Errorf("%s: %v", file, err)
		}
	}
}
