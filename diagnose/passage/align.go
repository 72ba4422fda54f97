package passage

import (
	"math"
	"slices"
)

// Stroke is one stroke of a take as the alignment needs it.
type Stroke struct {
	// Space is true where it was heard as one of the space bar.
	Space bool
	// Time of its strike in seconds; NaN where that is not known.
	Time float64
	// Line of the page, from 0.
	Line int
}

// How a stroke stands to the text.
type How string

// The ways.
const (
	Typed How = "typed"      // prints the character at its place
	Over  How = "typed-over" // the character before it once more: doubled, or struck over
	Extra How = "extra"      // not in the text
	// Exchanged with its neighbour: a letter and a space that changed places.
	Exchanged How = "exchanged"
)

// Place is what one stroke stands for.
type Place struct {
	// Char is the text's character, an index into Text.Chars; -1 where it stands
	// for none.
	Char int
	How  How
	// Probability that this is so, as far as the model goes.
	Probability float64
}

// Reason why a text is not laid along a take.
type Reason string

// The reasons; empty when it fits.
const (
	TooShort Reason = "too-short" // too few words to tell this text from another
	Misfit   Reason = "misfit"    // no better than texts that are not this one
)

// Alignment is a take laid along a text.
type Alignment struct {
	// Fits tells whether the text is what was typed; Why says why not. Places stand
	// in any case, for those who want to know how it fails to fit.
	Fits bool
	Why  Reason
	// Quality is 0 where the text fits no better than its own words in another
	// order, and 1 where it fits as if typed and heard without a slip.
	Quality float64
	// Evidence is by how much the text's likelihood stands above that of the best
	// of those others, as a natural logarithm.
	Evidence float64
	// Matched is the share of strokes that stand for a character of the text.
	Matched float64
	// Places has one entry for each stroke.
	Places []Place
	// Missing are the text's characters without a stroke, line breaks aside, where
	// the typing went on close behind them. MissedLines are lines of the text
	// without any stroke, where others before and after them were typed.
	Missing     []int
	MissedLines []int

	kinds []kind // of the text's characters
}

const (
	// enough is the evidence, leastQuality the quality from which on a text is
	// believed. Among the same author's texts, typed in lines of much the same
	// length, one that was not typed came to 18 and to 0.16 (make accuracy, tuning
	// seeds); one that was typed, with a third of its spaces taken for letters, to 81
	// and 0.54.
	enough, leastQuality = 25, 0.3
	// fewestWords that a text must have: of fewer there are too few other orders.
	fewestWords = 8
	// leastMatched is the share of strokes that must stand for something.
	leastMatched = 0.5
	// others is how many texts that are not this one are tried.
	others = 9
	// passes over the take: the rates are learnt in the first, the rhythm from the
	// second on.
	passes = 4
	// An interval of more than so many times the median is a pause.
	pause = 3
	// cropSounds is how many sounds of a long take the fit is judged on, cropChars
	// how much of the text around them.
	cropSounds, cropChars = 1500, 500
)

// Align lays strokes, in order of time, along a text.
func Align(t *Text, strokes []Stroke) *Alignment {
	a := &Alignment{Why: Misfit, Places: make([]Place, len(strokes))}
	for i := range a.Places {
		a.Places[i] = Place{Char: -1, How: Extra}
	}
	if len(strokes) == 0 || len(t.Chars) == 0 {
		a.Why = TooShort
		return a
	}
	var l lattice
	at := l.hear(strokes)
	runes := make([]rune, len(t.Chars))
	for i, c := range t.Chars {
		runes[i] = c.Rune
	}
	l.setText(runes)
	a.kinds = l.kind
	l.rates = firstRates()
	var found [][]candidate
	for pass := range passes {
		all, counted, beats := l.posterior()
		found = all
		if pass == passes-1 {
			break
		}
		l.rates = counted.rates()
		if pass > 0 {
			l.rhythm = beats.rhythm()
		}
	}
	ofStrokes := make([][]candidate, 0, len(strokes))
	for j, s := range at {
		if s >= 0 {
			ofStrokes = append(ofStrokes, found[j])
		}
	}
	l.read(ofStrokes, a.Places)
	a.account(t)
	l.judge(a, runes, at)
	return a
}

// hear takes the strokes, with a return between lines, and says of each sound
// which stroke it is, -1 for a return.
func (l *lattice) hear(strokes []Stroke) (at []int) {
	var intervals []float64
	for i := 1; i < len(strokes); i++ {
		if d := strokes[i].Time - strokes[i-1].Time; strokes[i].Line == strokes[i-1].Line && d > 0 {
			intervals = append(intervals, d)
		}
	}
	slices.Sort(intervals)
	longest := 0.0
	if len(intervals) > 0 {
		longest = pause * intervals[len(intervals)/2]
	}
	count := [sounds]float64{1, 1, 1}
	for i, s := range strokes {
		gap := math.NaN()
		if i > 0 && s.Line != strokes[i-1].Line {
			l.heard, l.interval, at = append(l.heard, returnSound), append(l.interval, gap), append(at, -1)
			count[returnSound]++
		} else if i > 0 {
			if d := s.Time - strokes[i-1].Time; d > 0 && d <= longest {
				gap = math.Log(d)
			}
		}
		what := typedSound
		if s.Space {
			what = spaceSound
		}
		l.heard, l.interval, at = append(l.heard, what), append(l.interval, gap), append(at, i)
		count[what]++
	}
	total := count[0] + count[1] + count[2]
	for s := range sounds {
		l.usual[s] = count[s] / total
	}
	return at
}

// account counts what was matched and what is missing.
func (a *Alignment) account(t *Text) {
	matched, last := 0, -1
	struck, typed := make([]bool, len(t.Chars)), make([]bool, t.Lines)
	first, end := t.Lines, -1
	for _, p := range a.Places {
		if p.Char < 0 {
			continue
		}
		matched++
		struck[p.Char] = true
		line := t.Chars[p.Char].Line
		typed[line] = true
		first, end = min(first, line), max(end, line)
	}
	for _, p := range a.Places {
		if p.Char < 0 {
			continue
		}
		for i := last + 1; last >= 0 && i < p.Char && p.Char-last <= closeBy+1; i++ {
			if !struck[i] && t.Chars[i].Rune != '\n' {
				struck[i] = true // said once
				a.Missing = append(a.Missing, i)
			}
		}
		last = p.Char
	}
	a.Matched = float64(matched) / float64(len(a.Places))
	for line := first; line <= end; line++ {
		if !typed[line] {
			a.MissedLines = append(a.MissedLines, line)
		}
	}
}
