package report

import (
	"bufio"
	"fmt"
	"io"
	"sort"

	"loosedog/diagnose"
)

// label is one mark of the label track: a point in time in seconds.
type label struct {
	at   float64
	text string
}

// Labels writes a label track: one line an event with its start, its end and its
// name, separated by tabs; times in seconds with six decimals, in order of time.
// An event is a point, so its end is its start. The number in a name is the
// stroke's index (or the line's number) as in the JSON, counted from 0. Events
// that were not heard have no mark.
func Labels(w io.Writer, t *diagnose.Take) error {
	if t == nil {
		return errNoTake
	}
	marks := labelsOf(t)
	b := bufio.NewWriter(w)
	for _, m := range marks {
		fmt.Fprintf(b, "%.6f\t%.6f\t%s\n", m.at, m.at, m.text)
	}
	return b.Flush()
}

func labelsOf(t *diagnose.Take) []label {
	var marks []label
	add := func(at diagnose.Number, format string, args ...any) {
		if !at.Known() || at < 0 {
			return
		}
		marks = append(marks, label{float64(at), fmt.Sprintf(format, args...)})
	}
	for _, s := range t.Strokes {
		struck := fmt.Sprintf("strike %d", s.Index)
		if s.Kind == diagnose.KindSpace {
			struck = fmt.Sprintf("thump %d", s.Index)
		}
		if s.Char != nil && s.Kind != diagnose.KindSpace {
			struck += " " + clean(*s.Char)
		}
		for _, word := range strokeWords(s) {
			struck += " " + word
		}
		add(s.TripS, "trip %d%s", s.Index, byHandMark(s, diagnose.EventTrip))
		add(s.StrikeS, "%s%s", struck, byHandMark(s, diagnose.EventStrike))
		add(s.ReleaseS, "release %d%s", s.Index, byHandMark(s, diagnose.EventRelease))
		add(s.LandingS, "landing %d%s", s.Index, byHandMark(s, diagnose.EventLanding))
	}
	for _, l := range t.Lines {
		add(l.BellS, "bell line %d", l.Line)
		add(l.ReturnS, "return line %d", l.Line)
	}
	sort.SliceStable(marks, func(i, j int) bool { return marks[i].at < marks[j].at })
	return marks
}

// strokeWords are what stands out about a stroke.
func strokeWords(s diagnose.Stroke) []string {
	var words []string
	if sp := orEmpty(s.Spacing); sp == diagnose.SpacingCrowded || sp == diagnose.SpacingPiled {
		words = append(words, sp)
	}
	if s.MissedSpace {
		words = append(words, "missed space")
	}
	if s.Skipped {
		words = append(words, "skipped")
	}
	return words
}
