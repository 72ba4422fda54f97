package report

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"loosedog/diagnose"
	"loosedog/diagnose/compare"
	"loosedog/diagnose/record"
)

// HistoryText writes a machine's history for the terminal, in lines of at most 80
// columns: each measure take by take with what was done in between, the changes that
// stand out from noise, and how they are told from it.
func HistoryText(w io.Writer, h *record.History) error {
	if h == nil {
		return errNoHistory
	}
	p := &printer{w: bufio.NewWriter(w)}
	p.field("Machine", clean(h.Machine))
	p.field("Takes", fmt.Sprintf("%s with figures", count(len(h.Takes), "take")))
	p.courses(h)
	p.heading("What changed")
	if len(h.Changes) == 0 {
		switch {
		case len(h.Takes) < 2:
			p.para("  - ", "With fewer than two takes nothing can be told.")
		default:
			p.para("  - ", "No change stands out from noise.")
		}
	}
	for _, c := range h.Changes {
		p.para("  - ", changeLine(h, c))
	}
	if len(h.NotMeasured) > 0 {
		p.heading("Without figures")
		p.without("  ", h.NotMeasured)
	}
	if len(h.Problems) > 0 {
		p.heading("What could not be used")
		for _, str := range h.Problems {
			p.para("  - ", clean(str))
		}
	}
	p.heading("How it was worked out")
	for _, str := range h.Method {
		p.para("  - ", str)
	}
	if len(h.Done) > 0 {
		p.heading("Take care")
		for _, str := range repairCautions {
			p.para("  - ", str)
		}
	}
	return p.w.Flush()
}

// courses lists the takes with their figures and what was done between them.
func (p *printer) courses(h *record.History) {
	if len(h.Takes) == 0 {
		for _, d := range h.Done {
			p.deed(d)
		}
		return
	}
	p.blank()
	p.line("  %-10s %-9s %-16s %-13s %-9s %-7s %s", "", "", "travel", "lead", "machine's", "ready", "letters")
	p.line("  %-10s %-9s %-16s %-13s %-9s %-7s %s", "date", "from", "ms", "ms", "latency", "time", "a page")
	done := h.Done
	for i, t := range h.Takes {
		for len(done) > 0 && !done[0].At().After(t.At()) {
			p.deed(done[0])
			done = done[1:]
		}
		of := func(name string) compare.Range {
			if c := courseOf(h, name); c != nil {
				return c.Points[i]
			}
			return compare.Range{Value: diagnose.Unknown()}
		}
		within := func(name string) string {
			r := of(name)
			if !r.Value.Known() {
				return "?"
			}
			return fmt.Sprintf("%s (%s-%s)", short(float(r.Value)), short(float(r.Low)), short(float(r.High)))
		}
		letters := "?"
		if v := of("letters").Value; v.Known() {
			letters = wholeCount(v)
		}
		p.line("  %-10s %-9s %-16s %-13s %-9s %-7s %s", t.Date, t.DateFrom, within("travel"), within("lead"),
			short(float(of("machine_latency").Value)), short(float(of("ready").Value)), letters)
		p.para("              ", clean(t.File))
	}
	for _, d := range done {
		p.deed(d)
	}
}

// courseOf is the course of a measure, nil where the history has none.
func courseOf(h *record.History, name string) *record.Course {
	for i := range h.Measures {
		if h.Measures[i].Name == name {
			return &h.Measures[i]
		}
	}
	return nil
}

func (p *printer) deed(d record.Deed) {
	p.para("  "+d.Date+"  >> ", clean(d.Text))
}

// changeLine is a change in words.
func changeLine(h *record.History, c record.Change) string {
	how := "longer"
	if c.Shift.Value < 0 {
		how = "shorter"
	}
	s := fmt.Sprintf("Between %s and %s the %s became %s: %s %s (p corrected %s).",
		h.Takes[c.Before].Date, h.Takes[c.After].Date, c.Text, how, shiftText(c.Shift), c.Unit, pText(c.Corrected))
	if len(c.Done) == 0 {
		return s + " The log says of nothing that was done in between."
	}
	return s + " Done in between: " + clean(strings.Join(c.Done, "; ")) + "."
}
