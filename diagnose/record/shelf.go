package record

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"loosedog/diagnose"
	"loosedog/diagnose/compare"
)

// ShelfSchema names the layout of a shelf's JSON.
const ShelfSchema = "loosedog.shelf/1"

// Shelf is a shelf of machines, the one that needs attention first on top.
type Shelf struct {
	Schema   string `json:"schema"`
	Folder   string `json:"folder"`
	Rule     string `json:"rule"`
	Machines []Row  `json:"machines"`
	// Problems are what of the shelf's folder could not be used.
	Problems []string `json:"problems"`
}

// Row is one machine of a shelf. Its figures are those of its last take that can be
// measured.
type Row struct {
	// Attention is 1 for the machine that needs it first; 0 where no take of it can
	// be measured.
	Attention int    `json:"attention"`
	Machine   string `json:"machine"`
	Folder    string `json:"folder"`
	Takes     int    `json:"takes"`
	Measured  int    `json:"measured"` // of them, that can be measured
	// First and Last are the takes that the figures rest on; null without one.
	First *When `json:"first"`
	Last  *When `json:"last"`
	// Letters are the letters a page that come out crowded or piled at the same
	// fixed hand; Alike tells that they cannot be told from those of the row above.
	Letters compare.Range `json:"letters_per_page"`
	Alike   bool          `json:"alike"`
	// TravelMS is the travel, TravelChange what it changed by since the first take;
	// Changed tells that this is more than chance.
	TravelMS     compare.Range `json:"travel_ms"`
	TravelChange compare.Range `json:"travel_change_ms"`
	Changed      bool          `json:"travel_changed"`
	// Strongest is the strongest finding, without evidence and places; null without.
	Strongest *diagnose.Finding `json:"strongest"`
	// LastDone is what was last done, LastDoneDate when; empty where it is not known.
	LastDone     string `json:"last_done"`
	LastDoneDate string `json:"last_done_date"`
	// NotMeasured are takes without figures, Problems what else could not be used.
	NotMeasured []Without `json:"not_measured"`
	Problems    []string  `json:"problems"`
}

// When is a take and its date.
type When struct {
	File     string `json:"file"`
	Date     string `json:"date"` // 2006-01-02
	DateFrom string `json:"date_from"`
}

// Without is a take without figures, and why.
type Without struct {
	When
	Why string `json:"why"`
}

func when(t *Take) *When {
	return &When{File: t.File, Date: t.Date.Format(time.DateOnly), DateFrom: t.DateFrom}
}

// rule is what the order goes by.
var rule = fmt.Sprintf("Most letters a page first: how many of %d come out crowded or piled when the same fixed hand (%.0f strokes a second) types on the machine, by its last take that can be measured. Equal ones: the travel that has grown more since the first take first. Machines without such a take stand last; record them.",
	compare.PageStrokes, compare.Reference.Rate)

// NewShelf puts machines whose takes are measured in order.
func NewShelf(folder string, machines []*Machine, problems []string) *Shelf {
	s := &Shelf{Schema: ShelfSchema, Folder: folder, Rule: rule, Machines: []Row{}, Problems: append([]string{}, problems...)}
	for _, m := range machines {
		s.Machines = append(s.Machines, m.row())
	}
	slices.SortStableFunc(s.Machines, func(a, b Row) int {
		if c := more(a.Letters.Value, b.Letters.Value); c != 0 {
			return c
		}
		if c := more(a.TravelChange.Value, b.TravelChange.Value); c != 0 {
			return c
		}
		return strings.Compare(a.Machine, b.Machine)
	})
	for i := range s.Machines {
		r := &s.Machines[i]
		if !r.Letters.Value.Known() {
			continue
		}
		r.Attention = i + 1
		r.Alike = i > 0 && r.Letters.High >= s.Machines[i-1].Letters.Low
	}
	return s
}

// more puts the greater number first and those that are not known last.
func more(a, b diagnose.Number) int {
	switch {
	case a.Known() != b.Known():
		if a.Known() {
			return -1
		}
		return 1
	case a > b:
		return -1
	case a < b:
		return 1
	}
	return 0
}

func (m *Machine) row() Row {
	none := compare.UnknownRange()
	r := Row{Machine: m.Name(), Folder: m.Folder, Takes: len(m.Takes), Letters: none, TravelMS: none, TravelChange: none,
		NotMeasured: []Without{}, Problems: append([]string{}, m.Problems...)}
	text, date := m.LastDone()
	if r.LastDone = text; !date.IsZero() {
		r.LastDoneDate = date.Format(time.DateOnly)
	}
	var first, last *Take
	for _, t := range m.Takes {
		if !t.Usable() {
			r.NotMeasured = append(r.NotMeasured, t.without())
			continue
		}
		r.Measured++
		if first == nil {
			first = t
		}
		last = t
	}
	if last == nil {
		return r
	}
	r.First, r.Last = when(first), when(last)
	k := last.Kept
	r.Letters, r.TravelMS, r.Strongest = ranged(k.Letters), ranged(k.Summary.TravelMS), k.Strongest
	if first != last {
		r.TravelChange = compare.Shift(floats(first.Kept.TravelMS), floats(k.TravelMS))
		r.Changed = r.TravelChange.Low > 0 || r.TravelChange.High < 0
	}
	return r
}

// without is a take that has no figures.
func (t *Take) without() Without {
	why := t.Why
	if t.Kept != nil {
		why = t.Kept.Why
	}
	return Without{*when(t), strings.TrimSuffix(oneLine(why), ".")}
}

// ranged is a figure's median with its interval.
func ranged(f diagnose.Figure) compare.Range {
	return compare.Range{Value: f.Median, Low: f.Low, High: f.High}
}
