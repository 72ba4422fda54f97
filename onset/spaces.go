package onset

import (
	"math"
	"sort"
)

// meetSpaces learns the space bar's thump: carriage sounds that no strike stands
// before need a thump, and the loudest sound in the time in which a strike would
// stand is taken for it. It needs the candidates of lines weighed.
func (e *session) meetSpaces(m *model, lines []line) {
	var met []meeting
	d := m.delay[0]
	typical := d.ready
	if m.pairs {
		typical = d.latency
	}
	for li := range lines {
		l := &lines[li]
		at := l.positions(e.scan, e.beat)
		lo := sort.SearchInts(e.strikes, l.first)
		hi := sort.SearchInts(e.strikes, l.last)
		for j := lo; j < hi; j++ {
			i := e.strikes[j]
			t0 := e.found[i].time
			t1 := t0 + 3*e.beat
			if j+1 < hi {
				t1 = e.found[e.strikes[j+1]].time
			}
			pos := at(t0)
			if t1-t0 < 1.3*e.beat || t1-t0 < d.ready+0.08 {
				continue
			}
			own := node{cand: i, time: t0, trip: -1, position: pos}
			own.options = m.optionsFor(e, &own, new(desk))
			o := own.options[0]
			if o.landing < 0 {
				continue
			}
			// A second landing before the next strike, with its release where
			// releases are heard.
			from := e.found[o.landing].time + 0.02
			best, top := option{-1, -1, 0}, 2.0
			for b := e.after(from); b < l.last && e.found[b].time < t1-0.002; b++ {
				ll := m.llr[b][asLanding]
				if ll < 0 {
					continue
				}
				if !m.pairs {
					if ll > top {
						best, top = option{-1, b, ll}, ll
					}
					continue
				}
				for a := b - 1; a > o.landing && e.found[b].time-e.found[a].time < maxTravel; a-- {
					gap := e.found[b].time - e.found[a].time
					v := ll + m.llr[a][asRelease] + m.travelLog(gap-m.travel.at(pos+1))
					if v > top+2 {
						best, top = option{a, b, v}, v-2
					}
				}
			}
			if best.landing < 0 {
				continue
			}
			cause := best.landing
			if best.release >= 0 {
				cause = best.release
			}
			tc := e.found[cause].time
			from = max(tc-max(2.2*typical, typical+0.04), t0+0.02)
			thump := m.thumpAmong(e.scan, e.after(from), cause, tc-min(0.012, 0.4*typical), o)
			if thump >= 0 {
				met = append(met, meeting{thump, cause, best.landing})
			}
		}
	}
	e.passLevers(met)
	e.passTrips(met)
	var thumps []*candidate
	var lat, ready []float64
	for _, x := range met {
		t := e.found[x.thump].time
		thumps = append(thumps, &e.found[x.thump])
		lat = append(lat, e.found[x.cause].time-t)
		ready = append(ready, e.found[x.landing].time-t)
	}
	if len(thumps) < 4 {
		return
	}
	m.spaces = true
	m.thump = fit(thumps)
	m.delay[1] = delaysOf(lat, ready)
}

// thumpAmong chooses the space bar's thump among the candidates first to last-1
// that come before time to and are not the sounds of o, the stroke before: the
// loudest that is no trip, after the last trip where one is known by its sound.
// It returns -1 where there is none.
func (m *model) thumpAmong(s *scan, first, last int, to float64, o option) int {
	best := -1
	for c := first; c < last && s.found[c].time < to; c++ {
		if c == o.release || c == o.landing {
			continue
		}
		if m.trip.n > 0 && m.trip.log(&s.found[c], m.bands, &m.clutter.all) > m.clutter.log(&s.found[c], m.bands) {
			if m.llr[c][asTrip] > 2 && c+1 < last && s.found[c+1].time < to {
				best = -1
			}
			continue
		}
		if best < 0 || s.found[c].loud > s.found[best].loud {
			best = c
		}
	}
	return best
}

// meeting is a supposed thump with the carriage sounds that need it: cause is the
// first of them, the release where releases are heard. Indexes into scan.found.
type meeting struct{ thump, cause, landing int }

// passLevers moves on from thumps that are the noise of the bar's lever: where
// most of them are followed, before the carriage lets go, by a sound to which the
// release keeps better time, that is the thump. Lever noise comes sooner or later as
// the bar is pressed slower or faster.
func (e *session) passLevers(met []meeting) {
	const clear, quieter, most, steadier = 0.006, 12.0, 0.6, 0.75
	next := make([]int, len(met))
	var lags, later []float64
	for i, x := range met {
		next[i] = -1
		c0 := &e.found[x.thump]
		for c := x.thump + 1; c < x.cause && e.found[c].time < e.found[x.cause].time-clear; c++ {
			s := &e.found[c]
			if s.time > c0.time+clear && s.loud > c0.loud-quieter && !e.isSecond[c] && (next[i] < 0 || s.loud > e.found[next[i]].loud) {
				next[i] = c
			}
		}
		if next[i] >= 0 {
			lags = append(lags, e.found[x.cause].time-c0.time)
			later = append(later, e.found[x.cause].time-e.found[next[i]].time)
		}
	}
	if float64(len(later)) < most*float64(len(met)) || len(later) < 4 {
		return
	}
	_, was := medianMAD(lags)
	_, is := medianMAD(later)
	if is > steadier*was {
		return
	}
	for i := range met {
		if next[i] >= 0 {
			met[i].thump = next[i]
		}
	}
}

// passTrips moves on from thumps that are trips: where most of them are
// followed, before the carriage lets go, by a sound at one lag, that is the
// thump and what came before it the trip.
func (e *session) passTrips(met []meeting) {
	const early, late, width, quieter = 0.004, 0.035, 0.005, 10.0
	var lags []float64
	for _, x := range met {
		t := e.found[x.thump].time
		for c := x.thump + 1; c < x.cause && e.found[c].time < t+late; c++ {
			lag := e.found[c].time - t
			if lag > early && e.found[x.cause].time-e.found[c].time > 0.006 && e.found[c].loud > e.found[x.thump].loud-quieter {
				lags = append(lags, lag)
			}
		}
	}
	if len(lags) == 0 {
		return
	}
	mode := densest(lags, width)
	next := make([]int, len(met))
	hits := 0
	for i, x := range met {
		next[i] = -1
		for c := x.thump + 1; c < x.cause; c++ {
			if math.Abs(e.found[c].time-e.found[x.thump].time-mode) < width && e.found[c].loud > e.found[x.thump].loud-quieter {
				next[i] = c
			}
		}
		if next[i] >= 0 {
			hits++
		}
	}
	if float64(hits) < 0.6*float64(len(met)) {
		return
	}
	for i := range met {
		if next[i] >= 0 {
			met[i].thump = next[i]
		}
	}
}

// learnBarTrips learns when the space bar trips before its thump, if its trips
// sound as those of letters do.
func (e *session) learnBarTrips(m *model, lines []line) {
	m.barLead, m.barTrips = 0, 0
	if m.trip.n == 0 {
		// Letters may trip too close before the strike to be heard apart.
		_, m.trip, _ = e.trips(m, lines, true)
	}
	var lags []float64
	var thumps []int
	for _, l := range lines {
		for _, st := range l.strokes {
			if !st.space || st.drowned {
				continue
			}
			thumps = append(thumps, st.strike)
			t := e.found[st.strike].time
			for j := st.strike - 1; j >= 0 && t-e.found[j].time < maxBarLead; j-- {
				if m.llr[j][asTrip] > 1 {
					lags = append(lags, t-e.found[j].time)
				}
			}
		}
	}
	if len(thumps) < 8 || len(lags) == 0 {
		return
	}
	lead := densest(lags, barTripReach)
	hits := 0
	for _, i := range thumps {
		if m.tripAt(e.scan, i, lead, barTripReach) >= 0 {
			hits++
		}
	}
	if share := float64(hits) / float64(len(thumps)); share > 0.5 {
		m.barLead, m.barTrips = lead, min(share, 0.97)
	}
}
