package audio

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// needTool skips the test when a tool of the system is not there, except where
// CI promises it.
func needTool(t testing.TB, names ...string) {
	t.Helper()
	for _, name := range names {
		if _, err := exec.LookPath(name); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("%s is not installed, and CI=true asks for it", name)
			}
			t.Skipf("%s is not installed", name)
		}
	}
}

// run runs a tool and returns its standard output.
func run(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(name, args...)
	var out, msg bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &msg
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, msg.Bytes())
	}
	return out.Bytes()
}

// chunk writes a RIFF chunk, with its pad byte.
func chunk(id string, body []byte) []byte {
	b := append([]byte(id), le32(len(body))...)
	b = append(b, body...)
	if len(body)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

func le16(v int) []byte { return binary.LittleEndian.AppendUint16(nil, uint16(v)) }
func le32(v int) []byte { return binary.LittleEndian.AppendUint32(nil, uint32(v)) }

// riff puts chunks into a RIFF file of true size.
func riff(chunks ...[]byte) []byte {
	body := bytes.Join(chunks, nil)
	return append(append([]byte("RIFF"), le32(4+len(body))...), append([]byte("WAVE"), body...)...)
}

// fmtChunk is a plain fmt chunk.
func fmtChunk(tag, channels, rate, bits int) []byte {
	align := channels * ((bits + 7) / 8)
	return chunk("fmt ", bytes.Join([][]byte{le16(tag), le16(channels), le32(rate), le32(rate * align), le16(align), le16(bits)}, nil))
}

// extChunk is an extended fmt chunk: bits in containers of so many bytes.
func extChunk(tag, channels, rate, bits, width int) []byte {
	return chunk("fmt ", bytes.Join([][]byte{
		le16(tagExtensible), le16(channels), le32(rate), le32(rate * channels * width), le16(channels * width), le16(8 * width),
		le16(22), le16(bits), le32(0), le32(tag), guidTail[:],
	}, nil))
}

// ramp16 is n samples of 16 bits, all different.
func ramp16(n int) []byte {
	var b []byte
	for i := range n {
		b = append(b, le16(i*37-500)...)
	}
	return b
}

// want16 is what a reader makes of 16-bit samples.
func want16(b []byte) []float64 {
	x := make([]float64, len(b)/2)
	for i := range x {
		x[i] = float64(int16(binary.LittleEndian.Uint16(b[2*i:]))) / 32768
	}
	return x
}

// write puts a file into the test's own folder.
func write(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// readAll reads a whole recording in blocks of so many frames.
func readAll(t testing.TB, path string, block int) ([]float64, *Stream) {
	t.Helper()
	s, err := Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	return drain(t, s, block), s
}

func drain(t testing.TB, s *Stream, block int) []float64 {
	t.Helper()
	buf := make([]float64, block*s.Format().Channels)
	var all []float64
	for {
		n, err := s.Read(buf)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, buf[:n*s.Format().Channels]...)
	}
	return all
}

// same fails unless two signals are equal sample by sample, within tol.
func same(t testing.TB, got, want []float64, tol float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d samples, want %d", len(got), len(want))
	}
	for i := range got {
		if !(math.Abs(got[i]-want[i]) <= tol) {
			t.Fatalf("sample %d is %v, want %v", i, got[i], want[i])
		}
	}
}

// codes are the problems' codes.
func codes(ps []Problem) []string {
	var c []string
	for _, p := range ps {
		c = append(c, p.Code)
	}
	return c
}
