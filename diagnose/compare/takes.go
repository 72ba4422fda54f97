package compare

import (
	"fmt"
	"math"

	"loosedog/diagnose"
)

// fewestLines is how many lines each side needs: of fewer than five against five,
// no rank-sum test of them can reach 0.05 once it is corrected for five measures
// (the least p-value is 2/C(10,5) = 0.0079, and 2/C(8,4) = 0.029).
const fewestLines = 5

// Takes compares takes before with takes after. It changes none of them. opt.Action
// counts where the takes do not say with which action they were measured.
func Takes(before, after []*diagnose.Take, opt Options) *Comparison {
	if opt.Resamples <= 0 {
		opt.Resamples = 1000
	}
	c := &Comparison{
		Schema: Schema, Verdict: CannotTell, Rule: rule, Done: opt.Done, Method: method,
		Because: []string{}, Record: []string{}, Remarks: []Remark{},
		Measures: []Measure{}, Hand: []Measure{}, Positions: []Measure{}, Letters: []Measure{},
		Typing: []EqualTyping{}, Smallest: []Smallest{},
		Before: summed(before), After: summed(after),
		Raw: Raw{UnknownRange(), UnknownRange(), UnknownRange()},
	}
	both := [2][]*diagnose.Take{before, after}
	c.byHand(both)
	opt.Action = actionOf(both, opt)
	m := c.comparable(both, opt)
	if c.Stopped() {
		c.judge()
		return c
	}
	wrong := belied(both)
	if wrong {
		c.remark(false, "misses-belied", "Missed spaces were heard that were none: the bell, which hangs on the carriage, rang after as many strokes on lines with many of them as on lines with few. They are left out.")
	}
	var sides [2]*side
	for i, takes := range both {
		sides[i] = &side{lines: linesOf(takes), belied: wrong}
	}
	understand(m, sides[0], sides[1])
	for _, s := range sides {
		s.playAll()
	}
	from, to := rangeOf(sides)
	if m != landings && to-from < shortRange {
		c.remark(false, "short-lines", "The lines of the two sides have too little of the carriage's way in common (%s), so the pull lost along it cannot be compared, and travel only there.", wayText(from, to))
	}
	c.Measures = machineMeasures(sides, from, to)
	c.place()
	c.hardness()
	c.Hand = handMeasures(sides)
	c.Positions = positionMeasures(sides, from, to)
	c.Letters = letterMeasures(sides)
	// A take of hours has lines enough.
	const mostReplayed = 50_000_000
	opt.Resamples = min(opt.Resamples, max(100, mostReplayed/(1+c.Before.Strokes+c.After.Strokes)))
	differences := c.equal(sides, []Hand{Slow, Brisk, Staccato}, opt.Resamples)
	c.onlyOneShows(sides)
	c.smallest(differences)
	c.judge()
	return c
}

// shortRange is the least way, in spaces, on which pull lost along the line shows.
const shortRange = 20

func wayText(from, to int) string {
	if to < from {
		return "none"
	}
	return fmt.Sprintf("positions %d to %d", from, to)
}

// summed lists a side's takes.
func summed(takes []*diagnose.Take) Side {
	s := Side{Takes: []TakeSummary{}, Counted: diagnose.Unknown(), Replayed: UnknownRange()}
	for _, t := range takes {
		if t == nil {
			continue
		}
		s.Takes = append(s.Takes, TakeSummary{t.Recording.Path, t.Summary})
		s.Strokes += len(t.Strokes)
		s.Lines += len(linesOf([]*diagnose.Take{t}))
	}
	return s
}

func (c *Comparison) remark(stops bool, code, format string, args ...any) {
	c.Remarks = append(c.Remarks, Remark{code, fmt.Sprintf(format, args...), stops})
}

// comparable says what stands against the comparison, and which carriage sounds it
// can rest on.
func (c *Comparison) comparable(both [2][]*diagnose.Take, opt Options) mode {
	name := [2]string{"before", "after"}
	var heard [2]struct {
		mode          mode
		apart, landed bool
	}
	for i, takes := range both {
		if len(takes) == 0 {
			c.remark(true, "no-take", "There is no take from %s.", name[i])
			return apart
		}
		for _, t := range takes {
			if t == nil || !t.Recording.Usable {
				path := ""
				if t != nil {
					path = t.Recording.Path
				}
				c.remark(true, "not-usable", "The take %q from %s cannot be measured.", path, name[i])
				return apart
			}
		}
		m, ok := modeOf(takes, opt.Action)
		heard[i].mode, heard[i].landed, heard[i].apart = m, ok, ok && m != landings
	}
	switch {
	case !heard[0].landed && !heard[1].landed:
		c.remark(true, "no-carriage", "The carriage was not heard to land in either take, so nothing can be said of how it moves. Lay the phone closer to the escapement, at the back of the machine, and record both pages again if you can.")
	case heard[0].landed != heard[1].landed:
		deaf := name[1]
		if heard[1].landed {
			deaf = name[0]
		}
		c.remark(true, "clicks-in-one-only", "The carriage was heard to land in one take only; from %s it was not. A machine cannot be compared with silence: record that page again with the phone in the place where it lay for the other.", deaf)
	case heard[0].apart != heard[1].apart && opt.Action != diagnose.DownStroke:
		c.remark(false, "apart-in-one-only", "Release and landing were heard apart only in the take from %s. So travel cannot be compared, and the time from strike to landing has to do for both.", name[b2i(heard[1].apart)])
	}
	for i, n := range []int{c.Before.Lines, c.After.Lines} {
		if n < fewestLines {
			c.remark(true, "few-lines", "From %s there are %d lines; it takes %d on each side to tell a change from the difference between one line and the next.", name[i], n, fewestLines)
		}
	}
	c.sameMachine(both)
	if heard[1].mode == landings {
		return landings // has to do for both
	}
	return heard[0].mode
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// place looks for a microphone that lay elsewhere: sounds of the escapement then
// come later or earlier against the strike, so that lead and latency shift by the
// same time in opposite directions. A shift of the lead alone of less than
// PlaceFloor is not counted as a change anyway.
func (c *Comparison) place() {
	const furthest = 1.5 // ms: half a metre
	lead, own := c.measure("lead"), c.measure("machine_latency")
	if own == nil {
		own = c.measure("machine_ready")
	}
	if lead == nil {
		return
	}
	by := float64(lead.Shift.Value)
	shown := float64(lead.Corrected) < alpha && math.Abs(by) <= furthest
	switch {
	case shown && own != nil && against(by, own.Shift):
		lead.Change, own.Change = "", ""
		c.remark(false, "phone-moved", "Trips are heard %.1f ms %s to their strikes, and releases as much %s after them. That is what happens when the phone lies elsewhere: sound takes 3 ms for a metre. So neither counts as a change of the machine.",
			math.Abs(by), map[bool]string{true: "less close", false: "closer"}[by > 0], map[bool]string{true: "sooner", false: "later"}[by > 0])
	case shown && math.Abs(by) < PlaceFloor:
		c.remark(false, "phone-moved", "The lead shifted by %.1f ms. A phone that lies 20 cm elsewhere does as much, so it does not count as a change of the machine.", by)
	}
}

// TouchFactor is by how much harder one hand may strike than another (an
// assumption: the same trip at half the type-bar speed has twice the lead).
const TouchFactor = 2

// hardness takes from a changed lead what a harder or softer touch does as well.
func (c *Comparison) hardness() {
	lead := c.measure("lead")
	if lead == nil || lead.Change == "" || lead.After > TouchFactor*lead.Before || lead.Before > TouchFactor*lead.After {
		return
	}
	lead.Change = ""
	c.remark(false, "touch-differs", "The lead shifted by %.1f ms. A hand that strikes harder shortens it as much, so it does not count as a change of the machine; it would if it had doubled or halved.", float64(lead.Shift.Value))
}

// against tells whether a shift goes as far the other way, as well as it is known.
func against(by float64, other Range) bool {
	back := float64(other.Value)
	if math.Abs(by+back) < 0.4*math.Abs(by) {
		return true
	}
	return by*back < 0 && -by >= float64(other.Low) && -by <= float64(other.High)
}

// onlyOneShows says what one side does not show of flicked strokes.
func (c *Comparison) onlyOneShows(sides [2]*side) {
	name := [2]string{"before", "after"}
	a, b := &sides[0].grasp.linkage[letter], &sides[1].grasp.linkage[letter]
	if a.always || b.always {
		return
	}
	switch {
	case !a.shows && !b.shows:
		c.remark(false, "no-flicked", "Neither page has flicked strokes in it, with the finger off the key at once. How this machine spaces under them is not known from these takes.")
	case a.shows != b.shows:
		deaf, s := 0, b
		if a.shows {
			deaf, s = 1, a
		}
		c.remark(false, "flicked-in-one-only", "Only the page from %s has flicked strokes, with the finger off the key at once (%.0f in 100 of them made no space). How the machine does under them %s is not known; it is taken to be the same.",
			name[1-deaf], 100*s.missShare(), map[int]string{0: "before", 1: "now"}[deaf])
	}
	if !a.known || !b.known {
		switch {
		case a.known != b.known:
			c.remark(false, "latency-in-one-only", "The machine's own share of the latency shows only in the take from %s; it is taken to be the same in both, and what the latencies differ by is put down to the hand.", name[b2i(b.known)])
		default:
			c.remark(false, "latency-bounded", "The machine's own share of the latency cannot be told from the finger's in either take; it is taken to be the same in both.")
		}
	}
}
