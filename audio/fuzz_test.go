package audio

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math"
	"runtime"
	"testing"
)

// FuzzWAV feeds anything to the WAV reader: it must not panic, must not
// allocate by what a header says, and what comes out must be finite and no more
// than is in the file.
func FuzzWAV(f *testing.F) {
	data := chunk("data", ramp16(50))
	mono := fmtChunk(1, 1, 48000, 16)
	plain := riff(mono, data)
	for _, seed := range [][]byte{
		plain,
		riff(fmtChunk(1, 2, 44100, 24), data),
		riff(fmtChunk(1, 1, 8000, 8), chunk("data", []byte{1, 2, 3})),
		riff(fmtChunk(3, 1, 48000, 32), data),
		riff(fmtChunk(3, 2, 192000, 64), data),
		riff(extChunk(1, 1, 48000, 20, 3), data),
		riff(extChunk(3, 8, 48000, 32, 4), data),
		riff(chunk("LIST", []byte("INFOICMT\xff\xff\xff\xffab")), chunk("bext", make([]byte, 11)), mono, data),
		riff(data, mono),
		resize(plain, "data", 0), resize(plain, "data", 0xFFFFFFFF), resize(plain, "data", 0x7FFFF000),
		resize(plain, "fmt ", 0xFFFFFFF0), resize(plain, "RIFF", 0),
		append([]byte("RF64\xff\xff\xff\xff"), riff(chunk("ds64", make([]byte, 28)), mono, resize(data, "data", 0xFFFFFFFF))[8:]...),
		plain[:len(plain)-3], plain[:44], plain[:20], plain[:12],
		riff(fmtChunk(1, 0, 0, 0), data), riff(fmtChunk(0x55, 1, 44100, 0), data),
		riff(bytes.Repeat(chunk("JUNK", nil), 50), mono, data),
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		defer func() {
			runtime.ReadMemStats(&after)
			if n := after.TotalAlloc - before.TotalAlloc; n > 1<<22 {
				t.Errorf("%d bytes allocated for %d", n, len(file))
			}
		}()
		l, err := walk(bytes.NewReader(file), int64(len(file)))
		if err != nil {
			if !errors.Is(err, ErrUnreadable) || err.Error() == "" {
				t.Errorf("not a clear error: %v", err)
			}
			return
		}
		if l.offset < 12 || l.length < 0 || l.offset+l.length > int64(len(file)) || l.length%int64(l.frameBytes()) != 0 {
			t.Fatalf("section %d+%d in %d bytes", l.offset, l.length, len(file))
		}
		s := newStream(context.Background(), "fuzz.wav", l, io.NewSectionReader(bytes.NewReader(file), l.offset, l.length))
		s.left = l.length / int64(l.frameBytes())
		want := s.left
		v := newSurveyor(s.Format())
		buf := make([]float64, 64*l.channels)
		var got int64
		for {
			n, err := s.Read(buf)
			if err == io.EOF {
				break
			}
			if err != nil || n <= 0 {
				t.Fatalf("%d frames, %v", n, err)
			}
			for _, x := range buf[:n*l.channels] {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatal("a sample is not finite")
				}
			}
			v.add(buf[:n*l.channels])
			got += int64(n)
		}
		if got != want {
			t.Errorf("%d frames of %d", got, want)
		}
		q := v.quality(s.Problems())
		if q.ClippedShare < 0 || q.ClippedShare > 1 || q.Mix.Channel < Sum || q.Mix.Channel >= l.channels || q.Mix.Why == "" {
			t.Errorf("quality %+v", q)
		}
	})
}
