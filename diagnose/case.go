package diagnose

import (
	"slices"

	"loosedog/onset"
)

// Case is what a rule may look at; it changes nothing in it.
type Case struct {
	// Take is measured but for its findings.
	Take *Take
	// Heard are the events it was measured from, nil where they are not at hand.
	Heard *onset.Take
	// Options are what the user said about the machine; [Measure] has filled in
	// action and pitch.
	Options Options
	// Profile is the take's travel along the line.
	Profile Profile
	// Spoiled are its flagged pairs.
	Spoiled []Pair

	// odd is each stroke's travel less that of the profile's line at its place in
	// ms, NaN where unknown; oddSpread its robust standard deviation.
	odd       []float64
	oddSpread float64
	// spaces counts the spaces made since the take's start before each stroke's
	// own.
	spaces []int
	// holes are what [Case.unfollowed] tells.
	holes []float64
	// found are the findings of the rules asked so far.
	found []Finding
}

// newCase works out what more than one rule looks at.
func newCase(t *Take, heard *onset.Take, opt Options) *Case {
	c := &Case{Take: t, Heard: heard, Options: opt, Profile: TravelProfile(t), Spoiled: Flagged(t)}
	c.odd = make([]float64, len(t.Strokes))
	c.spaces = make([]int, len(t.Strokes))
	made := 0
	for i, s := range t.Strokes {
		c.odd[i] = float64(s.TravelMS - c.Profile.TravelAt(float64(s.Position)))
		c.spaces[i] = made
		if !s.MissedSpace && !c.shared(i) {
			made++
		}
		if s.Skipped {
			made++
		}
	}
	c.oddSpread = MADToSD * MAD(c.odd)
	c.holes = c.unfollowed()
	return c
}

// shared tells whether stroke i shares the next one's release.
func (c *Case) shared(i int) bool { return c.Heard != nil && c.Heard.Strokes[i].Shared }

// char is the character of stroke i in lower case, 0 where it is not known.
func (c *Case) char(i int) rune {
	s := c.Take.Strokes[i]
	if s.Char == nil {
		return 0
	}
	return lowerKey(*s.Char)
}

// hasText tells whether enough strokes have a character for the rules that ask
// for the keys.
func (c *Case) hasText() bool {
	n := 0
	for _, s := range c.Take.Strokes {
		if s.Char != nil {
			n++
		}
	}
	return n >= fewestKeyed
}

// fewestKeyed is how many strokes with a character the rules need that look at
// keys.
const fewestKeyed = 60

// relief is what of a stroke's ready time a fault is to blame for.
type relief struct {
	ms     float64 // by which it would be ready earlier; NaN for nothing
	missed bool    // its space would have been made
}

// relieved lists the second strokes of the flagged pairs that would stand clear
// without a fault; of gives what the fault is to blame for in the first stroke.
//
// A pair struck u before the landing stands clear when the carriage had been
// ready u earlier. Of a pair that shares a release or was judged by silence the
// landing was not heard: it would stand clear when its interval leaves room for
// the take's usual ready time.
func (c *Case) relieved(of func(first int) relief) []int {
	var where []int
	usual := c.Take.Summary.ReadyMS.Median
	for _, p := range c.Spoiled {
		a := c.Take.Strokes[p.First]
		r := of(p.First)
		switch {
		case a.MissedSpace:
			if r.missed {
				where = append(where, p.Second)
			}
		case !(r.ms > 0):
		case p.SlackMS.Known():
			if float64(p.SlackMS)+r.ms >= -slackSlop {
				where = append(where, p.Second)
			}
		case p.IntervalMS >= usual:
			where = append(where, p.Second)
		}
	}
	return inOrder(where)
}

// slackSlop in ms is how far off a slack may be: half a millisecond for each of
// its two sounds, the least that a clean take is heard to.
const slackSlop = 1

// judged are the strokes after which a missed space can be told: another stroke
// of the line follows.
func (c *Case) judged(kind string) (all, missed []int) {
	for i, s := range c.Take.Strokes {
		if s.Kind != kind || !s.IntervalMS.Known() || c.shared(i) {
			continue
		}
		all = append(all, i)
		if s.MissedSpace {
			missed = append(missed, i)
		}
	}
	return all, missed
}

// each is a number of every stroke, NaN where of does not know it.
func (c *Case) each(of func(Stroke) Number) []float64 {
	all := make([]float64, len(c.Take.Strokes))
	for i, s := range c.Take.Strokes {
		all[i] = float64(of(s))
	}
	return all
}

// sure drops values whose event was not heard well.
func sure(n, confidence Number) Number {
	if !(confidence >= doubtful) {
		return Unknown()
	}
	return n
}

// sureLead is the lead of a stroke whose trip was heard well, in ms.
func sureLead(s Stroke) Number { return sure(s.LeadMS(), s.Confidence.Trip) }

// leads are those of typed strokes.
func (c *Case) leads() []float64 { return c.each(typed(sureLead)) }

// inOrder sorts stroke indexes.
func inOrder(where []int) []int {
	out := append([]int{}, where...)
	slices.Sort(out)
	return slices.Compact(out)
}
