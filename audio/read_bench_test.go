package audio

import (
	"context"
	"encoding/binary"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	goaudio "github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// benchTake writes noise of so many seconds, 48 kHz, stereo, 24 bits.
func benchTake(b *testing.B, secs int) string {
	b.Helper()
	n := secs * 48000 * 2
	raw := make([]byte, 44+3*n)
	copy(raw, "RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x02\x00\x80\xbb\x00\x00\x00\x65\x04\x00\x06\x00\x18\x00data")
	binary.LittleEndian.PutUint32(raw[4:], uint32(36+3*n))
	binary.LittleEndian.PutUint32(raw[40:], uint32(3*n))
	rng := rand.New(rand.NewPCG(1, 2))
	for i := 44; i < len(raw); i += 3 {
		v := int32(rng.NormFloat64() * 3000)
		if (i/6)%9600 < 500 { // five loud bursts a second
			v *= 300
		}
		raw[i], raw[i+1], raw[i+2] = byte(v), byte(v>>8), byte(v>>16)
	}
	path := filepath.Join(b.TempDir(), "bench.wav")
	if err := os.WriteFile(path, raw, 0o600); err != nil {
		b.Fatal(err)
	}
	return path
}

const benchSeconds = 60

func perFrame(b *testing.B) {
	b.Helper()
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/(benchSeconds*48000), "ns/frame")
}

func BenchmarkRead(b *testing.B) {
	path := benchTake(b, benchSeconds)
	dst := make([]float64, 2*4096)
	b.ReportAllocs()
	for b.Loop() {
		s, err := Open(context.Background(), path)
		if err != nil {
			b.Fatal(err)
		}
		for {
			if _, err := s.Read(dst); err == io.EOF {
				break
			} else if err != nil {
				b.Fatal(err)
			}
		}
		s.Close()
	}
	perFrame(b)
}

// BenchmarkReadMono is what listening reads: the mean of both channels.
func BenchmarkReadMono(b *testing.B) {
	path := benchTake(b, benchSeconds)
	dst := make([]float64, 4096)
	b.ReportAllocs()
	for b.Loop() {
		m, err := OpenMono(context.Background(), path, Mix{Channel: Sum})
		if err != nil {
			b.Fatal(err)
		}
		for {
			if _, err := m.Read(dst); err == io.EOF {
				break
			} else if err != nil {
				b.Fatal(err)
			}
		}
		m.Close()
	}
	perFrame(b)
}

// BenchmarkReadLibrary is the same through go-audio/wav: why it is not in the
// hot path.
func BenchmarkReadLibrary(b *testing.B) {
	path := benchTake(b, benchSeconds)
	dst := make([]float64, 2*4096)
	b.ReportAllocs()
	for b.Loop() {
		f, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		d := wav.NewDecoder(f)
		buf := &goaudio.IntBuffer{Data: make([]int, len(dst))}
		for {
			n, err := d.PCMBuffer(buf)
			if err != nil {
				b.Fatal(err)
			}
			if n == 0 {
				break
			}
			for i, v := range buf.Data[:n] {
				dst[i] = float64(v) * (1.0 / (1 << 23))
			}
		}
		f.Close()
	}
	perFrame(b)
}

func BenchmarkSurvey(b *testing.B) {
	path := benchTake(b, benchSeconds)
	b.ReportAllocs()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for b.Loop() {
		if _, err := Survey(context.Background(), path, nil); err != nil {
			b.Fatal(err)
		}
	}
	runtime.ReadMemStats(&after)
	b.ReportMetric(float64(after.TotalAlloc-before.TotalAlloc)/float64(b.N)/benchSeconds, "B/s-of-sound")
	perFrame(b)
}
