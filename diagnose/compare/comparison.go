package compare

import "loosedog/diagnose"

// Schema names the layout of a comparison's JSON.
const Schema = "loosedog.comparison/1"

// The verdicts.
const (
	Better       = "better"
	Worse        = "worse"
	NoDifference = "no difference shown"
	CannotTell   = "cannot tell"
)

// Options are what the user says.
type Options struct {
	Action diagnose.Action // FullSpace when empty
	// Done is what was done to the machine between the takes, in the user's words.
	Done string
	// Resamples is how often lines are drawn anew for an interval; 1000 when 0.
	Resamples int
}

// Comparison is what came of comparing takes: what the program prints, in every
// format. Times are in milliseconds.
type Comparison struct {
	Schema  string `json:"schema"`
	Verdict string `json:"verdict"` // one of the verdicts above
	// Because says in sentences why; Record what to record where it cannot be told,
	// or to show more; Rule is the rule the verdict follows.
	Because []string `json:"because"`
	Record  []string `json:"record"`
	Rule    string   `json:"rule"`
	// Done is what was done between the takes; empty when nobody said.
	Done string `json:"done"`
	// Remarks say what limits the comparison.
	Remarks []Remark `json:"remarks"`

	Before Side `json:"before"`
	After  Side `json:"after"`

	// Measures are the machine's own; Hand those that speak of the typing, which no
	// verdict rests on. Positions are the travel in parts of the line, Letters single
	// letters against the others of their take (empty without a text).
	Measures  []Measure `json:"measures"`
	Hand      []Measure `json:"hand"`
	Positions []Measure `json:"positions"`
	Letters   []Measure `json:"letters"`

	// Typing are both machines under equal typing, the pooled hand first.
	Typing []EqualTyping `json:"equal_typing"`
	Raw    Raw           `json:"raw"`
	// Smallest are the changes that these takes would have shown four times in five.
	Smallest []Smallest `json:"smallest_shown"`
	// Method names the statistics in sentences.
	Method []string `json:"method"`
}

// Remark is one thing that limits a comparison.
type Remark struct {
	Code string `json:"code"`
	Text string `json:"text"`
	// Stops tells that it lets nothing be said at all.
	Stops bool `json:"stops"`
}

// Side is the takes before, or those after.
type Side struct {
	Takes   []TakeSummary `json:"takes"`
	Strokes int           `json:"strokes"`
	Lines   int           `json:"lines"`
	// Replayed checks the replay: the side's own typing on its own machine, letters
	// crowded or piled per page, beside what was Counted in the takes.
	Counted  diagnose.Number `json:"counted_per_page"`
	Replayed Range           `json:"replayed_per_page"`
}

// TakeSummary is one take of a side.
type TakeSummary struct {
	Path    string           `json:"path"`
	Summary diagnose.Summary `json:"summary"`
}

// Range is a value with its 95 % interval.
type Range = diagnose.Interval

// UnknownRange is one of which nothing is known.
func UnknownRange() Range {
	u := diagnose.Unknown()
	return Range{Value: u, Low: u, High: u}
}

// Measure is one thing measured before and after.
type Measure struct {
	Name string `json:"name"` // stable, for programs
	Text string `json:"text"` // for people
	Unit string `json:"unit"`
	// Where is the part of the line or the letter that it speaks of; empty for all.
	Where string `json:"where"`
	// Before and After are medians over the values: strokes, or lines where a line
	// gives one value (pull_lost). Of yes and no they are the share of yes.
	Before diagnose.Number `json:"before"`
	After  diagnose.Number `json:"after"`
	// Shift is after minus before with its interval: Hodges-Lehmann over line
	// medians (strokes for letters), a bootstrap by lines for shares.
	Shift Range `json:"shift"`
	// P is the two-sided p-value of the test named in Test, Corrected the same after
	// Holm's correction for all tests of its list.
	P         diagnose.Number `json:"p"`
	Corrected diagnose.Number `json:"p_corrected"`
	Test      string          `json:"test"`
	// Effect is Cliff's delta of the values: how often one after is greater than
	// one before less how often it is smaller, -1 to 1.
	Effect Range `json:"effect"`
	// Lines and values that it rests on, before and after.
	LinesBefore  int `json:"lines_before"`
	LinesAfter   int `json:"lines_after"`
	ValuesBefore int `json:"values_before"`
	ValuesAfter  int `json:"values_after"`
	// Change is "better", "worse" or "changed" where a change is shown, else empty.
	Change string `json:"change"`

	good  int     // 1: greater is better, -1: smaller is, 0: neither
	floor float64 // a shift under it (in Unit) is no change of the machine
}

// Changed of a measure that is neither good nor bad in itself.
const Changed = "changed"

// EqualTyping is what both machines make of the same typing: letters crowded or
// piled per page.
type EqualTyping struct {
	Hand string `json:"hand"`
	// Rate in strokes a second within lines, Flicked the share of flicked strokes.
	Rate       diagnose.Number `json:"rate_per_s"`
	Flicked    diagnose.Number `json:"flicked"`
	Before     Range           `json:"before"`
	After      Range           `json:"after"`
	Difference Range           `json:"difference"` // after minus before
}

// Pooled is the name of the hand made of the typing of both sides, half and half.
const Pooled = "both hands pooled"

// Raw is the difference as the pages show it, taken apart: letters crowded or piled
// per page, after minus before.
type Raw struct {
	Difference Range `json:"difference"`
	// Machine is what the machine made of it, Hand what the hand did: each is the
	// mean of its two differences with the other held fast, so that they add up to
	// the replayed difference (Kitagawa, E. M. (1955), JASA 50:1168-1194).
	Machine Range `json:"machine"`
	Hand    Range `json:"hand"`
}

// Smallest is the least change of a measure that would have been shown.
type Smallest struct {
	// Hand is the hand of equal typing that it speaks of; empty for a measure.
	Hand   string          `json:"-"`
	Name   string          `json:"name"`
	Text   string          `json:"text"`
	Unit   string          `json:"unit"`
	Change diagnose.Number `json:"change"`
}

// measure finds a measure by its name.
func (c *Comparison) measure(name string) *Measure {
	for i := range c.Measures {
		if c.Measures[i].Name == name {
			return &c.Measures[i]
		}
	}
	return nil
}

// Stopped tells whether something lets nothing be said.
func (c *Comparison) Stopped() bool {
	for _, r := range c.Remarks {
		if r.Stops {
			return true
		}
	}
	return false
}
