package report

import (
	"fmt"
	"slices"

	"loosedog/diagnose"
)

// byHand says that a take was corrected by hand; empty where it was not. Text,
// note and picture say so in these words, the page in its own; CSV, JSON and label
// track mark the events.
func byHand(t *diagnose.Take) string {
	n := len(t.Corrections)
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("%s corrected by hand; what stands here rests on that, too", count(n, "event"))
}

// byHandMark stands behind an event that was put right by hand.
func byHandMark(s diagnose.Stroke, event string) string {
	if slices.Contains(s.Corrected, event) {
		return " (by hand)"
	}
	return ""
}
