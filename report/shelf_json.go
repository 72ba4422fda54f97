package report

import (
	"errors"
	"io"

	"loosedog/diagnose/record"
)

// What the formats say when there is nothing to write.
var (
	errNoShelf   = errors.New("cannot write a report: there is no shelf")
	errNoHistory = errors.New("cannot write a report: there is no history")
)

// ShelfJSON writes s as one indented object with a newline at the end, of schema
// [record.ShelfSchema]. What is not known is null; lists without members are [].
func ShelfJSON(w io.Writer, s *record.Shelf) error {
	if s == nil {
		return errNoShelf
	}
	return indentedJSON(w, wrongJSON, s)
}

// HistoryJSON writes h the same way, of schema [record.HistorySchema].
func HistoryJSON(w io.Writer, h *record.History) error {
	if h == nil {
		return errNoHistory
	}
	return indentedJSON(w, wrongJSON, h)
}
