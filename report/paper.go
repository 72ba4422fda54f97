package report

import (
	"fmt"
	"strings"

	"loosedog/diagnose"
)

// textFits says how the take fits the text that was given; nothing where none was
// or where it does not fit (then the recording's problems say so).
func (p *printer) textFits(t *diagnose.Take) {
	g := t.Passage
	if g == nil || !g.Fits {
		return
	}
	s := fmt.Sprintf("fits the take: quality %.2f (1 is without a slip, 0 another text); %.1f %% of the strokes stand for a letter or space of it",
		float(g.Quality), 100*float(g.Matched))
	slips := some(
		tally{len(g.Missing), "letter or space is left out", "letters and spaces are left out"},
		tally{g.Extra, "stroke is not in it", "strokes are not in it"},
		tally{g.TypedOver, "letter is struck twice", "letters are struck twice"})
	if n := len(g.MissedLines); n > 0 {
		names := make([]string, 0, n)
		for _, l := range g.MissedLines[:min(n, 6)] {
			names = append(names, fmt.Sprint(l+1))
		}
		if n > len(names) {
			names = append(names, "and more")
		}
		slips = append(slips, "not typed: line "+strings.Join(names, ", "))
	}
	if len(slips) > 0 {
		s += "; " + strings.Join(slips, ", ")
	}
	p.field("Text", s)
}

// wordColumns is how wide the marked word may be in the list.
const wordColumns = 18

// paperPairs lists the flagged pairs as they are found on the paper.
func (p *printer) paperPairs(t *diagnose.Take, worst []pair, most int) {
	found := map[int]diagnose.PaperPair{}
	for _, q := range t.Passage.Pairs {
		found[q.First] = q
	}
	p.line("  %6s  %4s  %6s  %-*s  %-20s", "number", "line", "column", wordColumns, "word", "too close by")
	for _, q := range worst[:min(most, len(worst))] {
		on, ok := found[q.first]
		if !ok {
			continue
		}
		word := cannotTell
		if on.Word != "" {
			word = aroundMark(clean(on.Word), wordColumns)
		}
		p.line("  %6d  %4d  %6d  %s%s  %-20s  %s", q.number, on.Line, on.Column,
			word, strings.Repeat(" ", max(0, wordColumns-columns(word))), shortOnPaper(q, on), pairWord(q))
	}
	if more := len(worst) - most; more > 0 {
		p.line("  and %d more", more)
	}
	p.para("  ", "The worst come first. Lines and columns count from 1 as on the paper: where a letter piled or a space is missing, all that follows stands further left than in the text. The second letter in the brackets stands too close to the first; a piled one stands on it.")
}

// shortOnPaper is by how much a letter stands too close, in spaces and on a
// ruler.
func shortOnPaper(q pair, on diagnose.PaperPair) string {
	s := shortBy(q)
	if mm := float(on.ShortMM); mm >= 0 && mm < 100 {
		s += fmt.Sprintf(", %.1f mm", mm)
	}
	return s
}

// aroundMark shortens a marked word to so many columns, keeping what stands in
// the brackets.
func aroundMark(word string, limit int) string {
	if columns(word) <= limit {
		return word
	}
	r := []rune(word)
	open, shut := 0, len(r)
	for i, c := range r {
		switch c {
		case '[':
			open = i
		case ']':
			shut = i + 1
		}
	}
	from, to := 0, len(r)
	for columns(string(r[from:to])) > limit-2 && (from < open || to > shut) {
		if open-from > to-shut {
			from++
		} else {
			to--
		}
	}
	s := string(r[from:to])
	if from > 0 {
		s = "…" + s
	}
	if to < len(r) {
		s += "…"
	}
	if columns(s) > limit {
		s, _ = cut(s, limit)
	}
	return s
}

// markedWord is a pair's word with its letters marked; empty where the text does
// not tell.
func markedWord(t *diagnose.Take, q pair) string {
	if t.Passage == nil || !t.Passage.Fits {
		return ""
	}
	for _, on := range t.Passage.Pairs {
		if on.First == q.first {
			return clean(on.Word)
		}
	}
	return ""
}

// pageCount says whether what was heard and what the owner counted agree.
func (p *printer) pageCount(t *diagnose.Take) {
	c := t.PageCount
	if c == nil || c.Agree == nil || c.Low == nil || c.High == nil {
		return
	}
	p.heading("On the paper")
	s := fmt.Sprintf("You counted %s too close or on another; %s heard that would show on paper.",
		tally{c.Counted, "letter that stands", "letters that stand"}, tally{c.Heard, "was", "were"})
	between := fmt.Sprintf("that goes with %d to %d on the paper", *c.Low, *c.High)
	if *c.Low == *c.High {
		between = fmt.Sprintf("that goes with %d on the paper", *c.Low)
	}
	if *c.Agree {
		s += " The two agree: " + between + "."
	} else {
		s += " The two do not agree: " + between + ". Look for the pairs of the list on the paper, and trust the paper: where they are not there, the take is heard wrong; record it again with the phone on the machine."
	}
	p.para("  ", s)
}
