package audio

import (
	"context"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// What is written is read back, bit by bit, and a file read block by block is
// the same whatever the blocks.
func TestWriteReadBack(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "take.wav")
	rapid.Check(t, func(t *rapid.T) {
		bits := rapid.SampledFrom([]int{16, 24}).Draw(t, "bits")
		full := 1 << (bits - 1)
		ints := rapid.SliceOf(rapid.IntRange(-full, full-1)).Draw(t, "samples")
		rate := rapid.IntRange(minRate, maxRate).Draw(t, "rate")
		block := rapid.IntRange(1, 50).Draw(t, "block")
		want := make([]float64, len(ints))
		for i, v := range ints {
			want[i] = float64(v) / float64(full)
		}
		if err := WriteWAV(path, rate, bits, want); err != nil {
			t.Fatal(err)
		}
		s, err := Open(context.Background(), path)
		if err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		if f := s.Format(); f.SampleRate != rate || f.Bits != bits || f.Channels != 1 || f.Float || s.Announced() != int64(len(want)) {
			t.Fatalf("format %+v, %d frames", f, s.Announced())
		}
		var got []float64
		buf := make([]float64, block)
		for {
			n, err := s.Read(buf)
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, buf[:n]...)
		}
		if !slices.Equal(got, want) {
			t.Fatalf("read %v, wrote %v", got, want)
		}
		if len(s.Problems()) > 0 {
			t.Fatalf("problems %v", s.Problems())
		}
		// RIFF sizes are true and even.
		st, _ := os.Stat(path)
		if st.Size()%2 != 0 {
			t.Fatalf("%d bytes", st.Size())
		}
	})
	if left, _ := filepath.Glob(filepath.Join(dir, ".*")); len(left) > 0 {
		t.Errorf("files left behind: %v", left)
	}
}

func TestWriteEdges(t *testing.T) {
	path := filepath.Join(t.TempDir(), "take.wav")
	x := []float64{2, -2, math.NaN(), math.Inf(1), math.Inf(-1), 1, -1, 0.4 / 32768}
	if err := WriteWAV(path, 48000, 16, x); err != nil {
		t.Fatal(err)
	}
	top := 32767.0 / 32768
	got, _ := readAll(t, path, 100)
	same(t, got, []float64{top, -1, 0, top, -1, top, -1, 0}, 0)

	for _, bad := range []struct{ rate, bits int }{{48000, 8}, {48000, 32}, {0, 16}, {-1, 16}, {192001, 16}} {
		p := filepath.Join(t.TempDir(), "no.wav")
		if err := WriteWAV(p, bad.rate, bad.bits, x); err == nil || !strings.Contains(err.Error(), "no.wav") {
			t.Errorf("%+v: %v", bad, err)
		}
		if _, err := os.Stat(p); err == nil {
			t.Errorf("%+v left a file", bad)
		}
	}
	// A folder of the file's name: nothing is written, nothing left.
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "take.wav", "x"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := WriteWAV(filepath.Join(dir, "take.wav"), 48000, 16, x); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("over a folder: %v", err)
	}
	if err := WriteWAV(filepath.Join(dir, "none", "take.wav"), 48000, 16, x); err == nil {
		t.Error("into a folder that is not there")
	}
	if left, _ := os.ReadDir(dir); len(left) != 1 {
		t.Errorf("files left behind: %v", left)
	}
}

// Reading in blocks of any size gives the same samples, for every encoding and
// number of channels.
func TestBlocks(t *testing.T) {
	raw := make([]byte, 8*8*700)
	for i := range raw {
		raw[i] = byte(i * 167 >> 3)
	}
	for _, f := range [][]byte{
		fmtChunk(1, 1, 48000, 8), fmtChunk(1, 3, 48000, 16), fmtChunk(1, 2, 48000, 24), fmtChunk(1, 7, 48000, 24),
		fmtChunk(1, 8, 48000, 32), fmtChunk(3, 5, 48000, 32), fmtChunk(3, 8, 48000, 64),
	} {
		path := write(t, "take.wav", riff(f, chunk("data", raw)))
		want, _ := readAll(t, path, 1<<16)
		for _, block := range []int{1, 2, 3, 64, 1000} {
			got, _ := readAll(t, path, block)
			same(t, got, want, 0)
		}
		// A destination that holds more than whole frames gets whole frames.
		s, err := Open(context.Background(), path)
		if err != nil {
			t.Fatal(err)
		}
		ch := s.Format().Channels
		if ch > 1 {
			if n, err := s.Read(make([]float64, 2*ch+1)); n != 2 || err != nil {
				t.Errorf("%d frames, %v", n, err)
			}
			if _, err := s.Read(make([]float64, ch-1)); err == nil || err == io.EOF {
				t.Errorf("too small a destination: %v", err)
			}
		}
		s.Close()
		if _, err := s.Read(make([]float64, ch)); err == nil || err == io.EOF {
			t.Errorf("after Close: %v", err)
		}
	}
}

func TestMono(t *testing.T) {
	const frames = 9000 // more than one block
	var data []byte
	for i := range frames {
		data = append(data, append(append(le16(i), le16(-2*i)...), le16(5)...)...)
	}
	path := write(t, "take.wav", riff(fmtChunk(1, 3, 44100, 16), chunk("data", data)))
	all := want16(data)
	for channel := Sum; channel < 3; channel++ {
		m, err := OpenMono(context.Background(), path, Mix{Channel: channel})
		if err != nil {
			t.Fatal(err)
		}
		if m.SampleRate() != 44100 || m.Announced() != frames {
			t.Errorf("%v Hz, %d frames", m.SampleRate(), m.Announced())
		}
		var got []float64
		buf := make([]float64, 4999)
		for {
			n, err := m.Read(buf)
			if err == io.EOF {
				break
			} else if err != nil {
				t.Fatal(err)
			}
			got = append(got, buf[:n]...)
		}
		if n, err := m.Read(buf); n != 0 || err != io.EOF {
			t.Errorf("after the end: %d, %v", n, err)
		}
		want := make([]float64, frames)
		for i := range want {
			if channel == Sum {
				want[i] = (all[3*i] + all[3*i+1] + all[3*i+2]) / 3
			} else {
				want[i] = all[3*i+channel]
			}
		}
		same(t, got, want, 1e-15)
		m.Close()
	}
	for _, channel := range []int{-2, 3} {
		if _, err := OpenMono(context.Background(), path, Mix{Channel: channel}); err == nil {
			t.Errorf("channel %d was opened", channel)
		}
	}
}

func TestStopped(t *testing.T) {
	path := write(t, "take.wav", riff(fmtChunk(1, 1, 48000, 16), chunk("data", make([]byte, 1<<18))))
	ctx, cancel := context.WithCancel(context.Background())
	s, err := Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	cancel()
	if _, err := s.Read(make([]float64, 100)); !errors.Is(err, context.Canceled) || errors.Is(err, ErrUnreadable) {
		t.Errorf("got %v", err)
	}
	if _, err := Survey(ctx, path, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("survey: %v", err)
	}
}

// A file that shrinks while it is read gives what is there and says so.
func TestShrinks(t *testing.T) {
	path := write(t, "take.wav", riff(fmtChunk(1, 1, 48000, 16), chunk("data", make([]byte, 1<<18))))
	s, err := Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, err := s.Read(make([]float64, 10)); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, 1<<17); err != nil {
		t.Skip(err)
	}
	got := drain(t, s, 1000)
	if want := ((1<<17)-44)/2 - 10; len(got) > want || len(got) < want-1<<16 {
		t.Errorf("%d samples, want %d", len(got), want)
	}
	if c := codes(s.Problems()); !slices.Equal(c, []string{"cut-short"}) {
		t.Errorf("problems %v", c)
	}
}
