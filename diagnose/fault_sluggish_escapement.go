package diagnose

import "math"

const (
	// hangingGain is how many times likelier the latencies must be with a hanging
	// rocker than without, as a logarithm: 10 to 1; clearGain is 3000 to 1.
	hangingGain = 2.3
	clearGain   = 8
	// fewestFree is how many strokes without a finger on the key it takes: in the
	// others a hanging rocker and a lingering finger look alike. With fewer than
	// enoughFree it is no more than possible.
	fewestFree = 8
	enoughFree = 20
	// freeShare of the usual latency is the most that the bar's own return takes:
	// where it is more, the quickest strokes were held, too. Where most strokes are
	// free (mostlyFree, a share), the usual latency is that of a free one, and the
	// long ones (longLatency, a quantile) stand for it.
	freeShare   = 0.35
	mostlyFree  = 0.6
	longLatency = 0.9
	// leastDelay in ms is the least that the mean delay must be: times are heard to
	// a millisecond.
	leastDelay = 1
)

// hanging tells whether the fit to latencies (ms) shows a rocker that hangs.
func (f delayFit) hanging(latencies []float64) bool {
	usual := Median(latencies)
	if f.Free >= mostlyFree {
		usual = Quantile(Sorted(latencies), longLatency)
	}
	return f.Gain >= hangingGain && f.Low >= leastDelay && f.Base <= freeShare*usual &&
		f.Free*float64(len(latencies)) >= fewestFree
}

// sluggishEscapement: dirt or dried oil lets the dogs or the rocker hang: the
// release of strokes whose finger is off comes late, and later from time to time.
// It delays the others just as much, but there the finger's own time is as long and
// differs as much, and no sound of the carriage tells the two apart: so it shows in
// flicked strokes only.
//
// Strong: a hanging rocker is 3000 times likelier, the mean delay's interval lies
// above 4 ms and flagged pairs would stand clear without it. Likely: two of the
// three. Possible: 10 times likelier and an interval above 1 ms, or fewer than 20
// strokes without a finger on the key.
func sluggishEscapement(c *Case) (Finding, bool) {
	if c.Options.Action == DownStroke {
		return Finding{}, false
	}
	slow := c.slowKeys()
	at, latencies := sureLatencies(c.Take.Strokes, func(i int) bool { return slow[c.char(i)] })
	fit, ok := fitDelay(latencies)
	if !ok || !fit.hanging(latencies) {
		return Finding{}, false
	}
	free := fit.Free * float64(len(latencies))
	where := c.relieved(func(i int) relief {
		s := c.Take.Strokes[i]
		if s.Kind == KindSpace && !s.LatencyMS.Known() && !c.shared(i) {
			return relief{}
		}
		// The delay that a stroke had is at most what its latency has over the free
		// return.
		over := float64(s.LatencyMS) - fit.Base
		if !known(over) {
			over = fit.MS
		}
		return relief{ms: math.Min(over, 3*fit.MS)}
	})
	evidence := []Evidence{
		plain("mean delay of the release beyond the bar's own return", fit.MS, "ms").within(fit.Low, fit.High).
			against(0, BasisTake, "this take's latencies without such a delay"),
		plain("return of a bar that the finger has left", fit.Base, "ms"),
		plain("strokes whose finger had left, by the same estimate", math.Round(free), "strokes"),
	}
	trend := theilSen(at, latencies, level)
	minutes := 60.0
	if trend.High < 0 || trend.Low > 0 {
		evidence = append(evidence, plain("change of the latency through the take", trend.Slope*minutes, "ms a minute").
			within(trend.Low*minutes, trend.High*minutes).
			against(0, BasisTake, "a latency that stays; one that falls as the machine warms up speaks for dried oil"))
	}
	signs := 0
	for _, sign := range []bool{fit.Gain >= clearGain, fit.Low > 4, len(where) > 0} {
		if sign {
			signs++
		}
	}
	strength := Possible
	switch {
	case free < enoughFree:
	case signs == 3:
		strength = Strong
	case signs == 2:
		strength = Likely
	}
	return Finding{
		Fault: FaultSluggishEscapement, Share: ShareMachine, Strength: strength, Explains: len(where),
		Evidence: evidence, Where: where, relieved: where,
		Check:   "With the carriage held, press a key and let it go: the rocker and both dogs must snap back at once, the tenth time as the first. Look for dirt, dried oil and hair at their pivots.",
		Next:    "Clean the pivots until they move freely, then the rocker's return spring. Oil comes last and little.",
		Caution: caution(cautionSolvent, cautionMoving),
	}, true
}

// sureLatencies are the latencies in ms of typed strokes whose release was heard well,
// but for those left out, and when the strikes were in s.
func sureLatencies(strokes []Stroke, leftOut func(i int) bool) (at, latencies []float64) {
	for i, s := range strokes {
		if v := sure(typedLatency(s), s.Confidence.Release); v.Known() && !leftOut(i) {
			at, latencies = append(at, float64(s.StrikeS)), append(latencies, float64(v))
		}
	}
	return at, latencies
}

// ReleaseDelay is by how much a hanging rocker holds releases back: the mean of an
// exponential time with its 95 % interval, and the latency without it, all in ms.
type ReleaseDelay struct{ Mean, Low, High, Base float64 }

// HangingRelease estimates the delay of a take in which a sluggish escapement was
// found; ok is false for any other.
func HangingRelease(t *Take) (d ReleaseDelay, ok bool) {
	found := false
	slow := map[int]bool{}
	for _, f := range t.Findings {
		found = found || f.Fault == FaultSluggishEscapement
		if f.Fault == FaultSluggishBar {
			for _, i := range f.Where {
				slow[i] = true
			}
		}
	}
	if !found {
		return d, false
	}
	_, latencies := sureLatencies(t.Strokes, func(i int) bool { return slow[i] })
	fit, ok := fitDelay(latencies)
	return ReleaseDelay{fit.MS, fit.Low, fit.High, fit.Base}, ok && fit.hanging(latencies)
}
