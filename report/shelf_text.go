package report

import (
	"bufio"
	"fmt"
	"io"
	"math"

	"loosedog/diagnose"
	"loosedog/diagnose/compare"
	"loosedog/diagnose/record"
)

// mostWithout is how many takes without figures are listed for a machine.
const mostWithout = 5

// ShelfText writes a shelf for the terminal, in lines of at most 80 columns: one row
// a machine, that which needs attention first on top, below it what it has and what
// was last done, then what to check on the first one, and the rule of the order.
func ShelfText(w io.Writer, s *record.Shelf) error {
	if s == nil {
		return errNoShelf
	}
	p := &printer{w: bufio.NewWriter(w)}
	takes := 0
	for _, r := range s.Machines {
		takes += r.Takes
	}
	p.field("Shelf", fmt.Sprintf("%s: %s, %s", clean(s.Folder), count(len(s.Machines), "machine"), count(takes, "take")))
	p.blank()
	p.line("     %-23s %-10s  %-17s %-7s %s", "machine", "last take", "letters a page", "travel", "since first")
	for _, r := range s.Machines {
		p.shelfRow(r)
	}
	if len(s.Machines) > 0 && s.Machines[0].Attention == 1 {
		p.first(s.Machines[0])
	}
	if len(s.Problems) > 0 {
		p.heading("What could not be used")
		for _, str := range s.Problems {
			p.para("  - ", clean(str))
		}
	}
	p.heading("The order")
	p.para("  - ", s.Rule)
	p.para("  - ", "\"like above\": by these takes it cannot be told from the machine above it.")
	p.para("  - ", "In brackets: the 95 % interval. Travel \"longer\" or \"shorter\": since the first take, by more than chance; \"same\": no change shown.")
	return p.w.Flush()
}

func (p *printer) shelfRow(r record.Row) {
	no, last, travel := "-", "", ""
	if r.Attention > 0 {
		no = fmt.Sprint(r.Attention)
	}
	letters := cannotTell
	if r.Last != nil {
		last, letters, travel = r.Last.Date, wholeRange(r.Letters), short(float(r.TravelMS.Value))+" ms"
	}
	p.line("%3s  %-23s %-10s  %-17s %-7s %s", no, cutTo(clean(r.Machine), 23), last, letters, travel, changeText(r))
	const indent = "     "
	if r.Alike {
		p.line(indent + "like above")
	}
	switch {
	case r.Last == nil && r.Takes == 0:
		p.line(indent + "no take yet: record a page")
	case r.Last == nil:
		p.line(indent + "no take can be measured: record a page anew")
	case r.Strongest != nil:
		p.para(indent, findingTitle(*r.Strongest))
	}
	if r.LastDone != "" {
		done := "done: " + clean(r.LastDone)
		if r.LastDoneDate != "" {
			done = "done " + r.LastDoneDate + ": " + clean(r.LastDone)
		}
		p.para(indent, done)
	}
	p.without(indent, r.NotMeasured)
	for _, str := range r.Problems {
		p.para(indent+"! ", clean(str))
	}
}

// without lists takes that have no figures.
func (p *printer) without(indent string, list []record.Without) {
	for i, t := range list {
		if i == mostWithout {
			p.line("%s! and %s more without figures", indent, count(len(list)-i, "take"))
			return
		}
		p.para(indent+"! ", fmt.Sprintf("%s (%s): %s", clean(t.File), t.Date, clean(t.Why)))
	}
}

// first says what to check on the machine that needs attention first.
func (p *printer) first(r record.Row) {
	p.heading("First: " + cutTo(clean(r.Machine), 60))
	f := r.Strongest
	if f == nil || f.Check == "" {
		p.para("  - ", fmt.Sprintf("No cause stands out. Look at its last take: loosedog measure %s, in the folder %s.", clean(r.Last.File), clean(r.Folder)))
		return
	}
	p.para("  check    ", clean(f.Check))
	p.para("  caution  ", cautionOf(*f))
}

// changeText says how the travel changed.
func changeText(r record.Row) string {
	v := r.TravelChange.Value
	switch {
	case r.First == nil || r.First.File == r.Last.File:
		return ""
	case !v.Known():
		return cannotTell
	case !r.Changed:
		return signed(v) + " same"
	case v > 0:
		return signed(v) + " longer"
	}
	return signed(v) + " shorter"
}

// wholeRange is a count with its interval.
func wholeRange(r compare.Range) string {
	if !r.Value.Known() {
		return cannotTell
	}
	s := wholeCount(r.Value)
	if r.Low.Known() && r.High.Known() {
		s += fmt.Sprintf(" (%s to %s)", wholeCount(r.Low), wholeCount(r.High))
	}
	return s
}

// wholeCount is a number that is not under 0, without decimals; one too long for any
// column is written with its power of ten.
func wholeCount(n diagnose.Number) string {
	if n >= 1e5 {
		return fmt.Sprintf("%.1g", float64(n))
	}
	return fmt.Sprintf("%.0f", math.Max(0, float64(n)))
}
