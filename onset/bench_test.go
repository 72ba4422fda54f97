package onset_test

import (
	"context"
	"strings"
	"sync"
	"testing"

	"loosedog/audio/synth"
	"loosedog/diagnose/mechanism"
	"loosedog/onset"
)

// minute is about a minute of brisk typing.
var minute = sync.OnceValue(func() made {
	text := firstLines(strings.Repeat(mechanism.Shelf+"\n", 2), 6)
	return makeTake(new(testing.T), mechanism.Sound(), mechanism.Brisk(), text, 5, synth.Plain())
})

// benchmark hears the minute several times over as one take.
func benchmark(b *testing.B, times int) {
	m := minute()
	b.ReportAllocs()
	for b.Loop() {
		src := &synth.Loop{Samples: m.x, Rate: m.rate, Times: times}
		if _, err := onset.Detect(context.Background(), src, nil, onset.Options{}); err != nil {
			b.Fatal(err)
		}
	}
	heard := float64(len(m.x)*times) / m.rate * float64(b.N)
	b.ReportMetric(heard/b.Elapsed().Seconds(), "audio-s/s")
}

// BenchmarkDetect hears a minute of typing; audio-s/s is how many seconds of
// audio are heard in one.
func BenchmarkDetect(b *testing.B) { benchmark(b, 1) }

// BenchmarkDetectLong hears twenty minutes.
func BenchmarkDetectLong(b *testing.B) { benchmark(b, 20) }
