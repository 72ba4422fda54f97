package diagnose

import (
	"fmt"
	"math"
	"slices"

	"loosedog/audio"
	"loosedog/onset"
)

// Events that can be corrected by hand.
const (
	EventTrip    = "trip"
	EventStrike  = "strike"
	EventRelease = "release"
	EventLanding = "landing"
)

// Correction is one event that somebody put right by hand after looking at the
// sound. Corrections are laid over what was heard before anything is measured,
// one after the other.
type Correction struct {
	// Event is EventTrip, EventStrike, EventRelease or EventLanding.
	Event string `json:"event"`
	// StrokeS is the strike of the stroke that the event belongs to, in seconds, as
	// it stands before this correction; unknown for a stroke that is added.
	StrokeS Number `json:"stroke_s"`
	// ToS is where the event is, in seconds; unknown where it is not. A strike that
	// is not there takes its stroke with it.
	ToS Number `json:"to_s"`
	// Kind is KindType or KindSpace for a stroke that is added, empty otherwise.
	Kind string `json:"kind,omitempty"`
}

// Asked is what the owner said of a take when it was measured, kept so that it
// can be measured again as it was.
type Asked struct {
	Action string `json:"action"`
	Pitch  int    `json:"pitch"`
	Text   string `json:"text"`
}

// nearStrike is how far in seconds a strike may be from where a correction
// looks for it: more than rounding, less than two strikes can be apart.
const nearStrike = 0.003

// correct lays corrections over what was heard and returns a corrected copy,
// with the names of the events of each stroke that were put right. A correction
// that cannot be laid is left out and told as a problem.
func correct(heard *onset.Take, list []Correction) (*onset.Take, [][]string, []audio.Problem) {
	if len(list) == 0 {
		return heard, nil, nil
	}
	c := &corrected{take: *heard}
	c.take.Strokes = slices.Clone(heard.Strokes)
	c.take.Lines = slices.Clone(heard.Lines)
	if r := heard.Ring; r != nil {
		c.take.Ring = &onset.Ring{Level: slices.Clone(r.Level), Fall: slices.Clone(r.Fall), Over: slices.Clone(r.Over), Strokes: slices.Clone(r.Strokes)}
	}
	c.byHand = make([][]string, len(heard.Strokes))
	var problems []audio.Problem
	for _, k := range list {
		if why := c.lay(k); why != "" {
			at := k.StrokeS
			if !at.Known() {
				at = k.ToS
			}
			problems = append(problems, audio.Problem{Code: "correction",
				Text: fmt.Sprintf("A correction of the %s at %.3f s was left out: %s.", eventName(k.Event), float64(at), why)})
		}
	}
	c.relay()
	return &c.take, c.byHand, problems
}

// eventName keeps a stranger's word out of the figures.
func eventName(event string) string {
	switch event {
	case EventTrip, EventStrike, EventRelease, EventLanding:
		return event
	}
	return "event"
}

type corrected struct {
	take   onset.Take
	byHand [][]string
}

// lay lays one correction; why says why it cannot be.
func (c *corrected) lay(k Correction) (why string) {
	to := float64(k.ToS)
	if k.ToS.Known() && !(to >= 0 && to <= c.take.Duration) {
		return "that is not within the take"
	}
	if k.Event == EventStrike && !k.StrokeS.Known() {
		return c.add(k)
	}
	i := c.near(float64(k.StrokeS))
	if i < 0 {
		return "no strike stands there"
	}
	s := &c.take.Strokes[i]
	mark := onset.Mark{Time: to, Confidence: 1, Level: math.NaN()}
	if !k.ToS.Known() {
		mark = unheard()
	}
	switch k.Event {
	case EventStrike:
		if !k.ToS.Known() {
			c.take.Strokes = slices.Delete(c.take.Strokes, i, i+1)
			c.byHand = slices.Delete(c.byHand, i, i+1)
			c.ringWithout(i)
			return ""
		}
		if i > 0 && to <= c.take.Strokes[i-1].Strike.Time || i+1 < len(c.take.Strokes) && to >= c.take.Strokes[i+1].Strike.Time {
			return "it would pass the strike beside it"
		}
		s.Strike = mark
	case EventTrip:
		s.Trip = mark
	case EventRelease:
		s.Release = mark
	case EventLanding:
		s.Landing = mark
	default:
		return "there is no such event"
	}
	if k.ToS.Known() && (k.Event == EventRelease || k.Event == EventLanding) {
		// A carriage that was let go made a space of its own.
		s.Shared, s.Missed = false, false
	}
	if !slices.Contains(c.byHand[i], k.Event) {
		c.byHand[i] = append(slices.Clone(c.byHand[i]), k.Event)
	}
	return ""
}

// add puts a new stroke in, on the line of the strike that is nearest to it.
func (c *corrected) add(k Correction) (why string) {
	to := float64(k.ToS)
	switch {
	case !k.ToS.Known():
		return "it says neither where from nor where to"
	case len(c.take.Strokes) == 0 || len(c.take.Lines) == 0:
		return "there is no line it could stand on"
	case c.near(to) >= 0:
		return "a strike stands there already"
	}
	at := 0
	for at < len(c.take.Strokes) && c.take.Strokes[at].Strike.Time < to {
		at++
	}
	beside := at
	if at == len(c.take.Strokes) || at > 0 && to-c.take.Strokes[at-1].Strike.Time < c.take.Strokes[at].Strike.Time-to {
		beside = at - 1
	}
	s := onset.Stroke{
		Space: k.Kind == KindSpace, Line: c.take.Strokes[beside].Line,
		Trip: unheard(), Release: unheard(), Landing: unheard(), Skip: unheard(),
		Strike: onset.Mark{Time: to, Confidence: 1, Level: math.NaN()},
	}
	c.take.Strokes = slices.Insert(c.take.Strokes, at, s)
	c.byHand = slices.Insert(c.byHand, at, []string{EventStrike})
	if r := c.take.Ring; r != nil {
		for n, of := range r.Strokes {
			if of >= at {
				r.Strokes[n]++
			}
		}
	}
	return ""
}

// unheard marks an event that is not there.
func unheard() onset.Mark { return onset.Mark{Time: math.NaN(), Level: math.NaN()} }

// ringWithout takes stroke i, which is gone, out of what was heard of the ring.
func (c *corrected) ringWithout(i int) {
	r := c.take.Ring
	if r == nil {
		return
	}
	if n := slices.Index(r.Strokes, i); n >= 0 {
		r.Strokes = slices.Delete(r.Strokes, n, n+1)
		r.Level, r.Fall, r.Over = slices.Delete(r.Level, n, n+1), slices.Delete(r.Fall, n, n+1), slices.Delete(r.Over, n, n+1)
	}
	for n, of := range r.Strokes {
		if of > i {
			r.Strokes[n]--
		}
	}
}

// near is the stroke whose strike stands at a time; -1 when none does.
func (c *corrected) near(at float64) int {
	best, least := -1, nearStrike
	for i, s := range c.take.Strokes {
		if d := math.Abs(s.Strike.Time - at); d <= least {
			best, least = i, d
		}
	}
	return best
}

// relay counts the lines' strokes anew; a line that lost its last stroke is no
// line any more.
func (c *corrected) relay() {
	var lines []onset.Line
	was := -1
	for i := range c.take.Strokes {
		s := &c.take.Strokes[i]
		s.Line = max(0, min(s.Line, len(c.take.Lines)-1))
		if s.Line != was {
			was = s.Line
			l := c.take.Lines[was]
			l.First, l.Count, l.Start = i, 0, s.Strike.Time
			lines = append(lines, l)
		}
		l := &lines[len(lines)-1]
		l.Count++
		l.End = s.Strike.Time
		s.Line = len(lines) - 1
	}
	c.take.Lines = lines
}
