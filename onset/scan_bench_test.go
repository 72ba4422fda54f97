package onset

import (
	"context"
	"testing"
)

// BenchmarkScan makes one pass over a minute of strikes and clicks; audio-s/s
// is how many seconds of audio are scanned in one.
func BenchmarkScan(b *testing.B) {
	const rate, seconds = 48000, 60
	x := white(rate, seconds, 1e-4, 80)
	bar(x, rate, 0.5, 0.15, 390)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := scanTake(context.Background(), &playback{rate: rate, x: x}, 1e-10, nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(seconds*float64(b.N)/b.Elapsed().Seconds(), "audio-s/s")
}
