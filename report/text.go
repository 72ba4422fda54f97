package report

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"sort"
	"strings"

	"loosedog/diagnose"
)

// textWidth is how many columns of a terminal the summary takes at most.
const textWidth = 80

// defaultPairs is how many flagged pairs are listed unless asked otherwise, and
// how many carry their number in the picture.
const defaultPairs = 12

// TextOptions say how much [Text] prints.
type TextOptions struct {
	// Pairs is how many flagged pairs are listed at most; 12 when 0.
	Pairs int
}

// Text writes the summary for the terminal: what was heard, whether it can be
// trusted, the figures with their intervals, the pairs struck faster than the
// carriage could space (the worst first, with the numbers that they carry in the
// picture), what it means and what to check. Lines have at most 80 columns and
// no colour. Lines of the page count from 1 here; a position is the carriage's:
// spaces from the left margin.
func Text(w io.Writer, t *diagnose.Take, opt TextOptions) error {
	if t == nil {
		return errNoTake
	}
	if opt.Pairs <= 0 {
		opt.Pairs = defaultPairs
	}
	p := &printer{w: bufio.NewWriter(w)}
	pairs := pairsOf(t)

	p.field("Take", clean(t.Recording.Path))
	if s := machineWords(t.Machine); s != "" {
		p.field("Machine", s)
	}
	p.field("Heard", heard(t))
	p.trust(t)
	p.textFits(t)
	if s := byHand(t); s != "" {
		p.field("By hand", s)
	}
	// A recording that cannot be trusted gets no figures at all.
	if t.Recording.Usable && len(t.Strokes) > 0 {
		p.counts(t)
		p.figures(t)
		p.pull(t)
		p.pairs(t, pairs, opt.Pairs)
		p.pageCount(t)
	}
	p.meaning(t, pairs)
	if t.Recording.Usable {
		p.findings(t)
	}
	return p.w.Flush()
}

// printer lays text out within [textWidth].
type printer struct{ w *bufio.Writer }

func (p *printer) blank() { p.w.WriteByte('\n') }

func (p *printer) line(format string, args ...any) {
	fmt.Fprintf(p.w, "%s\n", strings.TrimRight(fmt.Sprintf(format, args...), " "))
}

func (p *printer) heading(s string) {
	p.blank()
	p.line("%s", s)
}

// para writes text wrapped; lead stands before the first line and its width as
// blanks before the others.
func (p *printer) para(lead, text string) {
	indent := columns(lead)
	for i, l := range wrap(text, textWidth-indent) {
		if i == 0 {
			p.line("%s%s", lead, l)
		} else {
			p.line("%s%s", strings.Repeat(" ", indent), l)
		}
	}
}

func (p *printer) field(name, text string) { p.para(fmt.Sprintf("%-9s", name), text) }

func heard(t *diagnose.Take) string {
	if len(t.Strokes) == 0 {
		return "no strokes in " + clock(t.Recording.DurationS)
	}
	if !t.Recording.Usable {
		return fmt.Sprintf("no more than %s for sure in %s", count(len(t.Strokes), "stroke"), clock(t.Recording.DurationS))
	}
	return fmt.Sprintf("%s on %s in %s; %s",
		count(t.Summary.Strokes, "stroke"), count(t.Summary.Lines, "line"),
		clock(t.Recording.DurationS), rate(t.Summary.RatePerS))
}

// trust says whether the recording can be relied on, and what to change.
func (p *printer) trust(t *diagnose.Take) {
	r := t.Recording
	var levels []string
	if r.StrikeToNoiseDB.Known() {
		levels = append(levels, fmt.Sprintf("strikes stand %.0f dB above the noise", float64(r.StrikeToNoiseDB)))
	}
	switch c := float64(r.ClippedShare); {
	case !r.ClippedShare.Known():
	case c <= 0:
		levels = append(levels, "nothing is clipped")
	case c < 0.0001:
		levels = append(levels, "less than 0.01 % of it is clipped")
	default:
		levels = append(levels, fmt.Sprintf("%.2g %% of it is clipped", 100*c))
	}
	verdict := "yes"
	switch {
	case !r.Usable:
		verdict = "no, this recording cannot be measured"
	case len(r.Problems) > 0:
		verdict = "yes, with care"
	}
	if len(levels) > 0 {
		verdict += ": " + strings.Join(levels, ", ")
	}
	p.field("Trusted", verdict)
	for _, problem := range r.Problems {
		p.para("         - ", clean(problem.Text))
	}
	if !r.Usable && len(r.Problems) == 0 {
		p.para("         - ", "Why cannot be told. Record it again with the phone lying on the machine, in a quiet room, without noise reduction.")
	}
}

func (p *printer) counts(t *diagnose.Take) {
	s := t.Summary
	p.heading("Spacing")
	row := func(n int, name, what string) { p.line("  %6d  %-16s %s", n, name, what) }
	row(s.Crowded, "crowded letters", "printed while the carriage was still travelling")
	row(s.Piled, "piled letters", "printed where the letter before stands")
	row(s.MissedSpaces, "missed spaces", "strokes after which the carriage stood still")
	row(s.Skipped, "skipped spaces", "strokes after which it moved two spaces")
}

func (p *printer) figures(t *diagnose.Take) {
	s := t.Summary
	p.heading("Figures in ms")
	p.line("  %-16s %11s  %-16s %11s", "", "median", "95 % interval", "95 in 100")
	p.line("  %-16s %11s  %-16s %11s", "", "", "of the median", "are below")
	row := func(name string, f diagnose.Figure, what string) {
		line := fmt.Sprintf("  %-16s %11s  %-16s %11s", name, ms(float(f.Median)), between(f), ms(float(f.P95)))
		if columns(line)+2+columns(what) <= textWidth {
			line += "  " + what
		}
		p.line("%s", line)
	}
	row("lead", s.LeadMS, "trip to strike")
	row("latency", s.LatencyMS, "strike to release")
	row("machine's share", s.MachineLatencyMS, "of the latency")
	row("travel", s.TravelMS, "release to landing")
	row("ready time", s.ReadyMS, "strike to landing")
}

// between is the interval of a figure.
func between(f diagnose.Figure) string {
	if !f.Low.Known() || !f.High.Known() {
		return cannotTell
	}
	return ms(float(f.Low)) + " to " + ms(float(f.High))
}

// pairs lists the flagged pairs, the worst first.
func (p *printer) pairs(t *diagnose.Take, pairs []pair, most int) {
	worst := worstPairs(pairs)
	p.heading(fmt.Sprintf("Pairs struck before the carriage stood ready: %d of %d", len(worst), len(pairs)))
	if len(worst) == 0 {
		return
	}
	if t.Passage != nil && t.Passage.Fits {
		p.paperPairs(t, worst, most)
		return
	}
	letters := false
	for _, q := range worst {
		letters = letters || t.Strokes[q.second].Char != nil
	}
	column := func(s string) string {
		if !letters {
			return ""
		}
		return "  " + s + strings.Repeat(" ", max(0, 11-columns(s)))
	}
	p.line("  %6s  %5s  %8s%s  %-11s  %11s", "number", "line", "position", column("letters"), "short by", "slack in ms")
	for _, q := range worst[:min(most, len(worst))] {
		b := t.Strokes[q.second]
		p.line("  %6d  %5d  %8d%s  %-11s  %11s  %s", q.number, b.Line+1, b.Position,
			column(pairLetters(t, q)), shortBy(q), ms(q.slack), pairWord(q))
	}
	if more := len(worst) - most; more > 0 {
		p.line("  and %d more", more)
	}
	p.para("  ", "The worst come first. Lines count from 1; the position is how many spaces the carriage stood from the left margin.")
}

// pairLetters names the two strokes of a pair as far as the text is known: in
// their word, else one by one.
func pairLetters(t *diagnose.Take, q pair) string {
	if word := markedWord(t, q); word != "" {
		return word
	}
	name := func(s diagnose.Stroke) string {
		switch {
		case s.Char != nil && *s.Char != " ":
			letter, _ := cut(clean(*s.Char), 2)
			return letter
		case s.Kind == diagnose.KindSpace:
			return "space"
		default:
			return "?"
		}
	}
	return name(t.Strokes[q.first]) + " " + name(t.Strokes[q.second])
}

// pairWord says what kind of flagged pair it is.
func pairWord(q pair) string {
	if !q.seen {
		return q.spacing + " space"
	}
	return q.spacing
}

// meaning says in plain language what the figures say and what they don't.
func (p *printer) meaning(t *diagnose.Take, pairs []pair) {
	p.heading("What it means")
	for _, sentence := range meaning(t, pairs) {
		p.para("  ", sentence)
	}
}

func meaning(t *diagnose.Take, pairs []pair) []string {
	if !t.Recording.Usable {
		return []string{"Nothing can be said of the machine from this recording, and nothing should be adjusted because of it. Change what stands above and record it again."}
	}
	if len(t.Strokes) == 0 {
		return []string{"Whether the machine spaces well cannot be told: no stroke was heard."}
	}
	var out []string
	worst := worstPairs(pairs)
	slacks := knownSlacks(pairs)
	switch {
	case len(worst) > 0:
		piled := 0
		for _, q := range worst {
			if q.spacing == diagnose.SpacingPiled {
				piled++
			}
		}
		if n := len(worst) - piled; n > 0 {
			out = append(out, fmt.Sprintf("In %d of %s the second stroke came while the carriage was still on its way: faster than the carriage could space.",
				n, count(len(pairs), "pair")))
		}
		if piled > 0 {
			out = append(out, fmt.Sprintf("In %d of %s the carriage had not been let go or made no space, so the second letter stands on the first.",
				piled, count(len(pairs), "pair")))
		}
	case len(slacks) > 0:
		out = append(out, fmt.Sprintf("Every stroke that could be judged (%d of %s) came after the carriage stood ready; the tightest had %s ms to spare.",
			len(slacks), count(len(pairs), "pair"), ms(slacks[0])))
	default:
		out = append(out, "Whether letters crowd cannot be told: no landing could be paired with the stroke after it.")
	}
	s := t.Summary
	if ready := float(s.ReadyMS.Median); ready > 0 {
		out = append(out, fmt.Sprintf("The machine is ready for the next stroke %s ms after a strike (half of the strokes; at an even beat that is %s strokes a second).",
			ms(ready), decimal(1000/ready)))
	}
	latency, machine := float(s.LatencyMS.Median), float(s.MachineLatencyMS.Median)
	switch {
	case math.IsNaN(latency):
		out = append(out, "How much of that is the hand's and how much the machine's cannot be told: the release could not be heard apart.")
	case math.IsNaN(machine):
		out = append(out, fmt.Sprintf("Of that, %s ms pass before the carriage is released; how much of that is the finger's cannot be told.", ms(latency)))
	default:
		out = append(out, fmt.Sprintf("Of that, %s ms pass before the carriage is released: %s ms are the machine's, the rest is the finger still holding the key.",
			ms(latency), ms(machine)))
	}
	if s.MissedSpaces > 0 {
		out = append(out, fmt.Sprintf("%s made no space: the next letter stands on the one before.", count(s.MissedSpaces, "stroke")))
	}
	if s.Skipped > 0 {
		out = append(out, fmt.Sprintf("The carriage moved two spaces after %s: a gap stands on the page.", count(s.Skipped, "stroke")))
	}
	switch {
	case t.Answer.Text != "":
		out = append(out, clean(t.Answer.Text))
	case len(t.Findings) == 0 && (len(worst) > 0 || s.MissedSpaces > 0 || s.Skipped > 0):
		out = append(out, "What causes it cannot be told from this take alone, so no adjustment is proposed.")
	}
	return out
}

// knownSlacks are the slacks of all pairs in ms, the smallest first.
func knownSlacks(pairs []pair) []float64 {
	var out []float64
	for _, q := range pairs {
		if !math.IsNaN(q.slack) {
			out = append(out, q.slack)
		}
	}
	sort.Float64s(out)
	return out
}
