package report

import (
	"fmt"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"loosedog/diagnose"
)

// drawList says what the numbers in the panel of pairs stand for.
func drawList(s sheet, t *diagnose.Take, pairs, worst []pair) {
	if len(pairs) == 0 {
		return
	}
	y := s.Max.Y - vg.Points(headSize)
	caption := sans(captionSize, false, quiet)
	head := sans(headSize, true, ink)
	if len(worst) == 0 {
		s.write(head, s.Min.X, y, "No pair is flagged")
		str := "Whether one should be cannot be told: no landing could be heard."
		if slacks := knownSlacks(pairs); len(slacks) > 0 {
			str = fmt.Sprintf("Of the %s that could be judged none was struck before the carriage stood ready. The tightest had %s ms to spare.",
				count(len(slacks), "pair"), ms(slacks[0]))
		}
		s.block(caption, y-9, 11.5, 8, str)
		return
	}
	title := fmt.Sprintf("The worst %d of %d", min(defaultPairs, len(worst)), len(worst))
	switch {
	case len(worst) == 1:
		title = "The flagged pair"
	case len(worst) <= defaultPairs:
		title = fmt.Sprintf("The %d flagged pairs", len(worst))
	}
	s.write(head, s.Min.X, y, title)

	right := alignX(sans(captionSize, false, ink), draw.XRight)
	bold := alignX(sans(captionSize, true, ink), draw.XRight)
	faint := alignX(caption, draw.XRight)
	columns := []vg.Length{12, 35, 61, 93, 126}
	upper, lower := []string{"", "", "", "short by,", "slack,"}, []string{"no", "line", "pos", "space", "ms"}
	// With the text a pair is named as it is found on paper.
	onPaper := t.Passage != nil && t.Passage.Fits
	if onPaper {
		columns = []vg.Length{12, 33, 54, 84, 126}
		upper[4], lower[2], lower[4] = "", "col", "word"
	}
	y -= 15
	for i, name := range upper {
		s.write(faint, s.Min.X+columns[i], y, name)
	}
	y -= 10
	for i, name := range lower {
		s.write(faint, s.Min.X+columns[i], y, name)
	}
	y -= 4
	s.line(rule(quiet, 0.5), s.Min.X, y, s.Max.X, y)
	for _, p := range worst[:min(defaultPairs, len(worst))] {
		y -= 12
		b := t.Strokes[p.second]
		cells := []string{fmt.Sprint(p.number), fmt.Sprint(b.Line + 1), fmt.Sprint(b.Position), spaces(p), short(p.slack)}
		if onPaper {
			cells[2], cells[4] = fmt.Sprint(b.Position+1), aroundMark(markedWord(t, p), 9)
		}
		for i, cell := range cells {
			sty := right
			if i == 0 {
				sty = bold
			}
			s.write(sty, s.Min.X+columns[i], y, cell)
		}
	}
	note := "lines count from 1; pos = spaces from the left margin"
	if onPaper {
		note = "lines and columns count from 1, as on the paper"
	}
	if first := firstUnseen(worst[:min(defaultPairs, len(worst))]); first > 0 {
		note = fmt.Sprintf("lines count from 1; from %d on the second is a space", first)
	}
	s.block(caption, y-6, 10.5, 2, note)
}

// spaces is by how much of a space the letter of a pair stands short.
func spaces(p pair) string {
	switch {
	case p.short >= 0 && p.short <= 1:
		return fmt.Sprintf("%.2f", p.short)
	case p.spacing == diagnose.SpacingPiled:
		return "1"
	default:
		return "?"
	}
}

// firstUnseen is the number of the first pair that does not show on paper, which
// the ranking puts after all that do; 0 when every pair shows.
func firstUnseen(worst []pair) int {
	for _, p := range worst {
		if !p.seen {
			return p.number
		}
	}
	return 0
}
