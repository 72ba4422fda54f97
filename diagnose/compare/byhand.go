package compare

import (
	"strings"

	"loosedog/diagnose"
)

// byHand remarks which takes were corrected by hand: a comparison rests on that,
// too, and whoever reads it should know.
func (c *Comparison) byHand(both [2][]*diagnose.Take) {
	for i, takes := range both {
		var names []string
		n := 0
		for _, t := range takes {
			if t != nil && len(t.Corrections) > 0 {
				names = append(names, t.Recording.Path)
				n += len(t.Corrections)
			}
		}
		if n > 0 {
			c.remark(false, "by-hand", "Of the takes from %s, %s corrected by hand (events: %d).",
				[2]string{"before", "after"}[i], strings.Join(names, " and ")+map[bool]string{true: " was", false: " were"}[len(names) == 1], n)
		}
	}
}
