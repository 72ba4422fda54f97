package audio

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Decoding and mixing at once gives what one after the other gives, to the bit.
func TestPairsDecodeAlike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := rapid.SampledFrom([]encoding{s16, s24}).Draw(t, "encoding")
		channel := rapid.SampledFrom([]int{0, 1, Sum}).Draw(t, "channel")
		frames := rapid.IntRange(0, 20).Draw(t, "frames")
		src := rapid.SliceOfN(rapid.Byte(), 2*frames*e.bytes(), -1).Draw(t, "src")
		both, want := make([]float64, 2*frames), make([]float64, frames)
		decode(both, src, e)
		mixDown(want, both, 2, channel)
		got := make([]float64, frames)
		if !decodePair(got, src, e, channel) {
			t.Fatal("refused")
		}
		if !slices.Equal(got, want) {
			t.Errorf("%v, want %v", got, want)
		}
	})
	for _, e := range []encoding{u8, s32, f32, f64} {
		if decodePair(nil, nil, e, 0) {
			t.Errorf("encoding %d is taken for one that it knows", e)
		}
	}
}
