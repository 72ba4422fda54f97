package report

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"loosedog/diagnose"
	"loosedog/diagnose/compare"
)

// errNoComparison is what every format of a comparison says when there is none.
var errNoComparison = errors.New("cannot write a report: there is no comparison")

// repairCautions stand in every note of a repair.
var repairCautions = []string{
	"The maker's service sheet and a repairer who knows the machine come before anything that stands here.",
	"The mainspring is under tension even when the machine is at rest, and can lash out and cut. Hold the drum before its cord or drum is touched, note how many turns are on it, and never take it out without knowing how it is let down.",
	"Keep fingers, long hair and sleeves clear of the carriage; it moves with force.",
	"One adjustment at a time: note what it was, bend little by little, record again. What did not help goes back.",
	"Solvents only as their labels and the local rules say.",
}

// ComparisonText writes a comparison for the terminal, in lines of at most 80
// columns: the verdict and why, what limits it, the machine's own measures, both
// machines under equal typing, the raw difference taken apart, what would have been
// seen, what to record, how it was worked out.
func ComparisonText(w io.Writer, c *compare.Comparison) error {
	if c == nil {
		return errNoComparison
	}
	p := &printer{w: bufio.NewWriter(w)}
	p.field("Before", sideText(c.Before))
	p.field("After", sideText(c.After))
	if c.Done != "" {
		p.field("Done", clean(c.Done))
	}
	p.blank()
	p.field("Verdict", strings.ToUpper(c.Verdict))
	for _, s := range c.Because {
		p.para("         - ", clean(s))
	}
	p.remarks(c)
	if c.Stopped() {
		p.record(c)
		return p.w.Flush()
	}
	p.machine(c)
	p.typing(c)
	p.raw(c)
	p.parts(c)
	p.smallest(c)
	p.record(c)
	p.heading("The rule of the verdict")
	p.para("  ", c.Rule)
	p.heading("How it was worked out")
	for _, s := range c.Method {
		p.para("  - ", s)
	}
	p.heading("Take care")
	for _, s := range repairCautions {
		p.para("  - ", s)
	}
	return p.w.Flush()
}

// sideText names a side's takes.
func sideText(s compare.Side) string {
	var names []string
	for _, t := range s.Takes {
		names = append(names, clean(t.Path))
	}
	return fmt.Sprintf("%s: %s on %s", strings.Join(names, ", "), count(s.Strokes, "stroke"), count(s.Lines, "line"))
}

// remarks says what limits the comparison.
func (p *printer) remarks(c *compare.Comparison) {
	list := limits(c)
	if len(list) == 0 {
		return
	}
	p.heading("What to bear in mind")
	for _, s := range list {
		p.para("  - ", clean(s))
	}
}

// limits are the remarks that are not said with the verdict.
func limits(c *compare.Comparison) []string {
	var out []string
	for _, r := range c.Remarks {
		if !r.Stops && !slices.Contains(c.Because, r.Text) {
			out = append(out, r.Text)
		}
	}
	return out
}

// machine lists the machine's own measures, then the hand's.
func (p *printer) machine(c *compare.Comparison) {
	rows := func(title string, list []compare.Measure) {
		if len(list) == 0 {
			return
		}
		p.heading(title)
		p.line("  %-24s %7s %7s  %-25s %s", "", "before", "after", "shift, 95 % interval", "shown")
		for _, m := range list {
			p.line("  %-24s %7s %7s  %-25s %s", cutTo(measureName(m)+", "+m.Unit, 24), short(float(m.Before)), short(float(m.After)), shiftText(m.Shift), shownText(m))
		}
	}
	rows("The machine itself", c.Measures)
	p.machineTests(c)
	rows("The hand, on which no verdict rests", c.Hand)
}

// machineTests gives test and effect of the machine's measures.
func (p *printer) machineTests(c *compare.Comparison) {
	for _, m := range c.Measures {
		if !m.P.Known() {
			continue
		}
		p.para("  - ", fmt.Sprintf("%s: p = %s, corrected %s (%s, %d and %d lines); effect %s (%s to %s) from %d and %d values",
			measureName(m), pText(m.P), pText(m.Corrected), m.Test, m.LinesBefore, m.LinesAfter,
			signed2(m.Effect.Value), signed2(m.Effect.Low), signed2(m.Effect.High), m.ValuesBefore, m.ValuesAfter))
	}
}

// measureName is a measure's short name.
func measureName(m compare.Measure) string {
	switch m.Name {
	case "machine_latency":
		return "machine's share"
	case "machine_ready":
		return "machine's ready time"
	case "pull_lost":
		return "pull lost on the line"
	case "missed_share":
		return "flicked, no space"
	case "hand_latency":
		return "finger's share"
	case "flicked_share":
		return "strokes flicked"
	}
	return strings.ReplaceAll(m.Name, "_", " ")
}

func cutTo(s string, n int) string {
	head, _ := cut(s, n)
	return head
}

// shiftText is a value with its interval.
func shiftText(r compare.Range) string {
	if !r.Value.Known() {
		return cannotTell
	}
	s := signed(r.Value)
	if r.Low.Known() && r.High.Known() {
		s += " (" + signed(r.Low) + " to " + signed(r.High) + ")"
	}
	return s
}

func signed(n diagnose.Number) string {
	if !n.Known() {
		return "?"
	}
	s := decimal(float64(n))
	if s != "0.0" && n > 0 {
		s = "+" + s
	}
	return s
}

func signed2(n diagnose.Number) string {
	if !n.Known() {
		return "?"
	}
	if s := fmt.Sprintf("%+.2f", float64(n)); s != "-0.00" {
		return s
	}
	return "+0.00"
}

// shownText says whether a change is shown.
func shownText(m compare.Measure) string {
	switch {
	case m.Change != "":
		return m.Change
	case !m.Corrected.Known():
		return cannotTell
	case m.Corrected < 0.05:
		return "not counted"
	}
	return "no change"
}

func pText(n diagnose.Number) string {
	switch {
	case !n.Known():
		return cannotTell
	case n < 0.0001:
		return "under 0.0001"
	case n > 0.99:
		return "1"
	}
	return fmt.Sprintf("%.2g", float64(n))
}

// letters is a number of letters with its interval.
func letters(r compare.Range, sign bool) string {
	f := func(n diagnose.Number) string {
		if !n.Known() {
			return "?"
		}
		x := math.Round(float64(n))
		if sign && x != 0 {
			return fmt.Sprintf("%+.0f", x)
		}
		return fmt.Sprintf("%.0f", math.Abs(x))
	}
	if !r.Value.Known() {
		return cannotTell
	}
	return fmt.Sprintf("%s (%s to %s)", f(r.Value), f(r.Low), f(r.High))
}

// typing lists both machines under equal typing.
func (p *printer) typing(c *compare.Comparison) {
	p.heading(fmt.Sprintf("Under equal typing: letters crowded or piled a page (%d strokes)", compare.PageStrokes))
	p.line("  %-18s %-16s %-16s %s", "", "before", "after", "difference")
	for _, e := range c.Typing {
		p.line("  %-18s %-16s %-16s %s", e.Hand, letters(e.Before, false), letters(e.After, false), letters(e.Difference, true))
	}
	for _, e := range c.Typing {
		p.para("  - ", handText(e))
	}
	p.para("  ", "A flicked stroke is a short one: the finger is off the key before the type is back from the paper.")
}

// handText says how a hand types.
func handText(e compare.EqualTyping) string {
	s := fmt.Sprintf("%s: %s strokes a second", e.Hand, short(float(e.Rate)))
	if e.Flicked.Known() {
		s += fmt.Sprintf(", %.0f in 100 of them flicked", 100*float64(e.Flicked))
	}
	if e.Hand == compare.Pooled {
		s += ", as typed for these takes"
	}
	return s
}

// raw takes the difference of the pages apart.
func (p *printer) raw(c *compare.Comparison) {
	p.heading("The pages as they are, and who made the difference")
	for _, s := range rawText(c) {
		p.para("  - ", s)
	}
}

func rawText(c *compare.Comparison) []string {
	return []string{
		fmt.Sprintf("Counted: %s letters a page before, %s after: %s.", toWhole(c.Before.Counted), toWhole(c.After.Counted), letters(c.Raw.Difference, true)),
		fmt.Sprintf("The machine made %s of that, the hand %s.", letters(c.Raw.Machine, true), letters(c.Raw.Hand, true)),
		fmt.Sprintf("As a check, each page replayed on its own machine: %s before, %s after.", letters(c.Before.Replayed, false), letters(c.After.Replayed, false)),
	}
}

func toWhole(n diagnose.Number) string {
	if !n.Known() {
		return "?"
	}
	return fmt.Sprintf("%.0f", float64(n))
}

// parts lists changes in parts of the line and of single letters.
func (p *printer) parts(c *compare.Comparison) {
	show := func(title string, list []compare.Measure, of string) {
		if len(list) == 0 {
			return
		}
		p.heading(title)
		n := 0
		for _, m := range list {
			if m.Change == "" {
				continue
			}
			n++
			p.line("  %-28s %7s %7s  %-22s %s", cutTo(clean(m.Name+", "+of+m.Where), 28), short(float(m.Before)), short(float(m.After)), shiftText(m.Shift), m.Change)
		}
		if n == 0 {
			p.para("  ", fmt.Sprintf("None of the %d stands out from chance.", len(list)))
		}
	}
	show("Parts of the line, ms", c.Positions, "")
	show("Single letters against the others, ms", c.Letters, "letter ")
}

// smallest says what would have been seen.
func (p *printer) smallest(c *compare.Comparison) {
	if len(c.Smallest) == 0 {
		return
	}
	p.heading("The smallest change that these takes would have shown four times in five")
	for _, s := range smallestText(c) {
		p.line("  %s", s)
	}
}

func smallestText(c *compare.Comparison) []string {
	var out []string
	for _, s := range c.Smallest {
		out = append(out, fmt.Sprintf("%s: %s %s", s.Text, short(float(s.Change)), s.Unit))
	}
	return out
}

// record says what to record.
func (p *printer) record(c *compare.Comparison) {
	if len(c.Record) == 0 {
		return
	}
	p.heading("What to record")
	for _, s := range c.Record {
		p.para("  - ", s)
	}
}
