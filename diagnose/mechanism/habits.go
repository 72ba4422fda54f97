package mechanism

import (
	"math/rand/v2"
	"unicode"

	"loosedog/audio/synth"
)

// Habits is what a hand does besides typing. Capitals in the text are shifted for
// whatever the habits are.
type Habits struct {
	// Backspaces is the share of letters that are struck wrong, seen, and typed over
	// after one backspace or, where the hand went on before it saw, up to four.
	Backspaces float64
	// Capitals is the share of words that begin with a capital.
	Capitals float64
	// Tabs is the share of lines that begin with a run to a tab stop, and of spaces
	// that are one instead.
	Tabs float64
	// Margins is the share of lines near whose end the margin release is pressed.
	Margins float64
	// Between is the share of line ends at which the paper bail is lifted or dropped,
	// or a tab stop set or cleared.
	Between float64
}

// What a hand does besides typing.
const (
	DidBackspace = "backspace"
	DidShift     = "shift"
	DidTab       = "tabulator"
	DidMargin    = "margin release"
	DidBail      = "paper bail"
	DidTabSet    = "tab set or cleared"
)

// Operation is one thing that the hand did besides typing.
type Operation struct {
	Kind string
	Line int // from 0; after it for what is done between lines
	// Start and End are its first and its last sound in s.
	Start, End float64
	// Spaces is by how many the carriage moved; negative is back.
	Spaces int
	Sounds []synth.Sound
}

func (o *Operation) truth() TruthNoise {
	n := TruthNoise{Kind: o.Kind, Line: o.Line, Start: o.Start, End: o.End, Spaces: o.Spaces}
	for _, s := range o.Sounds {
		if s.Duration > 0 {
			n.Lasts = &[2]float64{s.Time, s.Time + s.Duration}
		} else {
			n.At = append(n.At, s.Time)
		}
	}
	return n
}

// act is one stroke of a plan, and what is done before it.
type act struct {
	char   rune
	backs  int // backspaces
	tab    int // spaces to run to a tab stop, 0 for none
	margin bool
}

// besides does what the hand does besides typing, with a chance of its own: hands
// without habits type as they would without it.
//
// The orders of time and the parts that sound are common practice of the trade's
// machines, no published values were found: a backspacer's pawl turns the wheel (or
// pushes the rack) back by one tooth against the mainspring, the loose dog drops in
// behind it, and on many machines the carriage settles onto the dog when the key is
// let go; a shift lowers the basket or lifts the carriage onto a stop and drops it
// back; the tabulator holds the dogs out of the rack, so that the carriage runs
// under its brake to the stop, and lets the rack in again with the key.
type besides struct {
	Habits
	m    Machine
	r    *rand.Rand
	done []Operation

	// This machine's ways, in s: from the backspacer's key to its pawl, from that to
	// the dog's drop; of the shift from key to stop; pawl and stop differ by press.
	pawl, drop, stop float64
	settles          bool    // the carriage settles when the backspacer is let go
	run              float64 // m/s under the tab brake
}

func newBesides(h Habits, m Machine, seed uint64) *besides {
	r := rand.New(rand.NewPCG(seed, 4))
	return &besides{Habits: h, m: m, r: r,
		pawl: between(r, 0.006, 0.025), drop: between(r, 0.012, 0.050), stop: between(r, 0.015, 0.050),
		settles: r.IntN(2) == 0, run: between(r, 0.15, 0.8)}
}

// plan says how a line is typed: with errors and what mends them, capitals, runs to
// tab stops in place of some spaces.
func (b *besides) plan(line []rune) []act {
	acts := make([]act, 0, len(line))
	if b.Habits == (Habits{}) {
		for _, c := range line {
			acts = append(acts, act{char: c})
		}
		return acts
	}
	room := b.m.Columns - len(line) - 2
	tab := func(most int) int {
		if most = min(most, room); most < 3 || b.r.Float64() >= b.Tabs {
			return 0
		}
		n := 3 + b.r.IntN(most-2)
		room -= n
		return n
	}
	margin := -1
	if len(line) > 10 && b.r.Float64() < b.Margins {
		margin = len(line) - 1 - b.r.IntN(6)
	}
	pending := tab(10)
	for i, c := range line {
		if c == ' ' {
			if n := tab(25); n > 0 {
				pending += n
				continue
			}
		}
		if (i == 0 || line[i-1] == ' ') && b.r.Float64() < b.Capitals {
			c = unicode.ToUpper(c)
		}
		a := act{char: c, tab: pending, margin: i == margin}
		pending = 0
		if unicode.IsLetter(c) && a.tab == 0 && b.r.Float64() < b.Backspaces {
			// The wrong letter, what the hand goes on with before it sees, and back.
			wrong := []rune{'a' + rune(b.r.IntN(26))}
			for n := i + 1; n < len(line) && len(wrong) < 4 && b.r.IntN(2) == 0; n++ {
				wrong = append(wrong, line[n])
			}
			for _, w := range wrong {
				acts = append(acts, act{char: w})
			}
			a.backs = len(wrong)
		}
		acts = append(acts, a)
	}
	return acts
}

// before does what comes before a stroke that would strike at the time at, on a
// line; last is the stroke before it on that line. It returns when the stroke
// strikes then, and by how many spaces the carriage was moved.
func (b *besides) before(a act, line int, last *Stroke, at float64) (strike float64, moved int) {
	if a.backs > 0 || a.tab > 0 || a.margin {
		t := at
		if last != nil {
			// Seen, and the carriage at rest.
			t = max(last.Strike+between(b.r, 0.2, 0.7), last.BarBack+0.12)
		}
		if a.margin {
			t = b.press(DidMargin, line, t, synth.Margin) + between(b.r, 0.03, 0.2)
		}
		for range a.backs {
			t = b.backspace(line, t) + between(b.r, 0.03, 0.15)
		}
		if a.tab > 0 {
			t = b.tabulate(line, t, a.tab) + between(b.r, 0.03, 0.2)
		}
		at = max(at, t+between(b.r, 0.08, 0.3))
	}
	if unicode.IsUpper(a.char) {
		if last != nil {
			at = max(at, last.Strike+0.18) // the letter before is printed
		}
		at = max(at, b.until()+0.1)
		b.shift(line, at)
	} else {
		// Nothing is struck while the basket or the carriage still moves.
		at = max(at, b.until()+0.05)
	}
	return at, a.tab - a.backs
}

// until is when the last operation's last sound comes, in s.
func (b *besides) until() float64 {
	if n := len(b.done); n > 0 {
		return b.done[n-1].End
	}
	return 0
}

// after is the later of t and until.
func (b *besides) after(t float64) float64 { return max(t, b.until()) }

// do records an operation from its sounds, which are in order.
func (b *besides) do(kind string, line, spaces int, sounds ...synth.Sound) float64 {
	o := Operation{Kind: kind, Line: line, Spaces: spaces, Sounds: sounds, Start: sounds[0].Time}
	for _, s := range sounds {
		o.End = max(o.End, s.Time+s.Duration)
	}
	b.done = append(b.done, o)
	return o.End
}

// sound at a time, about as strong as usual give or take spread dB.
func (b *besides) sound(kind synth.Kind, at, spread float64) synth.Sound {
	return synth.Sound{Kind: kind, Time: at, Strength: spread * b.r.NormFloat64()}
}

// near is about as long as usual, in s.
func (b *besides) near(usual float64) float64 { return usual * between(b.r, 0.85, 1.15) }

func (b *besides) backspace(line int, t float64) float64 {
	pawl := t + b.near(b.pawl)
	drop := pawl + b.near(b.drop)
	up := drop + between(b.r, 0.03, 0.1)
	sounds := []synth.Sound{b.sound(synth.Backspace, t, 3), b.sound(synth.Pawl, pawl, 3), b.sound(synth.Pawl, drop, 2)}
	if b.settles {
		s := b.sound(synth.Pawl, up, 2)
		s.Strength -= 4
		sounds = append(sounds, s)
	}
	return b.do(DidBackspace, line, -1, append(sounds, b.sound(synth.KeyUp, up+between(b.r, 0.02, 0.06), 3))...)
}

func (b *besides) shift(line int, strike float64) {
	down := strike - between(b.r, 0.05, 0.11)
	up := strike + between(b.r, 0.06, 0.16)
	b.do(DidShift, line, 0, b.sound(synth.Lever, down-b.near(b.stop), 3), b.sound(synth.Shift, down, 2), b.sound(synth.ShiftUp, up, 2))
}

func (b *besides) tabulate(line int, t float64, spaces int) float64 {
	from := t + between(b.r, 0.02, 0.05)
	run := b.sound(synth.Tabulator, from, 2)
	run.Duration = 0.02 + float64(spaces)*b.m.Pitch/b.near(b.run)
	stop := b.sound(synth.TabStop, from+run.Duration, 2)
	in := b.sound(synth.Pawl, stop.Time+between(b.r, 0.04, 0.15), 2)
	return b.do(DidTab, line, spaces, b.sound(synth.Margin, t, 3), run, stop, in, b.sound(synth.KeyUp, in.Time+between(b.r, 0.02, 0.06), 3))
}

// press is a lever pressed and let go.
func (b *besides) press(what string, line int, t float64, kind synth.Kind) float64 {
	return b.do(what, line, 0, b.sound(kind, t, 3), b.sound(kind, t+between(b.r, 0.02, 0.06), 3), b.sound(kind, t+between(b.r, 0.12, 0.4), 3))
}

// betweenLines does what comes after a carriage return that ended at returned,
// before the next line's first strike at start, which may be put off.
func (b *besides) betweenLines(line int, returned, start float64) float64 {
	if b.r.Float64() >= b.Between {
		return start
	}
	t := returned + between(b.r, 0.25, 0.6)
	if b.r.IntN(2) == 0 {
		t = b.press(DidTabSet, line, t, synth.Margin)
	} else {
		t = b.do(DidBail, line, 0, b.sound(synth.Bail, t, 4), b.sound(synth.Bail, t+between(b.r, 0.05, 0.4), 4))
	}
	return max(start, t+between(b.r, 0.25, 0.6))
}
