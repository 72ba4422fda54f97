package onset

import (
	"context"
	"testing"

	"loosedog/audio"
)

// Of loud sounds that are cut off it cannot be said that they are no typing; the
// survey's word on them stands alone.
func TestWhatIsCutOffIsNotCalledNoTyping(t *testing.T) {
	const rate = 16000
	x := white(rate, 20, 1e-3, 31)
	for at := 0.2; at < 19.6; at += 0.3 {
		burst(x, rate, at, 0.5, 0.2, uint64(at*1000))
	}
	for i, v := range x {
		x[i] = max(-0.5, min(0.5, v))
	}
	heard := func(q *audio.Quality) *Take {
		take, err := Detect(context.Background(), &playback{rate: rate, x: x}, q, Options{})
		if err != nil {
			t.Fatal(err)
		}
		return take
	}
	if take := heard(nil); take.Usable || len(take.Problems) != 1 || take.Problems[0].Code != "no-typing" {
		t.Fatalf("without a survey: usable %v, %v", take.Usable, take.Problems)
	}
	q := &audio.Quality{Peak: -6, Problems: []audio.Problem{{Code: "clipped", Text: "cut off"}}}
	if take := heard(q); take.Usable || len(take.Problems) != 0 || len(take.Strokes) != 0 {
		t.Errorf("clipped: usable %v, %d strokes, %v", take.Usable, len(take.Strokes), take.Problems)
	}
}
