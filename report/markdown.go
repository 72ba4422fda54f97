package report

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"loosedog/diagnose"
)

// Markdown writes a take as a repair note in Markdown: what was heard, the
// counts, the figures, the worst pairs, the causes with what to check and what
// to take care of. It is made for pasting into a record that people keep. Text
// from outside is escaped, so that a file name cannot become markup.
func Markdown(w io.Writer, t *diagnose.Take) error {
	if t == nil {
		return errNoTake
	}
	m := &noteWriter{w: bufio.NewWriter(w)}
	pairs := pairsOf(t)
	m.line("# %s", md(baseName(t.Recording.Path)))
	m.line("**%s** %s.", md(headline(t, pairs)), md(upperFirst(heard(t))))
	if s := byHand(t); s != "" {
		m.line("*%s.*", md(upperFirst(s)))
	}
	for _, p := range t.Recording.Problems {
		m.item(md(clean(p.Text)))
	}
	m.end()
	for _, s := range meaning(t, pairs) {
		m.line("%s", md(s))
	}
	if t.Recording.Usable && len(t.Strokes) == 0 && t.Answer.Text != "" {
		m.line("%s", md(clean(t.Answer.Text))) // else it is in the meaning
	}
	if t.Recording.Usable && len(t.Strokes) > 0 {
		m.figures(t)
		m.pairs(t, pairs)
		m.findings(t)
	}
	m.line("%s", "*The maker's service sheet and a repairer who knows the machine come before what stands here.*")
	return m.w.Flush()
}

// noteWriter writes Markdown: blocks with a blank line after each.
type noteWriter struct{ w *bufio.Writer }

func (m *noteWriter) line(format string, args ...any) { fmt.Fprintf(m.w, format+"\n\n", args...) }
func (m *noteWriter) item(s string)                   { fmt.Fprintf(m.w, "- %s\n", s) }
func (m *noteWriter) row(cells ...string)             { fmt.Fprintf(m.w, "| %s |\n", strings.Join(cells, " | ")) }
func (m *noteWriter) end()                            { m.w.WriteByte('\n') }

func (m *noteWriter) figures(t *diagnose.Take) {
	m.line("## Figures")
	m.row("in ms", "median", "95 % interval", "95 in 100 are below")
	m.row("---", "---:", "---:", "---:")
	row := func(name string, f diagnose.Figure) {
		m.row(name, ms(float(f.Median)), between(f), ms(float(f.P95)))
	}
	s := t.Summary
	row("lead (trip to strike)", s.LeadMS)
	row("latency (strike to release)", s.LatencyMS)
	row("machine's share of the latency", s.MachineLatencyMS)
	row("travel (release to landing)", s.TravelMS)
	row("ready time (strike to landing)", s.ReadyMS)
	m.end()
}

func (m *noteWriter) pairs(t *diagnose.Take, pairs []pair) {
	worst := worstPairs(pairs)
	m.line("## Struck before the carriage stood ready: %d of %d", len(worst), len(pairs))
	if len(worst) == 0 {
		return
	}
	m.row("pair", "line", "position", "letters", "what", "short by", "slack in ms")
	m.row("---:", "---:", "---:", "---", "---", "---", "---:")
	for _, q := range worst[:min(defaultPairs, len(worst))] {
		b := t.Strokes[q.second]
		m.row(fmt.Sprint(q.number), fmt.Sprint(b.Line+1), fmt.Sprint(b.Position), md(pairLetters(t, q)),
			pairWord(q), shortBy(q), ms(q.slack))
	}
	m.end()
	if more := len(worst) - defaultPairs; more > 0 {
		m.line("And %d more.", more)
	}
}

func (m *noteWriter) findings(t *diagnose.Take) {
	if len(t.Findings) == 0 {
		return
	}
	m.line("## What the take gives evidence for")
	for i, f := range t.Findings {
		m.line("### %d. %s", i+1, md(findingTitle(f)))
		for _, e := range f.Evidence {
			m.item("evidence: " + md(evidence(e)))
		}
		if where := places(t, f.Where); where != "" {
			m.item("where: " + md(where))
		}
		if f.Check != "" {
			m.item("check: " + md(clean(f.Check)))
		}
		if f.Next != "" {
			m.item("then: " + md(clean(f.Next)))
		}
		if caution := cautionOf(f); caution != "" {
			m.item("**take care:** " + md(caution))
		}
		m.end()
	}
}

// md escapes what Markdown or the HTML inside it could take for markup.
func md(s string) string {
	var b strings.Builder
	for _, r := range clean(s) {
		if strings.ContainsRune("\\`*_[]<>|#~&", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
