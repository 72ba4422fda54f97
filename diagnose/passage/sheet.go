package passage

import (
	"fmt"
	"math/bits"
	"strings"
)

// Widths that the sheet can be laid out to, in characters, and the usual one.
const (
	NarrowestWidth = 45
	WidestWidth    = 72
	UsualWidth     = 60
)

// Part is a few lines of the sheet that are typed in one way.
type Part struct {
	// Name says what the lines are, How how they are typed; empty: as those before.
	Name, How string
	// Pace is how fast they are typed against the ordinary lines.
	Pace float64
	// Lines to type.
	Lines []string
}

// Sheet is the test sheet: what is typed, and how.
type Sheet struct {
	// Width is the length of a full line in characters, Pitch how many of them go
	// to the inch.
	Width, Pitch int
	Parts        []Part
}

// NewSheet lays the sheet out to a width from [NarrowestWidth] to [WidestWidth]
// characters of 10 or 12 to the inch.
func NewSheet(width, pitch int) (*Sheet, error) {
	if width < NarrowestWidth || width > WidestWidth {
		return nil, fmt.Errorf("a line of %d letters cannot be had; from %d to %d can", width, NarrowestWidth, WidestWidth)
	}
	if pitch != 10 && pitch != 12 {
		return nil, fmt.Errorf("a pitch of %d is not known", pitch)
	}
	s := &Sheet{Width: width, Pitch: pitch}
	add := func(name, how string, pace float64, lines ...string) {
		s.Parts = append(s.Parts, Part{name, how, pace, lines})
	}
	add("ordinary text", "at the pace at which the trouble shows, down to the slow line", 1, fill(width, 3, ordinary, colours)...)
	add("the hands in turn", "", 1, fill(width, 1, nil, opposite)...)
	add("bars from both ends", "", 1, fill(width, 1, nil, ends)...)
	add("one finger, two keys", "", 1, fill(width, 1, nil, oneFingered)...)
	add("one key twice", "", 1, fill(width, 1, nil, doubled)...)
	add("the rare letters", "", 1)
	add("slow", "one stroke, then the next; hold every key down for a moment", 0.5, fill(width, 1, slowly, plain)...)
	add("brisk", "as fast as your hand goes without stumbling", 1.5, fill(width, 1, briskly, plain)...)
	add("staccato", "no faster than the first lines, but flicked: the finger off the key at once", 1, fill(width, 1, staccato, plain)...)
	add("the space bar", "every gap is five strokes of the space bar", 1, runs(width, spaceRun, apart))
	others := s.Lines()
	for i := range s.Parts {
		if s.Parts[i].Lines == nil {
			s.Parts[i].Lines = rareLines(width, others)
		}
	}
	return s, nil
}

// spaceRun is how many spaces stand together in the space-bar line.
const spaceRun = 5

// rareLines are three lines of the rare letters, each beginning at another word:
// those furthest apart with which, together with the other lines, every letter
// stands in each third of a line somewhere.
func rareLines(width int, others []string) []string {
	lines := make([]string, len(rare))
	at := make([]thirds, len(rare))
	for from := range rare {
		pool := append(append([]string(nil), rare[from:]...), rare[:from]...)
		lines[from] = fill(width, 1, nil, pool)[0]
		at[from].add(lines[from], width)
	}
	var have thirds
	for _, l := range others {
		have.add(l, width)
	}
	best, most, far := lines[:3], -1, 0
	for i := range lines {
		for j := range i {
			for k := range j {
				n := have.with(at[i]).with(at[j]).with(at[k]).count()
				apart := min(i-j, j-k, k+len(lines)-i)
				if n > most || n == most && apart > far {
					best, most, far = []string{lines[k], lines[j], lines[i]}, n, apart
				}
			}
		}
	}
	return best
}

// thirds holds which letters stand in each third of a line, a bit each.
type thirds [3]uint32

func (t *thirds) add(line string, width int) {
	for i := range len(line) {
		if c := line[i]; c >= 'a' && c <= 'z' {
			t[min(3*i/width, 2)] |= 1 << (c - 'a')
		}
	}
}

func (t thirds) with(o thirds) thirds {
	return thirds{t[0] | o[0], t[1] | o[1], t[2] | o[2]}
}

func (t thirds) count() int {
	return bits.OnesCount32(t[0]) + bits.OnesCount32(t[1]) + bits.OnesCount32(t[2])
}

// Lines are all lines to type, in order.
func (s *Sheet) Lines() []string {
	var all []string
	for _, p := range s.Parts {
		all = append(all, p.Lines...)
	}
	return all
}

// Text is the lines to type as a text file holds them.
func (s *Sheet) Text() string { return strings.Join(s.Lines(), "\n") + "\n" }

// Ruler counts the columns of a full line: a dot each, a plus at every fifth and
// the number's last digit under every tenth, "....+....1....+....2".
func (s *Sheet) Ruler() string {
	b := []byte(strings.Repeat(".", s.Width))
	for i := 5; i <= s.Width; i += 5 {
		b[i-1] = '+'
		if i%10 == 0 {
			b[i-1] = byte('0' + i/10%10)
		}
	}
	return string(b)
}
