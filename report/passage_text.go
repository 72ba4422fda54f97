package report

import (
	"bufio"
	"io"
	"strings"

	sheets "loosedog/diagnose/passage"
)

// sheetMargin is how far the lines to type are set in, for their numbers.
const sheetMargin = 5

// PassageText writes the test sheet for a terminal or a plain printer: how to
// record, then every line to type under what it is and how it is typed. Nothing is
// wider than 80 columns.
func PassageText(w io.Writer, s *sheets.Sheet) error {
	p := &printer{w: bufio.NewWriter(w)}
	p.line("%s", sheetTitle)
	p.line("%s", sheetLine(s))
	p.heading("How to record it")
	for i, step := range recordIt {
		p.para("  "+string(rune('1'+i))+". ", step)
	}
	p.heading("Type this")
	p.line("%s%s", strings.Repeat(" ", sheetMargin), s.Ruler())
	number := 0
	for _, part := range s.Parts {
		p.blank()
		p.para("  ", strings.TrimSuffix(part.Name+": "+part.How, ": "))
		for _, l := range part.Lines {
			number++
			p.line("%3d  %s", number, l)
		}
	}
	p.heading("Afterwards")
	p.para("  ", countIt)
	p.para("  ", "Write the lines above into a file, and hold sound and paper together:")
	p.line("    %s", linesIt(s))
	p.line("    %s", measureIt(s))
	p.blank()
	for _, n := range notes {
		p.line("  %-24s %s", n, strings.Repeat("_", 40))
	}
	return p.w.Flush()
}
