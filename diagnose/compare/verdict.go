package compare

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"loosedog/diagnose"
)

// least is how many letters a page the machines must differ by under equal typing
// to be worth a verdict.
const least = 2

// rule is the rule of the verdict, for people.
var rule = fmt.Sprintf("\"Better\" takes two things at once. First, a measure of the machine itself (travel, lead, its share of the latency, pull lost, missed spaces of flicked strokes) has changed for the better by more than chance does in 1 of 20 comparisons, all measures taken together. Second, under equal typing the machine crowds or piles at least %d letters a page less than before, and the 95 %% interval of that difference leaves out zero: for the typing of both pages together or, where that shows nothing, for one of the fixed hands, none of the others showing the opposite. \"Worse\" is the same the other way round. Fewer crowded letters on the page alone decide nothing.", least)

// method names the statistics, for people.
var method = []string{
	"The lines of a page are the units: strokes within a line are not independent, so each line counts once, with its median.",
	"Shift: the median of all differences between a line after and a line before (Hodges-Lehmann), with the interval that belongs to the test.",
	"Test: all ways of dealing the lines out to before and after are counted, and p is the share of them in which the two differ as much as they did (Wilcoxon-Mann-Whitney, exact; for shares a permutation test over the lines).",
	"Several measures are looked at, so their p-values are corrected together (Holm).",
	"Effect: of all pairs of a stroke before and one after, how many more are longer after than shorter, -1 to 1 (Cliff's delta).",
	"Equal typing: the intervals and finger times of both pages are replayed through what each take shows of its machine; the intervals come from drawing the lines of both takes anew many times (bootstrap).",
	"Smallest change: what would have been shown four times in five (2.8 standard errors).",
}

// shownFactor is what a change must be in standard errors to be shown four times in
// five at the 5 % level: 1.96 + 0.84.
var shownFactor = distuv.UnitNormal.Quantile(0.975) + distuv.UnitNormal.Quantile(0.8)

// smallest works out the least change of each measure that would have been shown.
func (c *Comparison) smallest(differences map[string][]float64) {
	for _, m := range c.Measures {
		half := float64(m.Shift.High-m.Shift.Low) / 2
		if math.IsNaN(half) {
			continue
		}
		change := shownFactor * half / distuv.UnitNormal.Quantile((1+level)/2)
		change = max(change, m.floor)
		c.Smallest = append(c.Smallest, Smallest{Name: m.Name, Text: m.Text, Unit: m.Unit, Change: diagnose.Number(change)})
	}
	for _, e := range c.Typing {
		d := diagnose.Sorted(differences[e.Hand])
		if len(d) < 2 {
			continue
		}
		change := max(shownFactor*stat.StdDev(d, nil), least)
		c.Smallest = append(c.Smallest, Smallest{Hand: e.Hand, Name: "letters", Text: "letters crowded or piled, " + e.Hand, Unit: "a page", Change: diagnose.Number(change)})
	}
}

// toward is -1 where equal typing shows fewer letters, 1 where it shows more, 0
// where it shows neither.
func (e *EqualTyping) toward() int {
	switch d := e.Difference; {
	case d.High < 0 && d.Value <= -least:
		return -1
	case d.Low > 0 && d.Value >= least:
		return 1
	}
	return 0
}

// judge sets the verdict, why, and what to record.
func (c *Comparison) judge() {
	if c.Stopped() {
		for _, r := range c.Remarks {
			if r.Stops {
				c.Because = append(c.Because, r.Text)
			}
		}
		c.Record = append(c.Record, recordAgain)
		return
	}
	letters, by, against := c.letters()
	var good, bad []string
	for _, m := range c.Measures {
		switch m.Change {
		case Better:
			good = append(good, changeText(m))
		case Worse:
			bad = append(bad, changeText(m))
		}
	}
	switch {
	case letters < 0 && len(good) > 0 && !against:
		c.Verdict = Better
	case letters > 0 && len(bad) > 0 && !against:
		c.Verdict = Worse
	case against:
		c.Verdict = CannotTell
	default:
		c.Verdict = NoDifference
	}
	for _, s := range good {
		c.Because = append(c.Because, "Better: "+s)
	}
	for _, s := range bad {
		c.Because = append(c.Because, "Worse: "+s)
	}
	if len(good)+len(bad) == 0 {
		c.Because = append(c.Because, "No measure of the machine itself changed by more than chance allows.")
	}
	c.Because = append(c.Because, typingText(*by))
	if against {
		c.Because = append(c.Because, "One way of typing gains and another loses, so it depends on the hand whether the machine is better.")
		return
	}
	if c.Verdict == NoDifference {
		c.unshown(letters, good, bad)
	}
}

const recordAgain = "Record both pages alike: the same place for the phone, eight full lines of the same text, at the pace at which the trouble shows."

// letters says which way equal typing points, by which hand, and whether hands
// contradict one another where the pooled typing does not decide.
func (c *Comparison) letters() (toward int, by *EqualTyping, against bool) {
	by = &c.Typing[0] // the pooled hand
	if toward = by.toward(); toward != 0 {
		return toward, by, false
	}
	for i := range c.Typing {
		e := &c.Typing[i]
		switch t := e.toward(); {
		case t == 0:
		case toward == 0, t == toward && math.Abs(float64(e.Difference.Value)) > math.Abs(float64(by.Difference.Value)):
			toward, by = t, e
		case t != toward:
			against = true
		}
	}
	return toward, by, against
}

// unshown says what a comparison without a difference is worth.
func (c *Comparison) unshown(letters int, good, bad []string) {
	switch {
	case letters != 0:
		c.Because = append(c.Because, "The letters differ, but no measure of the machine itself shows a change that explains it.")
	case len(good)+len(bad) > 0:
		c.Because = append(c.Because, fmt.Sprintf("Under equal typing that makes no difference of %d letters a page that stands out from chance.", least))
	}
	for _, r := range c.Remarks {
		if r.Code == "flicked-in-one-only" {
			c.Verdict = CannotTell
			c.Because = append(c.Because, r.Text)
			c.Record = append(c.Record, "Record one more page now, eight lines with many short, flicked strokes, the finger off the key at once, and compare again.")
		}
	}
	travel, brisk := Smallest{Change: diagnose.Unknown()}, Smallest{Change: diagnose.Unknown()}
	for _, s := range c.Smallest {
		if s.Name == "travel" {
			travel = s
		}
		if s.Hand == Brisk.Name {
			brisk = s
		}
	}
	if m := c.measure("travel"); m != nil && float64(travel.Change) > coarse*float64(m.Before) || float64(brisk.Change) > coarseLetters {
		c.Verdict = CannotTell
		c.Because = append(c.Because, "These takes scatter too much to show any but a large change.")
		c.Record = append(c.Record, recordAgain, "Two or three pages on each side show smaller changes than one.")
	}
	if c.Verdict == NoDifference {
		c.Record = append(c.Record, "To show a smaller change, record two or three pages on each side, and type some of the lines with short, flicked strokes.")
	}
}

// A comparison that would have missed a change of the travel by this share, or of
// this many letters a page under the brisk hand, cannot tell.
const (
	coarse        = 0.15
	coarseLetters = 15
)

// changeText is a change in words.
func changeText(m Measure) string {
	f := func(n diagnose.Number) string { return fmt.Sprintf("%.1f", float64(n)) }
	s := fmt.Sprintf("%s, %s %s before and %s after; shift %s", m.Text, f(m.Before), m.Unit, f(m.After), f(m.Shift.Value))
	if m.Shift.Low.Known() && m.Shift.High.Known() {
		s += fmt.Sprintf(" (%s to %s)", f(m.Shift.Low), f(m.Shift.High))
	}
	return s + "."
}

// typingText is a difference under equal typing in words.
func typingText(e EqualTyping) string {
	d := e.Difference
	who := "With the typing of both pages"
	if e.Hand != Pooled {
		who = "Typed by a " + e.Hand
	}
	return fmt.Sprintf("%s, the machine crowds or piles %.0f letters a page after, %.0f before: a difference of %+.0f (%+.0f to %+.0f).",
		who, float64(e.After.Value), float64(e.Before.Value), float64(d.Value), float64(d.Low), float64(d.High))
}
