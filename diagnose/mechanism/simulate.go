package mechanism

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
)

// Simulate types the text (lines apart by \n) and gives all that happened. Equal
// arguments give equal performances. It refuses a machine that cannot move and a
// text without a character.
func Simulate(m Machine, h Hand, text string, seed uint64) (*Performance, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	if !(h.Rate > 0) || !(h.Speed > 0) {
		return nil, errors.New("a hand needs a rate and a type-bar speed above zero")
	}
	var lines [][]rune
	for _, l := range strings.Split(strings.Trim(text, "\n"), "\n") {
		if l = strings.TrimRight(l, " \r\t"); l != "" {
			lines = append(lines, []rune(l))
		}
	}
	if len(lines) == 0 {
		return nil, errors.New("the text to type is empty")
	}
	s := &simulation{
		m: m, hand: newTouch(h, lines, rand.New(rand.NewPCG(seed, 1))),
		r:       rand.New(rand.NewPCG(seed, 2)), // the machine's own chance
		besides: newBesides(h.Habits, m, seed),
	}
	p := &Performance{Name: m.Name, Machine: m, Hand: h, Seed: seed, Text: text}
	t := 1 + 0.4*s.r.Float64()
	for i, line := range lines {
		strokes := s.strike(s.besides.plan(line), i, t)
		s.work(strokes)
		end := s.lineEnd(strokes, len(p.Strokes), i == len(lines)-1)
		p.Strokes = append(p.Strokes, strokes...)
		p.Lines = append(p.Lines, end)
		if happened(end.ReturnEnd) {
			t = end.ReturnEnd + s.hand.LinePause*math.Exp(0.3*s.r.NormFloat64()) + 0.05
			t = s.besides.betweenLines(i, end.ReturnEnd, t)
		}
	}
	p.Operations = s.besides.done
	for _, o := range p.Operations {
		p.Duration = max(p.Duration, o.End)
	}
	for i := range p.Strokes {
		for _, at := range []float64{p.Strokes[i].Landing, p.Strokes[i].SkipLanding, p.Strokes[i].KeyUp} {
			if happened(at) {
				p.Duration = max(p.Duration, at)
			}
		}
	}
	if last := p.Lines[len(p.Lines)-1].ReturnEnd; happened(last) {
		p.Duration = max(p.Duration, last)
	}
	p.Duration++
	return p, nil
}

// check refuses machines that are none.
func (m *Machine) check() error {
	for _, v := range []struct {
		what  string
		value float64
	}{{"pitch", m.Pitch}, {"mass", m.Mass}, {"trip distance", m.TripDistance}, {"return speed", m.ReturnSpeed}, {"space-bar lead", m.SpaceLead}} {
		if !(v.value > 0) || math.IsInf(v.value, 0) {
			return fmt.Errorf("machine %q: %s is %g, it must be above zero", m.Name, v.what, v.value)
		}
	}
	switch m.Action {
	case FullSpace, HalfSpace, DownStroke:
	default:
		return fmt.Errorf("machine %q: unknown action %q", m.Name, m.Action)
	}
	return nil
}

// simulation is the state from line to line.
type simulation struct {
	m       Machine
	hand    *touch
	r       *rand.Rand
	spaces  int // made since the start: the wheel's tooth
	besides *besides
}

// normal draws around mean with a relative spread, within 3 spreads.
func (s *simulation) normal(mean, spread float64) float64 {
	return mean * (1 + spread*min(max(s.r.NormFloat64(), -3), 3))
}

// strike lets the hand type a line: all of each stroke that does not depend on
// the carriage. The first strike comes at start.
func (s *simulation) strike(line []act, number int, start float64) []Stroke {
	m := &s.m
	strokes := make([]Stroke, 0, len(line))
	at := start
	for i, a := range line {
		c := a.char
		k := Stroke{
			Char: c, Space: c == ' ', Line: number, Col: i, Key: place(c), Tooth: -1,
			Release: none(), Start: none(), HalfLanding: none(), Landing: none(), SkipLanding: none(),
			Travel: none(), ShortBy: none(), Label: Clear,
		}
		if i > 0 {
			gap, burst := s.hand.interval(line[i-1].char, c)
			k.Burst = burst
			at += gap
			if line[i-1].char == c {
				// The same key cannot come again before it has come up.
				p := &strokes[i-1]
				at = max(at, p.BarBack+0.035)
			}
		}
		at, k.Moved = s.besides.before(a, number, previous(strokes, i), at)
		k.Strike = at
		k.Speed = s.hand.speed()
		hold := s.hand.hold(k.Burst)
		k.Flicked = hold == 0
		if k.Space {
			k.Trip = at - s.normal(m.SpaceLead, 0.07)
			k.BarBack = at + hold + s.normal(m.SpaceReturn, 0.08)
		} else {
			slow := m.slow(c)
			k.Speed *= 1 - min(max(slow.Slower, 0), 0.9)
			distance := m.trip(k.Key)
			k.Trip = at - distance/k.Speed
			back := s.normal(distance/m.ReturnSpeed, m.ReturnSpread) + slow.Latency
			if m.Release == OnRebound {
				k.BarBack = at + back
			} else {
				k.BarBack = at + hold + back
			}
		}
		k.Lever = min(at-s.normal(m.LeverLead, 0.12), k.Trip-0.002)
		k.Linkage = k.Trip - 0.001 - 0.009*s.r.Float64()
		k.BarRest = k.BarBack + s.normal(m.BarFall, 0.08)
		k.KeyUp = max(k.BarBack, at+hold) + s.normal(m.KeyReturn, 0.12)
		strokes = append(strokes, k)
	}
	return strokes
}

// leg is one move of the carriage: share of a space from rest.
type leg struct{ start, travel, share float64 }

func (l leg) end() float64 { return l.start + l.travel }

// moved is the share of a space covered at time t.
func (l leg) moved(t float64) float64 {
	u := min(max((t-l.start)/l.travel, 0), 1)
	return l.share * u * u
}

// work lets the machine follow one line's strokes.
func (s *simulation) work(strokes []Stroke) {
	var legs []leg
	position := 0
	for i := 0; i < len(strokes); {
		first := i
		position += strokes[i].Moved
		trip, back := strokes[i].Trip, s.letGo(&strokes[i])
		// A bar that trips before the escapement has let go finds the universal bar
		// thrown already: one trip, one release for all of them.
		for i++; i < len(strokes) && strokes[i].Trip < back && strokes[i].Moved == 0; i++ {
			back = max(back, s.letGo(&strokes[i]))
		}
		group := strokes[first:i]
		owner := len(group) - 1
		if s.m.Action == DownStroke {
			owner = 0
		}
		brief := back-trip < s.m.DogTime && s.m.Action != DownStroke
		before := len(legs)
		made := 0
		if !brief {
			legs, made = s.space(legs, &group[owner], position, trip, back)
		}
		for j := range group {
			k := &group[j]
			k.Missed = brief
			k.Shared = !brief && j != owner
			k.Position = position
			earlier := legs[:before]
			if j > 0 && s.m.Action == DownStroke {
				k.Position, earlier = position+made, legs
			}
			if k.Moved == 0 {
				label(k, previous(strokes, first+j), earlier)
			}
		}
		position += made
	}
}

func previous(strokes []Stroke, i int) *Stroke {
	if i == 0 {
		return nil
	}
	return &strokes[i-1]
}

// letGo is when a stroke's bar would let the rocker go: BarBack, later with a
// sluggish rocker.
func (s *simulation) letGo(k *Stroke) float64 {
	delay := s.m.DogDelay
	if delay <= 0 {
		return k.BarBack
	}
	if s.m.WarmUp > 0 {
		delay *= math.Exp(-k.Strike / s.m.WarmUp)
	}
	return k.BarBack + delay*s.r.ExpFloat64()
}

// space moves the carriage for a stroke and says how many spaces it made.
func (s *simulation) space(legs []leg, k *Stroke, position int, trip, release float64) ([]leg, int) {
	free := math.Inf(-1)
	if len(legs) > 0 {
		free = legs[len(legs)-1].end()
	}
	k.Release = release
	share, start := 1.0, release
	switch s.m.Action {
	case DownStroke:
		start = trip
	case HalfSpace:
		share = 0.5
		half := leg{max(trip, free), s.travel(position, share), share}
		legs = append(legs, half)
		k.HalfLanding, free = half.end(), half.end()
	}
	s.spaces++
	made := 1
	move := leg{max(start, free), s.travel(position, share) + s.worn(), share}
	legs = append(legs, move)
	k.Start, k.Travel, k.Landing = move.start, move.travel, move.end()
	k.Tooth = s.tooth()
	if s.skips(position + 1) {
		s.spaces++
		made++
		again := leg{move.end(), s.travel(position+1, 1) + s.worn(), 1}
		legs = append(legs, again)
		k.SkipLanding = again.end()
	}
	return legs, made
}

func (s *simulation) travel(position int, share float64) float64 {
	return s.normal(s.m.Travel(position, share), s.m.Uneven)
}

// tooth that the latest space brought to the dog. The wheel turns one way only
// (a ratchet lets the carriage return), so it counts on over line ends.
func (s *simulation) tooth() int { return s.spaces % max(s.m.Teeth, 1) }

// worn is the extra time of a travel that ends on a worn tooth.
func (s *simulation) worn() float64 {
	extra := 0.0
	for _, w := range s.m.Worn {
		if w.Tooth == s.tooth() {
			extra += max(w.Extra, 0)
		}
	}
	return extra
}

// skips tells whether the dog does not hold at a landing.
func (s *simulation) skips(position int) bool {
	share := s.m.SkipShare
	for _, c := range s.m.Chips {
		if c.Position == position {
			share = max(share, c.Share)
		}
	}
	return share > 0 && s.r.Float64() < share
}

// label says where a letter stands against the one before it; legs are the
// carriage's moves of earlier strokes.
func label(k, before *Stroke, legs []leg) {
	switch {
	case before == nil:
		return
	case before.Missed || before.Shared:
		k.Label = Piled
		return
	}
	short := 0.0
	for _, l := range legs[max(0, len(legs)-6):] {
		short += l.share - l.moved(k.Strike)
	}
	switch {
	case short >= 1:
		k.Label = Piled
	case short > 0:
		k.Label, k.ShortBy = Crowded, short
	}
}

// lineEnd rings the bell and returns the carriage (not after the last line).
func (s *simulation) lineEnd(strokes []Stroke, first int, last bool) Line {
	l := Line{First: first, Count: len(strokes), Bell: none(), ReturnStart: none(), ReturnEnd: none()}
	quiet := 0.0
	for i := range strokes {
		k := &strokes[i]
		arrived, at := k.Position+1, k.Landing
		if happened(k.SkipLanding) {
			arrived, at = k.Position+2, k.SkipLanding
		}
		if happened(at) {
			if arrived >= s.m.BellAt && !happened(l.Bell) && s.m.BellAt > 0 {
				l.Bell = at + 0.002
			}
			quiet = max(quiet, at)
		}
		quiet = max(quiet, k.KeyUp)
	}
	quiet = s.besides.after(quiet)
	if !last {
		l.ReturnStart = quiet + s.hand.LinePause*math.Exp(0.25*s.r.NormFloat64())
		l.ReturnEnd = l.ReturnStart + 0.35 + 0.5*s.r.Float64()
	}
	return l
}
