package main

import (
	"bufio"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"syscall"
	"testing"
	"time"

	"loosedog/audio"
	"loosedog/audio/synth"
	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/report"
)

// hour is the length of the long take in seconds.
const hour = 3600

// BenchmarkHour measures an hour at 48 kHz, stereo, 24 bit with the program as
// it is built, on one core, and prints what of real time it takes and its peak
// memory; aubioonset with its defaults does the same file in the same run. Run it
// by make bench.
//
// The take is made by a process of its own ("tile"): the peak that the system
// reports for a child is never below that of the process that starts it, so
// this one stays small, and nothing that grows may run before.
func BenchmarkHour(b *testing.B) {
	dir := b.TempDir()
	program := filepath.Join(dir, "loosedog")
	if out, err := exec.Command("go", "build", "-buildvcs=false", "-o", program, ".").CombinedOutput(); err != nil {
		b.Fatalf("cannot build: %v\n%s", err, out)
	}
	take := tiled(b, dir, hour)
	contenders := []struct {
		name string
		args []string
	}{
		{"loosedog measure --json", []string{program, "measure", take, "--quiet", "--json", filepath.Join(dir, "hour.json")}},
		{"aubioonset, defaults", []string{"aubioonset", take}},
	}
	for b.Loop() {
		var busy []time.Duration
		fmt.Printf("\n%-24s %11s %11s %15s %9s\n", "an hour of stereo", "elapsed", "processor", "times real time", "peak")
		for i, c := range contenders {
			if i > 0 {
				if _, err := exec.LookPath(c.args[0]); err != nil {
					fmt.Printf("%-24s is not installed\n", c.args[0])
					continue
				}
			}
			took, cpu, peak, err := watch(1, c.args)
			if err != nil {
				b.Fatal(err)
			}
			// By the processor's time: what else runs on the machine counts less.
			factor := hour / cpu.Seconds()
			fmt.Printf("%-24s %9.1f s %9.1f s %15.0f %6.0f MB\n", c.name, took.Seconds(), cpu.Seconds(), factor, peak)
			busy = append(busy, cpu)
			if i == 0 {
				b.ReportMetric(factor, "x-real-time")
				b.ReportMetric(peak, "peak-MB")
			}
		}
		if len(busy) == 2 {
			fmt.Printf("loosedog takes %.2f of aubioonset's processor time\n", busy[0].Seconds()/busy[1].Seconds())
			b.ReportMetric(busy[0].Seconds()/busy[1].Seconds(), "of-aubioonset")
		}
	}
}

// tiled makes a take of so many seconds in dir and returns its path.
func tiled(b *testing.B, dir string, seconds int) string {
	b.Helper()
	take := filepath.Join(dir, fmt.Sprintf("%d.wav", seconds))
	if out, err := exec.Command("tile", take, strconv.Itoa(seconds)).CombinedOutput(); err != nil {
		b.Fatalf("cannot make the take: %v\n%s", err, out)
	}
	return take
}

// BenchmarkStages takes a take through each stage of measuring, as long ones and
// shorter ones: what a second of sound costs stays the same. (Learning is bounded,
// so that a longer take costs less there.)
func BenchmarkStages(b *testing.B) {
	dir := b.TempDir()
	ctx := context.Background()
	for _, minutes := range []int{5, 20} {
		path := tiled(b, dir, 60*minutes)
		q, err := audio.Survey(ctx, path, nil)
		if err != nil {
			b.Fatal(err)
		}
		quiet := newProgress(io.Discard, true)
		sounds, err := detect(ctx, quiet, path, q)
		if err != nil {
			b.Fatal(err)
		}
		opt := diagnose.Options{Pitch: 10, Action: diagnose.FullSpace}
		take := diagnose.Measure(path, sounds, q, opt)
		for _, stage := range []struct {
			name string
			run  func() error
		}{
			{"survey", func() error { _, err := audio.Survey(ctx, path, nil); return err }},
			{"hear", func() error { _, err := detect(ctx, quiet, path, q); return err }},
			{"figures", func() error { diagnose.Measure(path, sounds, q, opt); return nil }},
			{"json", func() error { return report.JSON(io.Discard, take) }},
			{"all", func() error { return new(heard).listen(ctx, quiet, path, opt, false) }},
		} {
			b.Run(fmt.Sprintf("%s/%dmin", stage.name, minutes), func(b *testing.B) {
				var before, after runtime.MemStats
				runtime.ReadMemStats(&before)
				start := busy()
				for b.Loop() {
					if err := stage.run(); err != nil {
						b.Fatal(err)
					}
				}
				took := busy() - start
				runtime.ReadMemStats(&after)
				second := float64(60*minutes) * float64(b.N)
				b.ReportMetric(0, "ns/op")
				b.ReportMetric(float64(took.Microseconds())/second, "us/s-of-sound")
				b.ReportMetric(float64(after.Mallocs-before.Mallocs)/second, "allocs/s-of-sound")
				b.ReportMetric(float64(after.TotalAlloc-before.TotalAlloc)/second/1e3, "kB/s-of-sound")
			})
		}
	}
}

// busy is the processor time of this process; 0 where the system does not tell.
func busy() time.Duration {
	var use syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &use) != nil {
		return 0
	}
	return time.Duration(use.Utime.Nano() + use.Stime.Nano())
}

// watch runs a program on so many cores and gives its wall time, processor time
// and peak memory in MB (10^6 bytes).
func watch(cores int, args []string) (took, cpu time.Duration, peak float64, err error) {
	cmd := exec.Command(args[0], args[1:]...)
	cmd.Env = append(os.Environ(), fmt.Sprintf("GOMAXPROCS=%d", cores))
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
