package onset

import (
	"math"
	"slices"
)

const (
	// maxLead is the longest lead of a typed stroke in s: a trip with the type
	// face half an inch from the paper on a slow bar. Lever noise lies before it.
	maxLead = 0.013
	// maxBarLead is the same for the space bar, whose thump is its stop and not a
	// blow on the paper.
	maxBarLead = 0.045
	// tripShare of the strokes must have a sound at the same lead before it is
	// taken for the trip.
	tripShare = 0.3
)

// tripChoice is a sound that may be a stroke's trip.
type tripChoice struct {
	time, lag float64 // s; lag is how long before the strike or thump it comes
	// weight is how much it is a sound at all, in log units; once chosen, how much
	// it is the trip.
	weight float64
	cand   int // -1 when it was found by the sample, inside the strike's rise
}

// tripChoices lists the sounds before candidate i that may be its trip, at most
// reach seconds before it and later than earliest, appended to out.
func (s *scan) tripChoices(i int, reach, earliest float64, out []tripChoice) []tripChoice {
	c := &s.found[i]
	for j := i - 1; j >= 0; j-- {
		lag := c.time - s.found[j].time
		if lag > reach || s.found[j].time <= earliest {
			break
		}
		if lag > minLead {
			out = append(out, tripChoice{s.found[j].time, lag, clamp((s.found[j].score-5)/3, -1, 3), j})
		}
	}
	if lag := c.time - c.preTime; c.preRise > 6 && lag > 0.0001 && lag <= reach && c.preTime > earliest {
		for _, o := range out {
			if math.Abs(o.time-c.preTime) < 0.0005 {
				return out
			}
		}
		out = append(out, tripChoice{c.preTime, lag, clamp((c.preRise-10)/4, -1, 2), -1})
	}
	return out
}

// trips finds the trips of the lines' letters, or of their space-bar strokes:
// the sounds at the lead that repeats. It returns them by their strikes (no
// entry for a stroke whose trip was not heard), their family (n 0 where too few
// are candidates) and the leads in seconds. Where no lead repeats it finds none.
func (e *session) trips(m *model, lines []line, space bool) (map[int]tripChoice, family, Spread) {
	reach, tolerance := maxLead, 0.0012
	if space {
		reach, tolerance = maxBarLead, 0.003
	}
	type choices struct {
		strike int
		of     []tripChoice
	}
	var all []choices // in order of the strokes
	var lags []float64
	for _, l := range lines {
		earliest := math.Inf(-1)
		for _, st := range l.strokes {
			if st.space == space && !st.drowned {
				cs := e.tripChoices(st.strike, reach, earliest, nil)
				all = append(all, choices{st.strike, cs})
				for _, c := range cs {
					if c.weight > -0.5 {
						lags = append(lags, c.lag)
					}
				}
			}
			earliest = e.found[max(st.strike, st.release)].time
		}
	}
	if len(all) < 5 || len(lags) == 0 {
		return nil, family{}, spreadOf(nil)
	}
	mode := densest(lags, tolerance)
	var near []float64
	var sounds []*candidate
	hits := 0
	for _, cs := range all {
		hit := false
		for _, c := range cs.of {
			if math.Abs(c.lag-mode) < 2*tolerance {
				near = append(near, c.lag)
				hit = true
				if c.cand >= 0 {
					sounds = append(sounds, &e.found[c.cand])
				}
			}
		}
		if hit {
			hits++
		}
	}
	if float64(hits) < tripShare*float64(len(all)) {
		return nil, family{}, spreadOf(nil)
	}
	lead, mad := medianMAD(near)
	sigma := max(1.4826*mad, 0.1*lead, 0.0002)
	var trip family
	if len(sounds) >= 5 {
		trip = fit(sounds)
	}
	out := map[int]tripChoice{}
	var leads []float64
	for _, cs := range all {
		top := 0.0
		for _, c := range cs.of {
			z := (c.lag - lead) / sigma
			v := 3 - 2.5*math.Log1p(z*z/4) + c.weight
			if c.cand >= 0 && trip.n > 0 {
				v += ratio(trip.log(&e.found[c.cand], e.bands, &m.clutter.all), m.clutter.log(&e.found[c.cand], e.bands)) / 2
			}
			if v > top {
				top = v
				c.weight = v
				out[cs.strike] = c
			}
		}
		if c, ok := out[cs.strike]; ok {
			leads = append(leads, c.lag)
		}
	}
	return out, trip, spreadOf(leads)
}

// densest is the value about which most of v lie, by a triangular window of
// half-width w; v is not empty.
func densest(v []float64, w float64) float64 {
	v = slices.Clone(v)
	// The densest place is plain to see from a few thousand.
	if step := len(v)/4000 + 1; step > 1 {
		n := 0
		for i := 0; i < len(v); i += step {
			v[n] = v[i]
			n++
		}
		v = v[:n]
	}
	slices.Sort(v)
	best, at := 0.0, v[0]
	lo := 0
	for i, x := range v {
		for v[lo] < x-w {
			lo++
		}
		sum := 0.0
		for j := lo; j < len(v) && v[j] < x+w; j++ {
			sum += 1 - math.Abs(v[j]-x)/w
		}
		if sum > best {
			best, at = sum, v[i]
		}
	}
	return at
}
