package diagnose

import (
	"fmt"

	"loosedog/audio"
	"loosedog/onset"
)

const (
	// fewestForAction is how many letters must be heard alone before an action is
	// doubted, alone meaning with no other struck before the carriage has landed.
	fewestForAction = 40
	// regular is the spread (scaled median absolute deviation, s) of the landing's
	// lag after the strike, once what grows along the line is taken off, under which
	// no finger and no falling bar is in it. Bars that let go on the rebound spread
	// by 3 ms and more in simulated machines; no published figure is known.
	regular = 0.0012
	// loose is the same of releases over which a finger surely is in them.
	loose = 0.006
	// halfMoves is the share of letters with a half move heard after the trip, over
	// that by chance, from which a machine is half-space: up to 0.06 on 250 simulated
	// takes of other machines, from 0.13 on 11 of 13 half-space ones.
	halfMoves = 0.1
)

// doubtAction compares the action that the user named with what was heard. A
// carriage that moves at the trip lands at a fixed time after the strike, but for
// what the travel grows along the line; one that moves on the release lands when
// the finger or the bar lets it; one that moves half a space on each lands twice a
// letter.
func doubtAction(take *onset.Take, strokes []Stroke, told Action) (audio.Problem, bool) {
	heard := take.Strokes
	if told != HalfSpace && take.Learnt.HalfMoves > halfMoves { // not when NaN
		return audio.Problem{Code: "action-doubtful", Text: fmt.Sprintf(
			"told %s, but the carriage moves twice a letter, once at the strike and once when the key is let go, as on a half-space machine: hold a key down slowly and look whether the carriage moves by half a space before you let go; if it does, measure with --action half", told)}, true
	}
	var at, land, release []float64
	for i, h := range heard {
		if h.Space || !h.Landing.Heard() || i+1 < len(heard) && heard[i+1].Line == h.Line && heard[i+1].Strike.Time < h.Landing.Time {
			continue
		}
		at = append(at, float64(strokes[i].Position))
		land = append(land, h.Landing.Time-h.Strike.Time)
		if h.Release.Heard() {
			release = append(release, h.Release.Time-h.Strike.Time)
		}
	}
	if len(land) < fewestForAction {
		return audio.Problem{}, false
	}
	pairs := 2*len(release) > len(land)
	switch {
	case told != DownStroke && !pairs && MADToSD*MAD(levelled(at, land)) < regular:
		return audio.Problem{Code: "action-doubtful", Text: fmt.Sprintf(
			"told %s, but the carriage lands %.0f ms after each strike whatever the finger does, as on a down-stroke machine: hold a key down slowly and look whether the carriage moves before you let go; if it does, measure with --action down",
			told, 1000*Median(land))}, true
	case told == DownStroke && pairs && MADToSD*MAD(release) > loose:
		return audio.Problem{Code: "action-doubtful", Text: "told down, but the carriage moves when the key is let go, as on a full-space machine: hold a key down slowly and look whether the carriage stands still until you let go; if it does, measure with --action full"}, true
	}
	return audio.Problem{}, false
}
