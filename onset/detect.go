package onset

import (
	"context"
	"math"
	"slices"

	"loosedog/audio"
)

// Options of Detect.
type Options struct {
	// Progress, when not nil, is told now and then how many samples have been read
	// so far.
	Progress func(samples int64)
	// Open keeps what was decoded of a take that is called unusable, for those who
	// measure what refusing is worth: its strokes are no more sure than Problems say.
	Open bool
}

// Detect reads a take and labels what is heard in it. Of q, what the survey of
// the same signal found, it takes the peak and whether it is clipped; q may be
// nil. The error is that of src or of ctx: a take in which nothing can be measured
// is no error but has Usable false.
func Detect(ctx context.Context, src Source, q *audio.Quality, opt Options) (*Take, error) {
	floor := 1e-10
	if q != nil && !math.IsNaN(q.Peak) && !math.IsInf(q.Peak, 0) {
		// 90 dB under the peak nothing can be told from silence.
		floor = math.Pow(10, (q.Peak-90)/10)
	}
	s, err := scanTake(ctx, src, floor, opt.Progress)
	if err != nil {
		return nil, err
	}
	t := &Take{SampleRate: s.rate, Duration: s.end(), Learnt: learntNothing()}
	found, strike := s.strikes()
	doubt, typed := s.typing(found, strike)
	if !typed && len(found) < fewestStrikes {
		t.Problems = append(t.Problems, doubt)
		return t, nil
	}
	e := layOut(s, found, strike)
	m := e.settle(strike)
	if m.thump.n > m.strike.n {
		// The space bar may be the louder of the two kinds.
		if e2, m2 := e.turned(&m); m2.thump.n <= m2.strike.n {
			e, m = e2, m2
		}
	}
	sure := typed || e.proves(&m)
	switch {
	case typed || clipped(q):
		// Strikes that are cut off at a ceiling last and stand out little, as speech
		// does. Which of the two is heard cannot be told, and what the survey says of
		// the ceiling is what to change.
	case sure:
		t.Problems = append(t.Problems, blurred)
	default:
		t.Problems = append(t.Problems, doubt)
	}
	if !sure && !opt.Open {
		return t, nil
	}
	e.assemble(&m, t)
	e.judge(&m, t, opt.Open)
	t.Usable = t.Usable && sure
	return t, nil
}

// clipped tells whether the survey found the loud parts cut off.
func clipped(q *audio.Quality) bool {
	return q != nil && slices.ContainsFunc(q.Problems, func(p audio.Problem) bool { return p.Code == "clipped" })
}
