package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"loosedog/diagnose"
)

// errNoTake is what every format says when there is nothing to write.
var errNoTake = errors.New("cannot write a report: there is no take")

// JSON writes t as one indented object with a newline at the end. The names are
// those of [diagnose.Take]; what was not measured is null, lists without members
// are [] and never null.
func JSON(w io.Writer, t *diagnose.Take) error {
	if t == nil {
		return errNoTake
	}
	out := filled(t)
	if out.Schema == "" {
		out.Schema = diagnose.Schema
	}
	return indentedJSON(w, "cannot write the take as JSON", out)
}

// filled is a copy of t whose lists are never nil: a nil one would be written as
// null, which means "not measured".
func filled(t *diagnose.Take) *diagnose.Take {
	out := *t
	out.Recording.Problems = notNil(out.Recording.Problems)
	out.Strokes, out.Lines = notNil(out.Strokes), notNil(out.Lines)
	if out.Passage != nil {
		p := *out.Passage
		p.Missing, p.MissedLines, p.Pairs = notNil(p.Missing), notNil(p.MissedLines), notNil(p.Pairs)
		out.Passage = &p
	}
	out.Findings = append([]diagnose.Finding{}, out.Findings...)
	for i := range out.Findings {
		out.Findings[i].Evidence = notNil(out.Findings[i].Evidence)
		out.Findings[i].Where = notNil(out.Findings[i].Where)
	}
	return &out
}

// indentedJSON writes v as one indented object with a newline at the end; wrong is
// what is said where that fails.
func indentedJSON(w io.Writer, wrong string, v any) error {
	// Encoded as a whole first: a value that cannot be written leaves w untouched.
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("%s: %w", wrong, err)
	}
	_, err := w.Write(b.Bytes())
	return err
}

func notNil[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}
