package report

import (
	"io"

	"loosedog/diagnose/compare"
)

// wrongJSON is what is said of figures that cannot be written as JSON.
const wrongJSON = "cannot make the JSON"

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
	return indentedJSON(w, wrongJSON, out)
}
