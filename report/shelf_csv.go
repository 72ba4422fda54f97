package report

import (
	"encoding/csv"
	"io"
	"strconv"

	"loosedog/diagnose/compare"
	"loosedog/diagnose/record"
)

var shelfHeader = []string{
	"attention", "machine", "folder", "takes", "measured", "last_take", "last_date", "date_from",
	"letters_per_page", "letters_low", "letters_high", "alike",
	"travel_ms", "travel_low_ms", "travel_high_ms",
	"travel_change_ms", "travel_change_low_ms", "travel_change_high_ms", "travel_changed",
	"finding", "share", "strength", "last_done", "last_done_date", "not_measured",
}

// ShelfCSV writes one row a machine under a header row, in the shelf's order. What is
// not known is an empty cell; attention is empty for machines without a take that can
// be measured.
func ShelfCSV(w io.Writer, s *record.Shelf) error {
	if s == nil {
		return errNoShelf
	}
	c := csv.NewWriter(w)
	if err := c.Write(shelfHeader); err != nil {
		return err
	}
	for _, r := range s.Machines {
		row := []string{"", textCell(r.Machine), textCell(r.Folder), strconv.Itoa(r.Takes), strconv.Itoa(r.Measured), "", "", ""}
		if r.Attention > 0 {
			row[0] = strconv.Itoa(r.Attention)
		}
		if r.Last != nil {
			row[5], row[6], row[7] = textCell(r.Last.File), r.Last.Date, r.Last.DateFrom
		}
		row = append(append(row, rangeCells(r.Letters)...), strconv.FormatBool(r.Alike))
		row = append(append(row, rangeCells(r.TravelMS)...), rangeCells(r.TravelChange)...)
		row = append(row, strconv.FormatBool(r.Changed))
		if f := r.Strongest; f != nil {
			row = append(row, textCell(f.Fault), textCell(f.Share), textCell(f.Strength))
		} else {
			row = append(row, "", "", "")
		}
		row = append(row, textCell(r.LastDone), r.LastDoneDate, strconv.Itoa(len(r.NotMeasured)))
		if err := c.Write(row); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

func rangeCells(r compare.Range) []string {
	return []string{numberCell(r.Value, 3), numberCell(r.Low, 3), numberCell(r.High, 3)}
}

// HistoryCSV writes one row a take and measure under a header row: date, take,
// measure, unit, value and interval, and, in rows of their own, what was done.
func HistoryCSV(w io.Writer, h *record.History) error {
	if h == nil {
		return errNoHistory
	}
	c := csv.NewWriter(w)
	if err := c.Write([]string{"date", "date_from", "take", "measure", "unit", "value", "low", "high", "done"}); err != nil {
		return err
	}
	for i, t := range h.Takes {
		for _, m := range h.Measures {
			row := append([]string{t.Date, t.DateFrom, textCell(t.File), m.Name, m.Unit}, rangeCells(m.Points[i])...)
			if err := c.Write(append(row, "")); err != nil {
				return err
			}
		}
	}
	for _, d := range h.Done {
		if err := c.Write([]string{d.Date, record.FromLog, "", "", "", "", "", "", textCell(d.Text)}); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}
