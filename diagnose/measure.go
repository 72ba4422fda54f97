package diagnose

import (
	"math"
	"slices"

	"loosedog/audio"
	"loosedog/onset"
)

// Measure works out everything about a take from its events. path is the
// recording's name as the user gave it. q may be nil when nothing is known of
// the recording's quality, heard when nothing was heard; the take is then not
// usable. Of a take that is not usable the strokes are those that are sure, and
// every figure of the summary is unknown.
//
// Findings and Answer are those of the fault rules ([findCauses]).
func Measure(path string, heard *onset.Take, q *audio.Quality, opt Options) *Take {
	if heard == nil {
		heard = &onset.Take{SampleRate: math.NaN(), Duration: math.NaN(), Learnt: onset.Learnt{StrikeToNoise: math.NaN(), NoiseLevel: math.NaN()}}
	}
	if opt.Action == "" {
		opt.Action = FullSpace
	}
	if opt.Pitch <= 0 {
		opt.Pitch = Pica
	}
	heard, byHand, leftOut := correct(heard, opt.Corrections)
	t := &Take{
		Schema:      Schema,
		Recording:   recording(path, heard, q),
		Strokes:     make([]Stroke, len(heard.Strokes)),
		Corrections: opt.Corrections,
	}
	t.Recording.Problems = addProblems(t.Recording.Problems, leftOut...)
	for i, h := range heard.Strokes {
		t.Strokes[i] = timed(i, h, opt.Action)
		if byHand != nil {
			t.Strokes[i].Corrected = byHand[i]
		}
	}
	for i := 1; i < len(t.Strokes); i++ {
		if t.Strokes[i].Line == t.Strokes[i-1].Line {
			t.Strokes[i-1].space(t.Strokes[i].StrikeS)
		}
	}
	all, travel := moves(t.Strokes, heard.Strokes, opt.Action)
	setSpacing(t.Strokes, all, travel, opt.Action)
	t.Lines = lines(heard.Lines)
	t.Learnt = learnt(&heard.Learnt)
	t.Recording.Problems = append(t.Recording.Problems, summarise(t)...)
	if t.Recording.Usable {
		if p, doubt := doubtAction(heard, t.Strokes, opt.Action); doubt {
			t.Recording.Problems = append(t.Recording.Problems, p)
		}
	}
	setText(t, opt)
	t.PageCount = pageCount(t, opt.PageCount)
	findCauses(t, heard, opt)
	return t
}

// recording says what was measured.
func recording(path string, heard *onset.Take, q *audio.Quality) Recording {
	r := Recording{
		Path:            path,
		SampleRateHz:    whole(heard.SampleRate),
		DurationS:       finite(heard.Duration),
		Usable:          heard.Usable,
		Problems:        []audio.Problem{},
		StrikeToNoiseDB: Number(heard.Learnt.StrikeToNoise),
		ClippedShare:    Unknown(),
	}
	if heard.Learnt.Strike.Level.N == 0 && heard.Learnt.StrikeToNoise == 0 {
		r.StrikeToNoiseDB = Unknown() // nothing was learnt
	}
	if q != nil {
		r.Channels = q.Format.Channels
		r.ClippedShare = Number(q.ClippedShare)
		if q.Format.SampleRate > 0 {
			r.SampleRateHz = q.Format.SampleRate
		}
		if q.Duration > 0 {
			r.DurationS = finite(q.Duration)
		}
		r.Problems = addProblems(r.Problems, q.Problems...)
	}
	r.Problems = addProblems(r.Problems, heard.Problems...)
	if thin := heard.Learnt.Thin; thin != "" {
		r.Problems = addProblems(r.Problems, audio.Problem{Code: "thin-take", Text: thin})
	}
	return r
}

// addProblems appends those whose text is not said yet.
func addProblems(to []audio.Problem, more ...audio.Problem) []audio.Problem {
	for _, p := range more {
		if !slices.ContainsFunc(to, func(have audio.Problem) bool { return have.Text == p.Text }) {
			to = append(to, p)
		}
	}
	return to
}

func lines(heard []onset.Line) []Line {
	all := make([]Line, len(heard))
	for i, l := range heard {
		all[i] = Line{
			Line:    i,
			StartS:  Number(l.Start),
			EndS:    Number(l.End),
			Strokes: l.Count,
			BellS:   Number(l.Bell),
			ReturnS: Number(l.Return),
		}
	}
	return all
}

// finite is f, or 0 where f is no number that JSON has.
func finite(f float64) float64 {
	if math.IsNaN(f) || math.IsInf(f, 0) {
		return 0
	}
	return f
}

func whole(f float64) int { return int(math.Round(finite(f))) }
