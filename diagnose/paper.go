package diagnose

import "strings"

// PaperPair is a flagged pair as a person finds it on the paper.
type PaperPair struct {
	// First and Second are the strokes' indexes.
	First  int `json:"first"`
	Second int `json:"second"`
	// Line of the page and Column of the second letter, both counted from 1 as a
	// person counts: the column is where the carriage stood, so letters that piled
	// up take one column together, and after a missed space all that follows stands
	// further left than in the text.
	Line   int `json:"line"`
	Column int `json:"column"`
	// Word is the second letter's word (the first's, where the second is a space)
	// with the two in square brackets: "h[ou]se", "[ h]ouse", "hous[e ]". Empty
	// where the text does not tell.
	Word string `json:"word"`
	// Spacing is crowded or piled; ShortBy is by how much of a space the second
	// letter stands too close, ShortMM the same in millimetres on paper.
	Spacing string `json:"spacing"`
	ShortBy Number `json:"short_by"`
	ShortMM Number `json:"short_mm"`
}

// Pitches in letters to the inch.
const (
	Pica  = 10
	Elite = 12
)

// spaceMM is how wide a space is in millimetres: an inch of 25.4 mm by the pitch.
func spaceMM(pitch int) float64 { return 25.4 / float64(pitch) }

// paperPairs lists the flagged pairs of a take, the worst first, as they are
// found on paper.
func paperPairs(t *Take, pitch int) []PaperPair {
	pairs := []PaperPair{}
	for _, p := range Flagged(t) {
		b := t.Strokes[p.Second]
		pairs = append(pairs, PaperPair{
			First: p.First, Second: p.Second,
			Line: b.Line + 1, Column: b.Position + 1,
			Word:    marked(t.Strokes[p.First].Text, b.Text),
			Spacing: p.Spacing, ShortBy: p.ShortBy, ShortMM: p.ShortBy * Number(spaceMM(pitch)),
		})
	}
	return pairs
}

// marked is the word of two strokes with the letters that they stand for in
// square brackets.
func marked(a, b *StrokePlace) string {
	of, from, to := b, 0, 0 // the letters of the word between the brackets
	switch {
	case b == nil && a == nil:
		return ""
	case b == nil || b.Letter < 0:
		if a == nil || a.Letter < 0 {
			return ""
		}
		of, from, to = a, a.Letter, a.Letter+1
	case a != nil && a.Letter >= 0 && a.Line == b.Line && a.Column <= b.Column && b.Column-a.Column == b.Letter-a.Letter:
		from, to = a.Letter, b.Letter+1
	default:
		from, to = b.Letter, b.Letter+1
	}
	letters := []rune(of.Word)
	if from < 0 || to > len(letters) {
		return of.Word
	}
	before, after := "", ""
	if b != nil && b.Char == " " {
		after = " "
	}
	if a != nil && a.Char == " " {
		before = " "
	}
	var w strings.Builder
	w.WriteString(string(letters[:from]))
	w.WriteString("[" + before + string(letters[from:to]) + after + "]")
	w.WriteString(string(letters[to:]))
	return w.String()
}
