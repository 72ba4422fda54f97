package onset

import (
	"context"
	"testing"
)

// benchRate in Hz and benchSeconds: the sound that the benchmarks of the scan's
// parts take, a minute of strikes and clicks.
const benchRate, benchSeconds = 48000, 60

func benchSound() []float64 {
	x := white(benchRate, benchSeconds, 1e-4, 80)
	bar(x, benchRate, 0.5, 0.15, 390)
	return x
}

// perSecond reports how many seconds of sound are worked on in one.
func perSecond(b *testing.B, seconds float64) {
	b.Helper()
	b.ReportMetric(seconds*float64(b.N)/b.Elapsed().Seconds(), "audio-s/s")
}

// BenchmarkScan makes one pass over the minute; the next three are its parts.
func BenchmarkScan(b *testing.B) {
	x := benchSound()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := scanTake(context.Background(), &playback{rate: benchRate, x: x}, 1e-10, nil); err != nil {
			b.Fatal(err)
		}
	}
	perSecond(b, benchSeconds)
}

// BenchmarkBank splits the minute into its bands.
func BenchmarkBank(b *testing.B) {
	x := benchSound()
	bank := newBank(benchRate)
	var y []float64
	var env [][maxBands]float64
	b.ReportAllocs()
	for b.Loop() {
		for rest := x; len(rest) > 0; {
			n := min(len(rest), 12*256) // whole hops
			y, env = bank.run(rest[:n], y[:0], env[:0])
			rest = rest[n:]
		}
	}
	perSecond(b, benchSeconds)
}

// BenchmarkTones looks for tones in the minute.
func BenchmarkTones(b *testing.B) {
	x := benchSound()
	seek := newToneSeeker(benchRate)
	var out []tone
	b.ReportAllocs()
	for b.Loop() {
		out = seek.feed(x, out[:0])
	}
	perSecond(b, benchSeconds)
}

// BenchmarkPick places one onset in 4.5 ms.
func BenchmarkPick(b *testing.B) {
	x := benchSound()
	at := int(0.5*benchRate) - 144
	b.ReportAllocs()
	for b.Loop() {
		aic(x[at:at+216], 1e-10)
	}
}
