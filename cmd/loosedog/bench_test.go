package main

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"loosedog/audio/synth"
	"loosedog/diagnose/mechanism"
)

// hour is the length of the long take in seconds.
const hour = 3600

// BenchmarkHour measures an hour at 48 kHz, stereo, 24 bit with the program as
// it is built, and prints the real-time factor and the peak memory; aubioonset
// with its defaults does the same file in the same run. Run it by make bench.
//
// The take is made by a process of its own ("tile"): the peak that the system
// reports for a child is never below that of the process that starts it, so
// this one stays small.
func BenchmarkHour(b *testing.B) {
	dir := b.TempDir()
	program := filepath.Join(dir, "loosedog")
	if out, err := exec.Command("go", "build", "-buildvcs=false", "-o", program, ".").CombinedOutput(); err != nil {
		b.Fatalf("cannot build: %v\n%s", err, out)
	}
	take := filepath.Join(dir, "hour.wav")
	if out, err := exec.Command("tile", take, strconv.Itoa(hour)).CombinedOutput(); err != nil {
		b.Fatalf("cannot make the take: %v\n%s", err, out)
	}
	contenders := []struct {
		name string
		args []string
	}{
		{"loosedog measure --json", []string{program, "measure", take, "--quiet", "--json", filepath.Join(dir, "hour.json")}},
		{"aubioonset, defaults", []string{"aubioonset", take}},
	}
	for b.Loop() {
		for i, c := range contenders {
			if i > 0 {
				if _, err := exec.LookPath(c.args[0]); err != nil {
					fmt.Printf("%-24s is not installed\n", c.args[0])
					continue
				}
			}
			took, cpu, peak, err := watch(c.args)
			if err != nil {
				b.Fatal(err)
			}
			factor := hour / took.Seconds()
			fmt.Printf("%-24s %7.1f s, %6.0f times real time, processor %6.1f s, peak %4.0f MB\n",
				c.name, took.Seconds(), factor, cpu.Seconds(), peak)
			if i == 0 {
				b.ReportMetric(factor, "x-real-time")
				b.ReportMetric(peak, "peak-MB")
			}
		}
	}
}

// watch runs a program and gives its wall time, processor time and peak memory
// in MB (10^6 bytes).
func watch(args []string) (took, cpu time.Duration, peak float64, err error) {
	cmd := exec.Command(args[0], args[1:]...)
	start := time.Now()
	if err := cmd.Run(); err != nil {
		return 0, 0, 0, fmt.Errorf("%s: %w", args[0], err)
	}
	took = time.Since(start)
	use, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage)
	if !ok {
		return 0, 0, 0, errors.New("this system does not tell a program's peak memory")
	}
	cpu = cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	return took, cpu, float64(use.Maxrss) * 1024 / 1e6, nil // Linux counts in KiB
}

// tileMain is the program "tile FILE SECONDS": the demo's take over and over as
// a stereo file of 24 bits, the right channel quieter.
func tileMain() {
	if err := tile(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "tile:", err)
		os.Exit(1)
	}
}

func tile(args []string) error {
	if len(args) != 2 {
		return errors.New("usage: tile file seconds")
	}
	seconds, err := strconv.Atoi(args[1])
	if err != nil {
		return err
	}
	_, samples, rate, err := mechanism.Demo().Record()
	if err != nil {
		return err
	}
	f, err := os.Create(args[0])
	if err != nil {
		return err
	}
	defer f.Close()
	w := bufio.NewWriterSize(f, 1<<20)
	const frame = 6 // two channels of three bytes
	frames := seconds * int(rate)
	size := uint32(frames * frame)
	head := wavBytes(wavHeader{tag: 1, channels: 2, bits: 24, rate: uint32(rate), riffSize: 36 + size, dataSize: size}, nil)
	if _, err := w.Write(head); err != nil {
		return err
	}
	loop := &synth.Loop{Samples: samples, Rate: rate, Times: 1 + frames/len(samples)}
	block := make([]float64, 1<<14)
	var out []byte
	for left := frames; left > 0; {
		n, err := loop.Read(block)
		n = min(n, left)
		out = out[:0]
		for _, v := range block[:n] {
			out = append24(out, v)
			out = append24(out, 0.7*v)
		}
		if _, err := w.Write(out); err != nil {
			return err
		}
		left -= n
		if errors.Is(err, io.EOF) && left > 0 {
			return errors.New("the loop ended early")
		}
	}
	return errors.Join(w.Flush(), f.Close())
}

// append24 appends a sample, full scale 1, as 24 bits.
func append24(b []byte, v float64) []byte {
	var four [4]byte
	binary.LittleEndian.PutUint32(four[:], uint32(int32(v*(1<<23-1))))
	return append(b, four[:3]...)
}
