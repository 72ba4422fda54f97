package report

import (
	"bytes"
	"encoding/csv"
	"io"
	"testing"
)

// Typed characters that a spreadsheet would take for a formula become text.
// The characters are those that OWASP's page on CSV injection names.
func TestCSVNoFormula(t *testing.T) {
	for _, c := range []string{"=", "+", "-", "@", "\t", "\r", "=cmd|' /C calc'!A0"} {
		take := smallTake()
		take.Strokes[0].Char = &c
		rows, err := csv.NewReader(bytes.NewReader(written(t, func(w io.Writer) error { return CSV(w, take) }))).ReadAll()
		if err != nil {
			t.Fatalf("%q: %v", c, err)
		}
		cell := rows[1][4]
		if cell == "" || cell[0] != '\'' {
			t.Errorf("the character %q stands as %q", c, cell)
		}
	}
	take := smallTake()
	rows, _ := csv.NewReader(bytes.NewReader(written(t, func(w io.Writer) error { return CSV(w, take) }))).ReadAll()
	if got := rows[2][4]; got != "e" {
		t.Errorf("an ordinary character stands as %q", got)
	}
	// A negative slack is a number, not a formula.
	if got := rows[1][21]; got != "-20.000" {
		t.Errorf("slack stands as %q, want -20.000", got)
	}
}
