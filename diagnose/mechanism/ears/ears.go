// Package ears hears a simulated performance without sound: it turns the truth of
// [mechanism.Performance] into what a listener that errs would have reported, so
// that hundreds of takes can be judged in seconds. It is for tests and accuracy
// tables, and stands in for rendering a recording and detecting in it; what it
// gives is only as real as the errors it is told to make.
package ears

import (
	"math"
	"math/rand/v2"

	"loosedog/diagnose/mechanism"
	"loosedog/onset"
)

// Ears are how well a listener hears.
type Ears struct {
	// Jitter is the standard deviation in seconds of the time of each event.
	Jitter float64
	// Deaf is the share of trips, releases and landings that are not heard;
	// DeafToStrikes that of strikes, which take their stroke with them.
	Deaf, DeafToStrikes float64
	// Wrong is the share of releases and landings that are taken from something
	// else within 15 ms of them.
	Wrong float64
	// Misjudged is the share of missed spaces, and of shared releases, that are
	// taken for a carriage that was only not heard, and of strokes whose carriage
	// was not heard that are taken for missed spaces.
	Misjudged float64
	// FalseMissed is the share of spaces made that are taken for missed ones, and
	// FalseSkips that of landings after which a second one is heard that was none.
	FalseMissed, FalseSkips float64
	// Later is by how much in seconds sounds of the escapement come later than
	// those of the platen: where the microphone lies.
	Later float64
}

// Perfect hears everything.
func Perfect() Ears { return Ears{} }

// Draw gives the ears of an ordinary take: a jitter of 0.2 to 1 ms, 3 to 15 % of
// the events not heard, some wrong.
func Draw(seed uint64) Ears {
	r := rand.New(rand.NewPCG(seed, 0xea45))
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	return Ears{
		Jitter: between(0.0002, 0.001), Deaf: between(0.03, 0.15), DeafToStrikes: between(0, 0.006),
		Wrong: between(0, 0.02), Misjudged: between(0.02, 0.15),
	}
}

// Hear reports the performance as the ears take it. Equal arguments give equal
// takes.
func (e Ears) Hear(p *mechanism.Performance, seed uint64) *onset.Take {
	r := rand.New(rand.NewPCG(seed, 0x4ea4))
	faults := rand.New(rand.NewPCG(seed, 0x4ea5)) // apart, so that they change nothing else
	t := &onset.Take{SampleRate: 48000, Duration: p.Duration, Usable: true}
	t.Learnt.StrikeToNoise, t.Learnt.Pairs = 45, true
	mark := func(at, late float64, deaf float64) onset.Mark {
		off, lost := r.NormFloat64()*e.Jitter, r.Float64() < deaf
		if math.IsNaN(at) || lost {
			return unheard()
		}
		return onset.Mark{Time: at + late + off, Confidence: 0.6 + 0.4*r.Float64(), Level: -30}
	}
	stray := func(m onset.Mark) onset.Mark {
		by, wrong := 0.015*(2*r.Float64()-1), r.Float64() < e.Wrong
		if wrong && m.Heard() {
			m.Time += by
		}
		return m
	}
	for _, l := range p.Lines {
		line := onset.Line{First: len(t.Strokes), Bell: l.Bell, Return: l.ReturnStart}
		for _, k := range p.Strokes[l.First : l.First+l.Count] {
			s := onset.Stroke{
				Space: k.Space, Line: k.Line,
				Strike: mark(k.Strike, 0, 0), Trip: mark(k.Trip, e.Later, e.Deaf),
				Release: stray(mark(k.Release, e.Later, e.Deaf)), Landing: stray(mark(k.Landing, e.Later, e.Deaf)),
				Skip: mark(k.SkipLanding, e.Later, e.Deaf),
			}
			misjudged := r.Float64() < e.Misjudged
			switch {
			case k.Missed || k.Shared:
				s.Missed, s.Shared = k.Missed && !misjudged, k.Shared && !misjudged
			case !s.Release.Heard() && !s.Landing.Heard():
				s.Missed = misjudged
			}
			if !s.Landing.Heard() {
				s.Skip = unheard()
			}
			if s.Landing.Heard() {
				s.Landing.Level = loudness(&p.Machine, k) + 1.8*faults.NormFloat64()
			}
			noSpace, second := faults.Float64() < e.FalseMissed, faults.Float64() < e.FalseSkips
			switch {
			case k.Missed || k.Shared || s.Skip.Heard():
			case noSpace:
				s.Missed = true
				s.Release, s.Landing = unheard(), unheard()
			case second && s.Landing.Heard():
				s.Skip = s.Landing
				s.Skip.Time += k.Travel
			}
			if r.Float64() >= e.DeafToStrikes {
				t.Strokes = append(t.Strokes, s)
			}
		}
		if line.Count = len(t.Strokes) - line.First; line.Count > 0 {
			line.Start, line.End = t.Strokes[line.First].Strike.Time, t.Strokes[len(t.Strokes)-1].Strike.Time
		} else {
			line.Start, line.End = math.NaN(), math.NaN()
		}
		t.Lines = append(t.Lines, line)
	}
	return t
}

func unheard() onset.Mark { return onset.Mark{Time: math.NaN(), Level: math.NaN()} }

// loudness of a stroke's landing in dB: the carriage arrives at sqrt(2 pull p/m),
// and an odd tooth is louder.
func loudness(m *mechanism.Machine, k mechanism.Stroke) float64 {
	db := -30 + 10*math.Log10(m.Pull(k.Position)/m.Pull(0))
	for _, w := range m.Worn {
		if w.Tooth == k.Tooth {
			db += w.Louder
		}
	}
	return db
}
