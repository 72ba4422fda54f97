package audio

import (
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"

	goaudio "github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// WriteWAV writes a mono WAV file of 16 or 24 bits. A sample is multiplied by
// 2^(bits-1), rounded to nearest and held within what the width can say, so
// that what Open read of such a file is written back unchanged. NaN becomes 0.
// The file appears whole or not at all; one of that name is replaced.
func WriteWAV(path string, sampleRate, bits int, samples []float64) (err error) {
	if bits != 16 && bits != 24 {
		return fmt.Errorf("cannot write %q: %d bits a sample where 16 or 24 can be", path, bits)
	}
	if sampleRate < minRate || sampleRate > maxRate {
		return fmt.Errorf("cannot write %q: a sample rate of %d Hz where %d to %d can be", path, sampleRate, minRate, maxRate)
	}
	if int64(len(samples))*int64(bits/8) > math.MaxUint32-64 {
		return fmt.Errorf("cannot write %q: too long for a WAV file (4 GiB)", path)
	}
	// Not os.CreateTemp, whose files nobody else may read.
	part := filepath.Join(filepath.Dir(path), fmt.Sprintf(".%s.%016x.part", filepath.Base(path), rand.Uint64()))
	f, err := os.OpenFile(part, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return writeError(path, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(part)
		}
	}()
	if err := encode(f, sampleRate, bits, samples); err != nil {
		return writeError(path, err)
	}
	if err := f.Close(); err != nil {
		return writeError(path, err)
	}
	if err := os.Rename(part, path); err != nil {
		return writeError(path, err)
	}
	return nil
}

// encode writes samples through go-audio's encoder and adds the pad byte that
// it leaves out after a data chunk of odd size.
func encode(f io.WriteSeeker, sampleRate, bits int, samples []float64) error {
	enc := wav.NewEncoder(f, sampleRate, bits, 1, tagPCM)
	full := math.Ldexp(1, bits-1)
	buf := &goaudio.IntBuffer{Format: &goaudio.Format{NumChannels: 1, SampleRate: sampleRate}, SourceBitDepth: bits}
	data := make([]int, 0, 1<<13)
	for at := 0; ; {
		n := min(cap(data), len(samples)-at)
		data = data[:n]
		for i, v := range samples[at : at+n] {
			v = math.RoundToEven(v * full)
			if math.IsNaN(v) {
				v = 0
			}
			data[i] = int(max(-full, min(full-1, v)))
		}
		buf.Data = data
		// Once at least, so that an empty take has its data chunk.
		if err := enc.Write(buf); err != nil {
			return err
		}
		at += n
		if at == len(samples) {
			break
		}
	}
	if err := enc.Close(); err != nil {
		return err
	}
	if len(samples)*(bits/8)%2 == 0 {
		return nil
	}
	if _, err := f.Seek(0, io.SeekEnd); err != nil {
		return err
	}
	if _, err := f.Write([]byte{0}); err != nil {
		return err
	}
	size := uint32(36 + len(samples)*(bits/8) + 1)
	if _, err := f.Seek(4, io.SeekStart); err != nil {
		return err
	}
	_, err := f.Write([]byte{byte(size), byte(size >> 8), byte(size >> 16), byte(size >> 24)})
	return err
}

func writeError(path string, err error) error {
	var p *os.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		err = p.Err
	case errors.As(err, &l):
		err = l.Err
	}
	return fmt.Errorf("cannot write %q: %w", path, err)
}
