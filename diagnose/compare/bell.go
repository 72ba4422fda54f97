package compare

import "loosedog/diagnose"

// rung is one line on which the bell was heard: the carriage's position by the
// spaces counted up to it, and the missed spaces among the strokes before it.
type rung struct{ position, missed float64 }

// bells lists the lines of takes whose bell was heard.
func bells(takes []*diagnose.Take) []rung {
	var out []rung
	for _, l := range linesOf(takes) {
		of := takes[l.take].Lines
		if l.number >= len(of) || !of[l.number].BellS.Known() {
			continue
		}
		bell := of[l.number].BellS
		var b rung
		before := false
		for _, s := range l.strokes {
			if s.StrikeS.Known() && s.StrikeS < bell {
				before = true
				b.position = float64(s.Position)
				if s.MissedSpace {
					b.missed++
				}
			}
		}
		if before {
			out = append(out, b)
		}
	}
	return out
}

const (
	// fewestBells lines with a bell, with as many missed spaces between them, tell
	// whether the carriage stood still at those.
	fewestBells = 6
	// steadier is how much less the count of strokes at the bell must spread than the
	// count of spaces.
	steadier = 0.6
)

// belied tells whether the bell says that missed spaces were made after all. It
// hangs on the carriage, so it rings at the same position of every line, before and
// after. Where spaces were really missed, the spaces counted up to it are the same
// on every line; where they were made and only misheard, spaces and missed spaces
// together are. False where too few bells were heard.
func belied(both [2][]*diagnose.Take) bool {
	var position, together []float64
	missed := 0.0
	for _, takes := range both {
		for _, b := range bells(takes) {
			position = append(position, b.position)
			together = append(together, b.position+b.missed)
			missed += b.missed
		}
	}
	if len(position) < fewestBells || missed < fewestBells {
		return false
	}
	return spread(together) < steadier*spread(position)
}

// spread is the range of the middle half, of which a line cut in two by a wrong
// return makes little; at least a space, for positions are whole.
func spread(v []float64) float64 {
	s := diagnose.Sorted(v)
	return max(1, diagnose.Quantile(s, 0.75)-diagnose.Quantile(s, 0.25))
}
