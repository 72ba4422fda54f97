package diagnose

import (
	"math"
	"sort"
)

// longestTravel is the longest travel in seconds that a carriage is believed
// to take for one space where the take itself does not tell: the slowest of the
// table that sqrt(2 p m / F) gives for carriages of 1 to 2 kg and pulls of 2.2
// to 6.7 N, 68.0 ms. The masses and pulls are trade lore.
const longestTravel = 0.070

// setSpacing labels every stroke against the one before it on its line:
//
//   - piled, short by 1: the one before it made no space, shares its release, or
//     had not been released when this one struck;
//   - crowded, short by 1 - (u/T)^2: struck u after the carriage started on a
//     travel of T, under constant net pull;
//   - clear: struck at the landing or after it.
//
// There is no dead zone: a strike 0.1 ms before the landing is crowded, by a
// hundredth of a space, and short_by says so. Where an event of the one before
// is doubtful or was not heard, so that the landing may lie on either side of
// this strike, there is no label.
//
// Where only the landing was heard, travel is what the take's other strokes
// taught. Where they taught none, a strike before the landing is crowded, short
// by an unknown part: a stroke with a landing of its own had released before
// the next one tripped, or the two would share it. When that landing comes later
// than any travel takes, the events contradict each other and there is no label.
//
// A carriage that is released before it has landed from the space before starts
// at that landing: the wheel gives up one tooth at a time.
//
// short_by speaks of the space between the two strokes, as the carriage made
// it. Where the letter before was itself struck on the move, it stands short
// too, and the gap on paper is wider by its own short_by.
//
// Where the carriage was not heard at all after the one before it, the silence
// speaks: a landing before this strike would most likely have been heard, one
// after it is easily covered. If, by the take's own latencies and its travel at
// that place, it is nine to one that there was none before, this letter is
// crowded, short by an unknown part.
//
// On the other actions see the package comment.
func setSpacing(strokes []Stroke, all []move, travel travelModel, action Action) {
	silence := hush(strokes)
	for i := range strokes {
		if i == 0 || strokes[i].Line != strokes[i-1].Line {
			continue // the first of a line has no letter before it
		}
		label, short := spacing(all[i-1], float64(strokes[i].StrikeS), action)
		if before := strokes[i-1]; label == "" && action == FullSpace && all[i-1].unheard() &&
			silence.clear(float64(before.IntervalMS)/1000-travel.at(float64(before.Position))) < 0.1 {
			label = SpacingCrowded
		}
		if label != "" {
			strokes[i].Spacing, strokes[i].ShortBy = &label, Number(short)
		}
	}
}

// spacing judges a letter struck at time strike against the move that the
// stroke before it made; label is empty where it cannot be told.
func spacing(before move, strike float64, action Action) (label string, short float64) {
	unknown := math.NaN()
	unreleased, whole := SpacingPiled, 1.0
	if action == HalfSpace {
		unreleased, whole = SpacingCrowded, 0.5 // the half made on the trip stands
	}
	switch {
	case before.none:
		return SpacingPiled, 1
	case before.shared:
		return unreleased, whole
	case math.IsNaN(strike):
		return "", unknown
	case !math.IsNaN(before.end) && math.Abs(strike-before.end) < before.endSlop:
		return "", unknown
	case strike >= before.end:
		return SpacingClear, 0
	case strike <= before.start:
		// Crowded by a whole space and piled look the same on paper, so how sure
		// the start is does not matter here.
		return unreleased, whole
	case before.travel > 0:
		part := (strike - before.start) / before.travel
		return SpacingCrowded, whole * max(0, 1-part*part)
	case before.end-strike <= longestTravel:
		return SpacingCrowded, unknown
	}
	return "", unknown
}

// silence is what a take taught about strokes after which nothing is heard:
// its letters' latencies in rising order, in seconds, and the share of strokes
// whose carriage was not heard although there was time for it.
type silence struct {
	latencies []float64
	unheard   float64
}

// covered is how often a carriage sound after the next strike is lost in it:
// half, as good as not known.
const covered = 0.5

// hush learns it. Without [fewestP95] latencies it knows none.
func hush(strokes []Stroke) silence {
	var s silence
	latencies := column(strokes, typedLatency)
	if len(latencies) < fewestP95 {
		return s
	}
	s.latencies = Sorted(latencies)
	for i := range s.latencies {
		s.latencies[i] /= 1000
	}
	late := Quantile(Sorted(column(strokes, typed(func(s Stroke) Number { return s.ReadyMS }))), 0.95)
	// One of each beforehand: a share of none is not believed.
	lost, n := 1.0, 2.0
	for _, st := range strokes {
		if float64(st.IntervalMS) > late && !st.MissedSpace {
			n++
			if !st.LandingS.Known() && !st.ReleaseS.Known() {
				lost++
			}
		}
	}
	s.unheard = lost / n
	return s
}

// clear is how likely it is that the carriage had landed before the next strike
// although nothing of it was heard, when only a latency under limit seconds
// leaves it the time; NaN where the take taught too little.
func (s silence) clear(limit float64) float64 {
	if len(s.latencies) == 0 {
		return math.NaN()
	}
	k := sort.SearchFloat64s(s.latencies, limit)
	before := float64(k) / float64(len(s.latencies))
	heard := before * s.unheard
	return heard / (heard + (1-before)*covered)
}
