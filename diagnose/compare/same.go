package compare

import "loosedog/diagnose"

// sameMachine looks at what is known of the machines beside their sounds.
func (c *Comparison) sameMachine(both [2][]*diagnose.Take) {
	// What a take's file says of pitch and text.
	texts := [2]map[string]bool{{}, {}}
	for i, takes := range both {
		for _, t := range takes {
			text := ""
			for _, s := range t.Strokes {
				if s.Char == nil {
					text = ""
					break
				}
				text += *s.Char
			}
			texts[i][text] = true
		}
	}
	_ = texts
}
