package diagnose

import (
	"fmt"
	"strings"

	"loosedog/audio"
)

const (
	// level of every interval.
	level = 0.95
	// fewestP95 is how many values a 95th percentile needs: with fewer it is the
	// largest value by another name.
	fewestP95 = 20
	// An interval longer than this many medians is a pause, not typing.
	pause = 4
)

// column takes one known number of each stroke, in order.
func column(strokes []Stroke, of func(Stroke) Number) []float64 {
	var all []float64
	for _, s := range strokes {
		if n := of(s); n.Known() {
			all = append(all, float64(n))
		}
	}
	return all
}

// typed keeps a number to typed strokes: the space bar's thump is another event
// than a strike, and its times are another linkage's.
func typed(of func(Stroke) Number) func(Stroke) Number {
	return func(s Stroke) Number {
		if s.Kind == KindSpace {
			return Unknown()
		}
		return of(s)
	}
}

func unknownFigure() Figure { return Figure{Unknown(), Unknown(), Unknown(), Unknown()} }

// figure sums up values: all unknown of fewer than [fewest].
func figure(values []float64) Figure {
	s := Sorted(values)
	if len(s) < fewest {
		return unknownFigure()
	}
	low, high := bootstrapQuantile(s, 0.5, level)
	f := Figure{Median: Number(Quantile(s, 0.5)), P95: Unknown(), Low: Number(low), High: Number(high)}
	if len(s) >= fewestP95 {
		f.P95 = Number(Quantile(s, 0.95))
	}
	return f
}

// summarise fills the summary of a take from its strokes and says for each
// figure that stays unknown why it does. Lead, latency and ready time are those
// of typed strokes, travel is of all.
func summarise(t *Take) (missing []audio.Problem) {
	s := &t.Summary
	*s = unknownSummary()
	s.Strokes, s.Lines = len(t.Strokes), len(t.Lines)
	for _, k := range t.Strokes {
		if k.Spacing != nil && *k.Spacing == SpacingCrowded {
			s.Crowded++
		}
		if k.Spacing != nil && *k.Spacing == SpacingPiled {
			s.Piled++
		}
		if k.Skipped {
			s.Skipped++
		}
		if k.MissedSpace {
			s.MissedSpaces++
		}
	}
	if !t.Recording.Usable {
		return nil
	}
	s.RatePerS = rate(column(t.Strokes, func(k Stroke) Number { return k.IntervalMS }))

	lead := column(t.Strokes, typed(Stroke.LeadMS))
	latency := column(t.Strokes, typedLatency)
	travel := column(t.Strokes, func(k Stroke) Number { return k.TravelMS })
	ready := column(t.Strokes, typed(func(k Stroke) Number { return k.ReadyMS }))
	s.LeadMS, s.LatencyMS, s.TravelMS, s.ReadyMS = figure(lead), figure(latency), figure(travel), figure(ready)
	s.MachineLatencyMS = machineLatency(machineLatencies(t.Strokes))

	var short []string
	for _, f := range []struct {
		name   string
		n      int
		figure Figure
		need   int
	}{
		{"lead", len(lead), s.LeadMS, fewest},
		{"latency", len(latency), s.LatencyMS, fewest},
		{"machine latency", len(latency), s.MachineLatencyMS, fewestLatencies},
		{"travel", len(travel), s.TravelMS, fewest},
		{"ready time", len(ready), s.ReadyMS, fewest},
	} {
		if !f.figure.Median.Known() {
			short = append(short, fmt.Sprintf("%s (%d of %d strokes)", f.name, f.n, f.need))
		}
	}
	if len(short) > 0 {
		missing = append(missing, audio.Problem{
			Code: "too-few-values",
			Text: "cannot tell for want of strokes whose sounds were heard: " + strings.Join(short, ", ") +
				"; type a longer passage, or move the microphone closer to the escapement",
		})
	}
	return missing
}

// rate is strokes a second while typing: the number of intervals (milliseconds,
// between strikes of one line) over their sum, pauses of more than four times
// the median interval left out. Unknown for fewer than [fewest] intervals. For
// even typing it is words a minute over 12, a word being 5 strokes.
func rate(intervals []float64) Number {
	if len(intervals) < fewest {
		return Unknown()
	}
	longest := pause * Median(intervals)
	var n, sum float64
	for _, v := range intervals {
		if v <= longest {
			n++
			sum += v
		}
	}
	if sum <= 0 {
		return Unknown()
	}
	return Number(1000 * n / sum)
}
