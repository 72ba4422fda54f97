package diagnose

// Which part of a latency is the machine's.
const (
	// fewestFlicked is how many strokes make a group of flicked ones.
	fewestFlicked = 5
	// and flickedShare the share of all that they are at least (one in): in an hour
	// of typing a few wrong releases would make a group of five.
	flickedShare = 50
	// flickedGapMS is how far in milliseconds the flicked strokes must stand off
	// from the held ones to be told from them.
	flickedGapMS = 5
	// fastest is the share of strokes whose latency bounds the machine's where
	// flicked ones cannot be told: the middle of the fastest tenth.
	fastest = 0.05
	// fewestLatencies is how many latencies the fastest tenth needs: with 20 it
	// is two strokes, and one wrong event does not decide.
	fewestLatencies = 20
	// A latency that does not follow the hand spreads (as a standard deviation)
	// by less than this many milliseconds. The time a finger holds a key down
	// spreads by about 24 ms (Dhakal et al. 2018, from memory); a rocker that lets
	// go on the bar's rebound by 1 or 2.
	reboundSpreadMS = 5
	// and by less than this share of its median.
	reboundShare = 0.15
)

// machineLatency is the machine's share of the latency in milliseconds, from
// the latencies of a take's typed strokes, or the least bound on it that the
// take gives.
//
// While the finger holds the key down the latency is the hand's; when the
// finger has already left it is the bar's own return, the machine's. So the
// fastest strokes bound the machine's share from above:
//
//   - Where the latencies hardly spread, the escapement lets go on the bar's
//     rebound whatever the finger does: all of them are the machine's.
//   - Else, where a group of fast ones stands off from the rest by a gap wider
//     than the group itself, those are the flicked strokes: Median is theirs,
//     Low and High its 95 % bootstrap interval, P95 theirs.
//   - Else Median is the 5 % quantile of all (the middle of the fastest tenth,
//     so that a few wrong events do not decide), Low and High its interval. It
//     is a bound: the hand may have held every key. P95 is unknown, for the hand
//     hides how far the machine's own share spreads.
func machineLatency(latencies []float64) Figure {
	s := Sorted(latencies)
	if len(s) < fewestLatencies {
		return unknownFigure()
	}
	if rebound(s) {
		return figure(s)
	}
	f := Figure{P95: Unknown()}
	of, at := s, fastest
	if n := flicked(s); n > 0 {
		of, at = s[:n], 0.5
		if n >= fewestP95 {
			f.P95 = Number(Quantile(of, 0.95))
		}
	}
	low, high := bootstrapQuantile(of, at, level)
	f.Median, f.Low, f.High = Number(Quantile(of, at)), Number(low), Number(high)
	return f
}

// rebound tells whether latencies (sorted, milliseconds) do not follow the hand.
func rebound(s []float64) bool {
	spread := MADToSD * MAD(s)
	return spread < reboundSpreadMS && spread < reboundShare*Quantile(s, 0.5)
}

// flicked is how many of the latencies (sorted, milliseconds) are of flicked
// strokes: those under the widest gap of the faster half that is wider than
// the group under it; 0 where there is none.
func flicked(s []float64) (n int) {
	var widest float64
	for k := max(fewestFlicked, len(s)/flickedShare); k <= len(s)/2; k++ {
		gap := s[k] - s[k-1]
		if gap >= flickedGapMS && gap > s[k-1]-s[0] && gap > widest {
			n, widest = k, gap
		}
	}
	return n
}

// machineLatencies are the latencies that speak of the machine: those of typed
// strokes, and only of releases heard well where there are enough.
func machineLatencies(strokes []Stroke) []float64 {
	sure := column(strokes, func(s Stroke) Number {
		if s.Confidence.Release < doubtful {
			return Unknown()
		}
		return typedLatency(s)
	})
	if len(sure) >= fewestLatencies {
		return sure
	}
	return column(strokes, typedLatency)
}

// HandLatency is the hand's share of each stroke's latency in milliseconds:
// latency minus the machine's (Summary.MachineLatencyMS), 0 where it is less.
// Unknown for a stroke whose latency is, for space-bar strokes (the machine's
// share is that of the type bars) and where the machine's share is unknown. It
// is the least the hand can have where that share is only bounded.
// Where the escapement lets go on the bar's rebound the hand has no share: 0.
func HandLatency(t *Take) []Number {
	machine := t.Summary.MachineLatencyMS
	onRebound := rebound(Sorted(machineLatencies(t.Strokes)))
	hand := make([]Number, len(t.Strokes))
	for i, s := range t.Strokes {
		hand[i] = typedLatency(s) - machine.Median
		if hand[i].Known() && (hand[i] < 0 || onRebound) {
			hand[i] = 0
		}
	}
	return hand
}

// typedLatency is a typed stroke's latency; unknown for the space bar's.
func typedLatency(s Stroke) Number {
	if s.Kind == KindSpace {
		return Unknown()
	}
	return s.LatencyMS
}
