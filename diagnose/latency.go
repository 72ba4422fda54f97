package diagnose

// Which part of a latency is the machine's.
const (
	// fastest is the share of strokes whose latency is taken for the machine's
	// own: the middle of the fastest tenth.
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

// machineLatency bounds the machine's share of the latency in milliseconds.
//
// While the finger holds the key down the latency is the hand's; when the
// finger has already left it is the bar's own return, the machine's. So the
// fastest strokes bound the machine's share from above. Median is the 5 %
// quantile of the latencies (the middle of the fastest tenth, so that a few
// wrong events do not decide), Low and High its 95 % bootstrap interval. P95 is
// unknown, for the hand hides how far the machine's own share spreads.
//
// Where the latencies hardly spread, the escapement lets go on the bar's rebound
// whatever the finger does: then all of it is the machine's and the figure is
// the latency's own.
func machineLatency(latencies []float64) Figure {
	s := sorted(latencies)
	if len(s) < fewestLatencies {
		return unknownFigure()
	}
	if rebound(s) {
		return figure(s)
	}
	low, high := bootstrapQuantile(s, fastest, level)
	return Figure{Median: Number(quantile(s, fastest)), P95: Unknown(), Low: Number(low), High: Number(high)}
}

// rebound tells whether latencies (sorted, milliseconds) do not follow the hand.
func rebound(s []float64) bool {
	spread := madToSD * mad(s)
	return spread < reboundSpreadMS && spread < reboundShare*quantile(s, 0.5)
}

// HandLatency is the hand's share of each stroke's latency in milliseconds:
// latency minus the machine's (Summary.MachineLatencyMS), 0 where it is less.
// Unknown for a stroke whose latency is, for space-bar strokes (the machine's
// share is that of the type bars) and where the machine's share is unknown.
// Where the escapement lets go on the bar's rebound the hand has no share: 0.
func HandLatency(t *Take) []Number {
	machine := t.Summary.MachineLatencyMS
	onRebound := rebound(sorted(column(t.Strokes, typedLatency)))
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
