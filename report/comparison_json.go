package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"

	"loosedog/diagnose/compare"
)

// ComparisonJSON writes c as one indented object with a newline at the end, of
// schema [compare.Schema]. What is not known is null; lists without members are [].
func ComparisonJSON(w io.Writer, c *compare.Comparison) error {
	if c == nil {
		return errNoComparison
	}
	out := *c
	out.Because, out.Record, out.Remarks, out.Method = notNil(c.Because), notNil(c.Record), notNil(c.Remarks), notNil(c.Method)
	out.Measures, out.Hand, out.Positions, out.Letters = notNil(c.Measures), notNil(c.Hand), notNil(c.Positions), notNil(c.Letters)
	out.Typing, out.Smallest = notNil(c.Typing), notNil(c.Smallest)
	out.Before.Takes, out.After.Takes = notNil(c.Before.Takes), notNil(c.After.Takes)
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(out); err != nil {
		return fmt.Errorf("cannot make the JSON: %w", err)
	}
	_, err := w.Write(b.Bytes())
	return err
}
