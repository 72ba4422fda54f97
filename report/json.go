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
	// A nil slice would be written as null, which means "not measured".
	out := *t
	if out.Schema == "" {
		out.Schema = diagnose.Schema
	}
	out.Recording.Problems = notNil(out.Recording.Problems)
	out.Strokes = notNil(out.Strokes)
	out.Lines = notNil(out.Lines)
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

	// Encoded as a whole first: a value that cannot be written leaves w untouched.
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(out); err != nil {
		return fmt.Errorf("cannot write the take as JSON: %w", err)
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
