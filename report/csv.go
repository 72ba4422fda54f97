package report

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"loosedog/diagnose"
)

// csvHeader names the columns, with the unit at the end of the name: _s is
// seconds from the start of the file, _ms milliseconds, _spaces spaces of the
// carriage. Confidences run from 0 to 1.
var csvHeader = []string{
	"index", "kind", "line", "position", "char",
	"trip_s", "strike_s", "release_s", "landing_s",
	"trip_confidence", "strike_confidence", "release_confidence", "landing_confidence",
	"spacing", "short_by_spaces", "missed_space", "skipped",
	"interval_ms", "latency_ms", "travel_ms", "ready_ms", "slack_ms",
	"corrected", "text_line", "text_column", "word", "letter", "how",
}

// CSV writes one row a stroke under a header row whose names end in the unit
// (_s, _ms, _spaces). index, line and position count from 0 as in the JSON. What was
// not measured is an empty cell; corrected names the events put right by hand; the
// last five columns say where in the text a stroke stands. Times have six decimals,
// milliseconds three.
func CSV(w io.Writer, t *diagnose.Take) error {
	if t == nil {
		return errNoTake
	}
	c := csv.NewWriter(w)
	if err := c.Write(csvHeader); err != nil {
		return err
	}
	for _, s := range t.Strokes {
		row := []string{
			strconv.Itoa(s.Index), textCell(s.Kind), strconv.Itoa(s.Line),
			strconv.Itoa(s.Position), textCell(orEmpty(s.Char)),
			numberCell(s.TripS, 6), numberCell(s.StrikeS, 6),
			numberCell(s.ReleaseS, 6), numberCell(s.LandingS, 6),
			numberCell(s.Confidence.Trip, 3), numberCell(s.Confidence.Strike, 3),
			numberCell(s.Confidence.Release, 3), numberCell(s.Confidence.Landing, 3),
			textCell(orEmpty(s.Spacing)), numberCell(s.ShortBy, 3),
			strconv.FormatBool(s.MissedSpace), strconv.FormatBool(s.Skipped),
			numberCell(s.IntervalMS, 3), numberCell(s.LatencyMS, 3),
			numberCell(s.TravelMS, 3), numberCell(s.ReadyMS, 3), numberCell(s.SlackMS, 3),
			textCell(strings.Join(s.Corrected, " ")),
		}
		row = append(row, textCells(s.Text)...)
		if err := c.Write(row); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// textCells are the cells of a stroke's place in the text.
func textCells(p *diagnose.StrokePlace) []string {
	if p == nil {
		return make([]string, 5)
	}
	letter := ""
	if p.Letter >= 0 {
		letter = strconv.Itoa(p.Letter)
	}
	return []string{strconv.Itoa(p.Line), strconv.Itoa(p.Column), textCell(p.Word), letter, textCell(string(p.How))}
}

// numberCell is empty for a number that is not known.
func numberCell(n diagnose.Number, decimals int) string {
	if !n.Known() {
		return ""
	}
	return strconv.FormatFloat(float64(n), 'f', decimals, 64)
}

// textCell keeps a spreadsheet from taking a typed character for the start of a
// formula: such a cell is given an apostrophe in front, which spreadsheets read
// as "this is text".
func textCell(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	if strings.IndexAny(s, "=+-@\t\r\n") == 0 {
		return "'" + s
	}
	return s
}

func orEmpty(s *string) string {
	if s == nil {
		return ""
	}
	return *s
}
