package report

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"loosedog/diagnose/compare"
)

// NoteOptions are what a repair note says beside the comparison.
type NoteOptions struct {
	// Date as it is to stand there, Machine the machine's name; empty where not
	// known.
	Date, Machine string
	// Picture is the picture's path as seen from the note; empty for none.
	Picture string
}

// ComparisonNote writes a repair note in Markdown: machine, date, what was done,
// the verdict, the figures, the picture, the cautions. It prints well as plain text
// and as a page. Text from outside is escaped.
func ComparisonNote(w io.Writer, c *compare.Comparison, opt NoteOptions) error {
	if c == nil {
		return errNoComparison
	}
	m := &noteWriter{w: bufio.NewWriter(w)}
	m.line("# Before and after an adjustment")
	for _, f := range [][2]string{{"Machine", opt.Machine}, {"Date", opt.Date}, {"What was done", c.Done}} {
		if f[1] == "" {
			f[1] = "not stated"
		}
		m.item("**" + f[0] + ":** " + md(f[1]))
	}
	m.item("**Before:** " + md(sideText(c.Before)))
	m.item("**After:** " + md(sideText(c.After)))
	m.end()
	m.line("## Verdict: %s", md(c.Verdict))
	for _, s := range c.Because {
		m.item(md(s))
	}
	m.end()
	if opt.Picture != "" {
		m.line("![Ready times, travel along the line, and letters a page at equal typing, before and after](<%s>)", linkPath(opt.Picture))
	}
	if list := limits(c); len(list) > 0 {
		m.line("**To bear in mind:**")
		for _, s := range list {
			m.item(md(s))
		}
		m.end()
	}
	if !c.Stopped() {
		m.comparison(c)
	}
	if len(c.Record) > 0 {
		m.line("## What to record")
		for _, s := range c.Record {
			m.item(md(s))
		}
		m.end()
	}
	m.line("## Take care")
	for _, s := range repairCautions {
		m.item(md(s))
	}
	m.end()
	if !c.Stopped() {
		m.line("## How it was worked out")
		m.line("%s", md(c.Rule))
		for _, s := range c.Method {
			m.item(md(s))
		}
	}
	return m.w.Flush()
}

// comparison writes the tables.
func (m *noteWriter) comparison(c *compare.Comparison) {
	m.line("## The machine itself")
	m.row("", "before", "after", "shift (95 % interval)", "p, corrected", "effect", "shown")
	m.row("---", "---:", "---:", "---:", "---:", "---:", "---")
	for _, k := range c.Measures {
		m.row(md(measureName(k)+", "+k.Unit), short(float(k.Before)), short(float(k.After)), shiftText(k.Shift), pText(k.Corrected), signed2(k.Effect.Value), shownText(k))
	}
	m.end()
	m.line("## Under equal typing")
	m.line("Letters crowded or piled a page of %d strokes:", compare.PageStrokes)
	m.row("", "before", "after", "difference (95 % interval)")
	m.row("---", "---:", "---:", "---:")
	for _, e := range c.Typing {
		m.row(e.Hand, letters(e.Before, false), letters(e.After, false), letters(e.Difference, true))
	}
	m.end()
	m.line("## The pages as they are")
	for _, s := range rawText(c) {
		m.item(md(s))
	}
	m.end()
	if list := smallestText(c); len(list) > 0 {
		m.line("The smallest change that these takes would have shown four times in five:")
		for _, s := range list {
			m.item(md(s))
		}
		m.end()
	}
}

// linkPath writes a path into the angle brackets of a Markdown link.
func linkPath(path string) string {
	path = strings.ReplaceAll(clean(path), `\`, "/")
	for _, r := range []string{"<", ">", "%"} {
		path = strings.ReplaceAll(path, r, fmt.Sprintf("%%%02X", r[0]))
	}
	return path
}
