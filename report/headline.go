package report

import (
	"fmt"
	"strings"

	"loosedog/diagnose"
)

// headline is a take in a few words: what a reader is to know first.
func headline(t *diagnose.Take, pairs []pair) string {
	switch {
	case !t.Recording.Usable:
		return "This recording cannot be measured."
	case len(t.Strokes) == 0:
		return "No stroke was heard in this recording."
	}
	s := t.Summary
	said := some(
		tally{s.Crowded, "letter crowded", "letters crowded"},
		tally{s.Piled, "letter piled", "letters piled"},
		tally{s.MissedSpaces, "missed space", "missed spaces"},
		tally{s.Skipped, "skipped space", "skipped spaces"})
	of := count(s.Strokes, "stroke")
	switch {
	case len(said) > 0:
		return strings.Join(said, ", ") + ", of " + of + "."
	case len(knownSlacks(pairs)) == 0:
		return "Whether letters crowd cannot be told from this take."
	default:
		return "Of " + of + ", none that could be judged came too early."
	}
}

// travelNote says what the robust line through the travel says.
func travelNote(fit diagnose.Profile) string {
	from, to := float64(fit.From), float64(fit.To)
	a, b := float(fit.TravelAt(from)), float(fit.TravelAt(to))
	if !inPicture(a) || !inPicture(b) {
		return ""
	}
	note := fmt.Sprintf("The line: %s ms at position %d, %s ms at %d.", ms(a), fit.From, ms(b), fit.To)
	if fit.PullLost.Known() && fit.LostLow.Known() && fit.LostHigh.Known() {
		note += fmt.Sprintf(" Net pull lost on the way: %.0f %% (%.0f to %.0f).",
			100*float64(fit.PullLost), 100*float64(fit.LostLow), 100*float64(fit.LostHigh))
	}
	return note
}
