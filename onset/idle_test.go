package onset

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// page is lines of strokes with the sounds that they own, for what comes after
// decoding.
type page struct {
	session
	m   model
	now float64 // s
	bar map[int]bool
}

func newPage() *page {
	p := &page{session: session{scan: &scan{}}, bar: map[int]bool{}}
	p.m = model{pairs: true, leadShare: 0.9, landing: family{n: 100}, travel: travelModel{a: 1 / (0.035 * 0.035)}}
	p.lines = []line{{}}
	return p
}

func (p *page) sound(t float64, odds float64) int {
	p.found = append(p.found, candidate{time: t})
	p.m.llr = append(p.m.llr, [5]float64{odds, -20, -20, -20, -20})
	return len(p.found) - 1
}

// letter strikes a gap after what came last; travel is its carriage's in s, 0 for a
// stroke of which nothing but the strike is heard.
func (p *page) letter(gap, travel float64) {
	p.now += gap
	st := stroke{strike: p.sound(p.now, 6), time: p.now, release: -1, landing: -1}
	if travel > 0 {
		p.bar[st.strike] = true
		st.release = p.sound(p.now+0.05, -20)
		st.landing = p.sound(p.now+0.05+travel, -20)
	}
	l := &p.lines[len(p.lines)-1]
	l.strokes = append(l.strokes, st)
}

func (p *page) endLine() {
	p.lines[len(p.lines)-1].carriage = span{p.now + 0.5, p.now + 1}
	p.now += 1.5
	p.lines = append(p.lines, line{})
}

func (p *page) tripped(i int) bool { return p.bar[i] }

// times are those of all strokes.
func (p *page) times() (out []float64) {
	for _, l := range p.lines {
		for _, st := range l.strokes {
			out = append(out, st.time)
		}
	}
	return out
}

// What moves nothing in a pause of the hand goes, alone and in bursts; a stroke of the
// same bareness in the hand's time stays.
func TestBareStrokesInPausesGo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		beat := rapid.Float64Range(0.12, 0.4).Draw(t, "beat")
		gap := func() float64 { return beat * math.Exp(0.2*clamp(r.NormFloat64(), -1.5, 1.5)) }
		p := newPage()
		var typed []float64
		letter := func(gap, travel float64) {
			p.letter(gap, travel)
			typed = append(typed, p.now)
		}
		for line := range 4 {
			if line > 0 {
				p.endLine()
			}
			for k := range 50 {
				switch {
				case k == 20:
					letter(beat, 0) // one whose own was not heard
				case k == 30: // a lever and its stop
					p.letter(4*beat, 0)
					p.letter(0.04, 0)
					letter(4*beat, 0.035)
				case k == 40: // three backspaces
					p.letter(3*beat, 0)
					for range 2 {
						p.letter(0.03, 0)
						p.letter(0.15, 0)
					}
					letter(3*beat, 0.035)
				default:
					letter(gap(), 0.035)
				}
			}
		}
		p.dropIdle(&p.m, p.tripped)
		if got := p.times(); !slices.Equal(got, typed) {
			for i, x := range typed {
				if !slices.Contains(got, x) {
					t.Logf("gone: stroke %d after %.3f s, %.3f s before the next", i, x-typed[i-1], typed[i+1]-x)
				}
			}
			t.Fatalf("beat %.3f s: %d strokes left of %d typed", beat, len(got), len(typed))
		}
		if p.passed != 4*7 {
			t.Fatalf("%d passed over, want 28", p.passed)
		}
	})
}

// Where the carriage was never learnt, or little was typed, nothing is taken out.
func TestNothingIsBareUnheard(t *testing.T) {
	for _, c := range []struct{ letters, landings int }{{200, 0}, {20, 100}} {
		p := newPage()
		p.m.landing.n = c.landings
		for range c.letters {
			p.letter(0.2, 0)
		}
		p.letter(1.5, 0)
		p.letter(1.5, 0.035)
		p.dropIdle(&p.m, p.tripped)
		if n := len(p.times()); n != c.letters+2 {
			t.Errorf("%d letters, %d landings: %d strokes left", c.letters, c.landings, n)
		}
	}
}

// A line in which nothing moves is none: whoever talks between two returns types no
// line.
func TestLineOfSpeechIsNone(t *testing.T) {
	p := newPage()
	for i := range 3 {
		for range 40 {
			p.letter(0.2, 0.035)
		}
		p.endLine()
		if i == 1 {
			for range 6 {
				p.letter(0.05, 0)
			}
			p.endLine()
		}
	}
	for range 40 {
		p.letter(0.2, 0.035)
	}
	end := p.lines[2].carriage.to
	p.dropIdle(&p.m, p.tripped)
	if len(p.lines) != 4 || p.lines[1].carriage.to != end {
		t.Errorf("%d lines, the second one's return ends at %.2f s, want 4 and %.2f", len(p.lines), p.lines[1].carriage.to, end)
	}
}

// typeLines types lines of n strokes whose travels grow from 33 ms by growth over 60
// spaces; where no return comes after a line they go on growing.
func typeLines(p *page, growth float64, r *rand.Rand, lines int, n int, returned func(int) bool) {
	position := 0
	for i := range lines {
		if i > 0 {
			p.endLine()
			if returned(i) {
				position = 0
			}
		}
		for range n {
			// 1/travel^2 falls evenly, as the pull does.
			a, b := 1/(0.033*0.033), 1/math.Pow(0.033*(1+growth), 2)
			p.letter(0.2, 1/math.Sqrt(a+(b-a)*float64(position)/60)+0.0005*r.NormFloat64())
			position++
		}
	}
}

// A line end after which travels go on growing is none.
func TestLinesJoinWhereTravelsGoOn(t *testing.T) {
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 7))
		p := newPage()
		typeLines(p, 0.15, r, 8, 30, func(i int) bool { return i != 3 })
		p.joinLines(&p.m)
		if len(p.lines) != 7 || len(p.lines[2].strokes) != 60 {
			t.Errorf("seed %d: %d lines, the third of %d strokes; want 7, 60", seed, len(p.lines), len(p.lines[2].strokes))
			continue
		}
		if last := p.lines[2].strokes[59].position; last != 59 {
			t.Errorf("seed %d: the last stroke of the joined line stands at %g, want 59", seed, last)
		}
	}
}

// Where the carriage returns each line stays, whether travels grow or not, and where
// the line begins with a run to a tab stop.
func TestLinesStayWhereTheCarriageReturns(t *testing.T) {
	for seed := range uint64(20) {
		for _, growth := range []float64{0, 0.02, 0.15, 0.5} {
			r := rand.New(rand.NewPCG(seed, 8))
			p := newPage()
			typeLines(p, growth, r, 6, 40, func(int) bool { return true })
			p.joinLines(&p.m)
			if len(p.lines) != 6 {
				t.Errorf("seed %d, growth %g: %d lines, want 6", seed, growth, len(p.lines))
			}
		}
	}
}
