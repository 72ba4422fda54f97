package diagnose

import (
	"fmt"

	"loosedog/audio"
	"loosedog/diagnose/passage"
)

// Passage says how the take fits the text that was given with it.
type Passage struct {
	// Fits is false where the text is not what was typed, or where that cannot be
	// told; the strokes then have no characters, and the recording's problems say
	// why ("text-misfit", "text-too-short", "text-unreadable").
	Fits bool `json:"fits"`
	// Quality is 0 where the text fits no better than its own words in another
	// order, and 1 where it fits as if typed and heard without a slip.
	Quality Number `json:"quality"`
	// Matched is the share of strokes that stand for a character of the text.
	Matched Number `json:"matched"`
	// Missing are characters of the text that have no stroke, Extra is how many
	// strokes are not in the text, TypedOver how many strike the character before
	// them once more. MissedLines are lines of the text that were not typed.
	Missing     []TextPlace `json:"missing"`
	Extra       int         `json:"extra"`
	TypedOver   int         `json:"typed_over"`
	MissedLines []int       `json:"missed_lines"`
	// Pairs are the flagged pairs as they are found on paper, the worst first.
	Pairs []PaperPair `json:"pairs"`
}

// TextPlace is a place in the text.
type TextPlace struct {
	Char   string `json:"char"`
	Line   int    `json:"line"`   // of the text, from 0; empty lines do not count
	Column int    `json:"column"` // from 0
	// Word that the character belongs to, or that the space follows; empty where
	// there is none. Letter is which of its characters it is, from 0; -1 for a space.
	Word   string `json:"word"`
	Letter int    `json:"letter"`
}

// StrokePlace is the place in the text that a stroke stands for.
type StrokePlace struct {
	TextPlace
	// How it stands there: typed, or typed-over where it strikes the character of
	// the stroke before it once more (doubled by a slip, or corrected).
	How passage.How `json:"how"`
	// Probability that it stands for this character, 0 to 1, as far as word lengths,
	// line breaks and rhythm tell.
	Probability Number `json:"probability"`
}

// setText lays the take along the text of the options, gives every stroke its
// character where the text fits, and says what is wrong where it does not.
func setText(t *Take, opt Options) {
	if opt.Text == "" || !t.Recording.Usable {
		return
	}
	t.Passage = &Passage{Quality: Unknown(), Matched: Unknown(), Missing: []TextPlace{}, MissedLines: []int{}, Pairs: []PaperPair{}}
	problem := func(code, text string, args ...any) {
		t.Recording.Problems = addProblems(t.Recording.Problems, audio.Problem{Code: code, Text: fmt.Sprintf(text, args...)})
	}
	text, err := passage.Parse(opt.Text)
	if err != nil {
		problem("text-unreadable", "the text cannot be used: %v", err)
		return
	}
	strokes := make([]passage.Stroke, len(t.Strokes))
	for i, s := range t.Strokes {
		strokes[i] = passage.Stroke{Space: s.Kind == KindSpace, Time: float64(s.StrikeS), Line: s.Line}
	}
	a := passage.Align(text, strokes)
	p := t.Passage
	p.Fits, p.Quality, p.Matched = a.Fits, Number(a.Quality), Number(a.Matched)
	switch a.Why {
	case passage.TooShort:
		problem("text-too-short", "text and take are too short to tell whether this text was typed, so no stroke is given a letter; type eight lines of it")
	case passage.Misfit:
		problem("text-misfit", "the text does not fit the take (quality %.2f, where 1 is without a slip and 0 is a text that is not this one), so no stroke is given a letter; give the text that was typed", a.Quality)
	}
	if !a.Fits {
		return
	}
	for i, at := range a.Places {
		s := &t.Strokes[i]
		switch at.How {
		case passage.Extra:
			p.Extra++
			continue
		case passage.Over:
			p.TypedOver++
		}
		place := placeIn(text, at.Char)
		s.Char = &place.Char
		s.Text = &StrokePlace{TextPlace: place, How: at.How, Probability: Number(at.Probability)}
	}
	for _, i := range a.Missing {
		p.Missing = append(p.Missing, placeIn(text, i))
	}
	p.MissedLines = append(p.MissedLines, a.MissedLines...)
	p.Pairs = paperPairs(t, opt.Pitch)
}

func placeIn(text *passage.Text, i int) TextPlace {
	c := text.Chars[i]
	word, letter := text.Word(i)
	if c.Rune == '\n' {
		c.Rune = ' ' // two lines of the text typed as one
	}
	return TextPlace{Char: string(c.Rune), Line: c.Line, Column: c.Column, Word: word, Letter: letter}
}
