package ears

import (
	"math/rand/v2"

	"loosedog/diagnose/mechanism"
)

// Strokes are how well a listener tells strokes, their kinds and lines: what it
// takes to lay a take along a text.
type Strokes struct {
	// Missed is the share of strokes that are not heard, False how many more are
	// heard for each, 60 ms after it.
	Missed, False float64
	// SpaceAsType and TypeAsSpace are the shares taken for the other kind.
	SpaceAsType, TypeAsSpace float64
	// LostBreaks is the share of line breaks that are not heard.
	LostBreaks float64
}

// Stroke is one that was heard.
type Stroke struct {
	Space bool
	Time  float64 // s
	Line  int     // from 0
	// True is the stroke's index in the performance; -1 of a false one.
	True int
}

// Hear reports the strokes of a performance. Equal arguments give equal strokes.
func (e Strokes) Hear(p *mechanism.Performance, seed uint64) []Stroke {
	r := rand.New(rand.NewPCG(seed, 0x4ea6))
	var out []Stroke
	line := 0
	for i, k := range p.Strokes {
		if i > 0 && k.Line != p.Strokes[i-1].Line && r.Float64() >= e.LostBreaks {
			line++
		}
		if r.Float64() < e.Missed {
			continue
		}
		s := Stroke{Space: k.Space, Time: k.Strike, Line: line, True: i}
		wrong := e.TypeAsSpace
		if k.Space {
			wrong = e.SpaceAsType
		}
		if r.Float64() < wrong {
			s.Space = !s.Space
		}
		out = append(out, s)
		if r.Float64() < e.False {
			out = append(out, Stroke{Time: k.Strike + 0.06, Line: line, True: -1})
		}
	}
	return out
}
