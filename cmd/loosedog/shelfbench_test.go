package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"

	"loosedog/audio"
	"loosedog/diagnose/mechanism"
)

// pages are how many different pages the benchmark's takes are copies of.
const pages = 4

// BenchmarkShelf lets the program as it is built measure 100 and 500 takes of a
// page each, then look at the 500 once more: time a take, and peak memory. The takes
// are hard links to a few pages, made by a process of its own ("pages"), so that the
// peak that the system reports is the program's.
func BenchmarkShelf(b *testing.B) {
	dir := b.TempDir()
	program := filepath.Join(dir, "loosedog")
	if out, err := exec.Command("go", "build", "-buildvcs=false", "-o", program, ".").CombinedOutput(); err != nil {
		b.Fatalf("cannot build: %v\n%s", err, out)
	}
	if out, err := exec.Command("pages", dir).CombinedOutput(); err != nil {
		b.Fatalf("cannot make the pages: %v\n%s", err, out)
	}
	for b.Loop() {
		for _, n := range []int{100, 500} {
			shelf := filepath.Join(dir, fmt.Sprintf("shelf-of-%d", n))
			if err := linkTakes(dir, shelf, n); err != nil {
				b.Fatal(err)
			}
			for _, run := range []string{"first", "second"} {
				took, cpu, peak, err := watch(runtime.GOMAXPROCS(0), []string{program, "shelf", shelf, "--quiet"})
				if err != nil {
					b.Fatal(err)
				}
				fmt.Printf("%d takes of a page, %-6s look %7.2f s, %6.1f ms a take, processor %6.1f s, peak %4.0f MB\n",
					n, run, took.Seconds(), 1000*took.Seconds()/float64(n), cpu.Seconds(), peak)
				if n == 500 && run == "first" {
					b.ReportMetric(1000*took.Seconds()/float64(n), "ms/take")
					b.ReportMetric(peak, "peak-MB")
				}
			}
			if err := os.RemoveAll(shelf); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// linkTakes makes a shelf of ten machines whose takes are links to the pages.
func linkTakes(dir, shelf string, n int) error {
	for i := range n {
		at := filepath.Join(shelf, fmt.Sprintf("shelf-%d", i%10))
		if err := os.MkdirAll(at, 0o777); err != nil {
			return err
		}
		page := filepath.Join(dir, fmt.Sprintf("page-%d.wav", i%pages))
		if err := os.Link(page, filepath.Join(at, fmt.Sprintf("take %d.wav", i))); err != nil {
			return err
		}
	}
	return nil
}

// pagesMain is the program "pages FOLDER": some pages of the demo's machine.
func pagesMain() {
	if err := makePages(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "pages:", err)
		os.Exit(1)
	}
}

func makePages(args []string) error {
	if len(args) != 1 {
		return errors.New("usage: pages folder")
	}
	for i := range pages {
		scene := mechanism.Demo()
		scene.Seed += uint64(i)
		_, samples, rate, err := scene.Record()
		if err != nil {
			return err
		}
		if err := audio.WriteWAV(filepath.Join(args[0], fmt.Sprintf("page-%d.wav", i)), int(rate), 24, samples); err != nil {
			return err
		}
	}
	return nil
}
