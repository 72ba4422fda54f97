package compare

import (
	"math"
	"math/rand/v2"
	"slices"

	"loosedog/diagnose"
)

const (
	// level of every interval.
	level = 0.95
	// resamples of the lines for an interval, and the seed that makes them the same
	// in every run.
	resamples     = 400
	resampleSeed  = 0xb005
	fewestTravels = 20
)

// AtReference is how many letters a page (of [PageStrokes] strokes) come out
// crowded or piled when the fixed [Reference] hand types on the machine that the
// take shows, as Median, with a 95 % bootstrap interval that resamples the take's
// lines: machines that were typed by different hands can be set beside one another
// by it. P95 is unknown. All are unknown where the take is not usable, has too few
// strokes whose carriage was heard, or fewer than two lines.
//
// Where the take shows no flicked strokes, how many of the hand's would make no
// space cannot be told, and none is taken to miss. Where none that made a space can
// be told from held ones, the machine's share of the latency is only bounded: half
// the bound is assumed, and the interval holds what 0 and the whole bound give.
// Where the take was found to show a sluggish escapement, its estimate stands for the
// machine's share ([diagnose.HangingRelease]), that of the bars for the space bar,
// too, and the interval holds what both ends of the estimate's give.
// action is how the carriage moves; FullSpace when empty.
func AtReference(t *diagnose.Take, action diagnose.Action) diagnose.Figure {
	none := diagnose.Figure{Median: diagnose.Unknown(), P95: diagnose.Unknown(), Low: diagnose.Unknown(), High: diagnose.Unknown()}
	if t == nil || !t.Recording.Usable {
		return none
	}
	m, ok := modeOf([]*diagnose.Take{t}, action)
	if !ok {
		return none
	}
	s := &side{lines: linesOf([]*diagnose.Take{t}), belied: belied([2][]*diagnose.Take{{t}, nil})}
	if len(s.lines) < 2 {
		return none
	}
	understand(m, s, nil)
	page := Reference.lines()
	// What is only bounded may be anything from nothing to the bound.
	own := &s.grasp.linkage[letter]
	assumed := [][linkages][]float64{{}}
	if d, ok := diagnose.HangingRelease(t); ok {
		assumed = nil
		for _, mean := range []float64{d.Mean, d.Low, d.High} {
			late := hanging(d.Base/1000, mean/1000)
			assumed = append(assumed, [linkages][]float64{letter: late, bar: late})
		}
	} else if !own.known {
		assumed = nil
		for _, free := range []float64{own.own / 2, 0, own.own} {
			assumed = append(assumed, [linkages][]float64{letter: {free}})
		}
	}
	var values []float64
	for i, free := range assumed {
		for k, from := range free {
			if from != nil {
				s.grasp.linkage[k].freeFrom = from
			}
		}
		if i == 0 {
			none.Median = diagnose.Number(s.machine(nil).perPage(page, nil))
		}
		source := rand.NewPCG(resampleSeed, 1)
		r := rand.New(source)
		some := make([]float64, 0, resamples)
		for range resamples / len(assumed) {
			some = append(some, s.machine(draw(r, len(s.lines))).uncertain(source, &s.grasp).perPage(page, nil))
		}
		low, high := interval(some)
		values = append(values, low, high)
	}
	none.Low, none.High = diagnose.Number(slices.Min(values)), diagnose.Number(slices.Max(values))
	return none
}

// hanging are latencies in seconds, spread as a rocker that hangs for an exponential
// time spreads them over the bar's own return.
func hanging(base, mean float64) []float64 {
	const n = 200
	late := make([]float64, n)
	for i := range late {
		late[i] = base - mean*math.Log1p(-(float64(i)+0.5)/n)
	}
	return late
}

// draw draws n lines with replacement: how often each.
func draw(r *rand.Rand, n int) []int {
	times := make([]int, n)
	for range n {
		times[r.IntN(n)]++
	}
	return times
}

// interval is the percentile interval of resampled values.
func interval(values []float64) (low, high float64) {
	s := diagnose.Sorted(values)
	return diagnose.Quantile(s, (1-level)/2), diagnose.Quantile(s, (1+level)/2)
}

// modeOf says which carriage sounds the takes of a side can be compared by; ok
// is false when some of them let none be heard.
func modeOf(takes []*diagnose.Take, action diagnose.Action) (m mode, ok bool) {
	m = apart
	if action == diagnose.DownStroke {
		m = onTrip
	}
	for _, t := range takes {
		travels, landed := 0, 0
		for _, s := range t.Strokes {
			if s.TravelMS > 0 {
				travels++
			}
			if s.ReadyMS.Known() {
				landed++
			}
		}
		if landed < fewestTravels {
			return m, false
		}
		if travels < max(fewestTravels, landed/10) {
			if m == onTrip {
				return m, false
			}
			m = landings
		}
	}
	return m, true
}
