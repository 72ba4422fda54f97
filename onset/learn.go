package onset

import (
	"math"
	"reflect"
	"runtime"
	"slices"
	"sort"
	"sync"
)

// base is a model that knows strikes and clutter only.
func (e *session) base(strike family) model {
	m := model{bands: e.bands, strike: strike}
	var rest []*candidate
	for _, l := range e.lines {
		for i := l.first; i < l.last; i++ {
			if !e.isStrike[i] {
				rest = append(rest, &e.found[i])
			}
		}
	}
	// The carriage's own sounds are still among the rest: one wide family, or they
	// would be explained away before they are met.
	m.clutter = wideClutter(rest)
	m.rate = e.clutterRate(len(rest))
	for k := range 2 {
		m.both[k], m.only[k], m.half[k], m.none[k] = 0.8, 0.1, 0.05, 0.05
	}
	m.prior = [2]float64{-1, -2.5}
	m.pace, m.paceSigma = math.Log(e.beat), 0.5
	return m
}

// clutterRate is how many of n sounds come in a second of typing, within reason.
func (e *session) clutterRate(n int) float64 {
	typed := 0.0
	for _, l := range e.lines {
		typed += l.span.to - l.span.from + 0.2
	}
	return clamp(float64(n)/max(typed, 0.1), 4, 60)
}

// delaysOf learns delays from latencies and ready times in s; NaN where there are
// none.
func delaysOf(latency, ready []float64) delays {
	var d delays
	var mad float64
	d.latency, mad = medianMAD(latency)
	d.latencySigma = max(1.4826*mad, 0.003)
	d.ready, mad = medianMAD(ready)
	d.readySigma = max(1.4826*mad, 0.003)
	return d
}

// letterTrip learns how the trips of letters sound, before anything but the
// strikes is known.
func (e *session) letterTrip(m *model) {
	for li := range e.lines {
		l := &e.lines[li]
		l.strokes = nil
		for _, i := range e.strikes[sort.SearchInts(e.strikes, l.first):sort.SearchInts(e.strikes, l.last)] {
			l.strokes = append(l.strokes, stroke{strike: i, time: e.found[i].time, release: -1, landing: -1})
		}
	}
	_, trip, lead := e.trips(m, e.lines, false)
	m.trip = trip
	if share := float64(lead.N) / float64(max(len(e.strikes), 1)); share > 0.6 {
		m.lead, m.leadSigma, m.leadShare = lead.Median, max(1.4826*lead.MAD, 0.0003), min(share, 0.97)
	}
	for li := range e.lines {
		e.lines[li].strokes = nil
	}
}

// decode decodes the given lines with m and returns the total score.
func (e *session) decode(m *model, lines []line) float64 {
	total := 0.0
	var room desk
	for li := range lines {
		l := &lines[li]
		m.weigh(e.scan, l.first, l.last)
		var score float64
		l.strokes, score = m.decodeLine(e.scan, e.nodes(m, l, &room), &room)
		total += score
	}
	return total
}

// faint is how far under the take's usual strike in dB one can be.
const faint = 25

// bellDoubt is what speaks against a thump that is a bell, in log units: the bell
// may ring with a stroke or by itself.
const bellDoubt = 3

// nodes lists on room the candidates of line l that may be a stroke's strike or thump.
func (e *session) nodes(m *model, l *line, room *desk) []node {
	at := l.positions(e.scan, e.beat)
	room.options = room.options[:0]
	out := room.nodes[:0]
	for i := l.first; i < l.last; i++ {
		asS, asT := m.llr[i][asStrike], m.llr[i][asThump]
		if e.isSecond[i] {
			continue
		}
		if e.isStrike[i] || asS > -2 && e.found[i].loud > m.strike.mean[loudness]-faint {
			n := node{cand: i, time: e.found[i].time, loud: e.isStrike[i], trip: m.tripOf(e.scan, i, false), score: asS + m.prior[0] + m.letterTripped(e.scan, i), position: at(e.found[i].time)}
			if e.isStrike[i] {
				n.score += 2
			}
			n.options = m.optionsFor(e, &n, room)
			out = append(out, n)
		}
		if m.spaces && asT > -4 && (!e.isStrike[i] || asT > asS-2) {
			n := node{cand: i, time: e.found[i].time, trip: m.tripOf(e.scan, i, true), space: true, score: asT + m.prior[1] + m.tripped(e.scan, i), position: at(e.found[i].time)}
			if e.isBell[i] {
				n.score -= bellDoubt
			}
			n.options = m.optionsFor(e, &n, room)
			out = append(out, n)
		}
		if n, ok := m.drownedAt(e, i); ok {
			n.position = at(n.time)
			n.options = m.optionsFor(e, &n, room)
			out = append(out, n)
		}
	}
	room.nodes = out
	return out
}

// drownedAt is a stroke of the space bar of which candidate i would be the trip,
// if it sounds like one that no letter's strike follows: the bar's dull thump may
// be drowned by its own trip.
func (m *model) drownedAt(e *session, i int) (n node, ok bool) {
	const (
		likely = 2.0 // log odds of a trip
		stays  = 3.0 // dB: a trip alone has lost more after 6 ms; one that a light strike follows has not
	)
	trip := m.llr[i][asTrip]
	if !m.spaces || m.barTrips == 0 || trip < likely || e.isStrike[i] || e.found[i].decay < stays {
		return n, false
	}
	t := e.found[i].time
	to := t + max(m.lead+5*m.leadSigma, m.barLead+barTripReach)
	for j := i + 1; j < len(e.found) && e.found[j].time < to; j++ {
		if e.isStrike[j] || m.llr[j][asStrike] > 0 {
			return n, false
		}
	}
	return node{cand: i, trip: i, time: t + m.barLead, space: true, drowned: true,
		score: trip + m.prior[1] + math.Log(m.drowned)}, true
}

// relearn fits the model to the decoded lines.
func (e *session) relearn(m *model, lines []line) {
	var strikes, thumps, releases, landings, rest []*candidate
	var lat, ready [2][]float64
	var positions, travels []float64
	var both, only, half, none [2]float64
	var paces []float64
	drowned := 0.0
	used := e.usedBy(lines)
	for _, l := range lines {
		for i, st := range l.strokes {
			if i > 0 {
				paces = append(paces, math.Log(st.time-l.strokes[i-1].time))
			}
			k := kindOf(st.space)
			c := &e.found[st.strike]
			switch {
			case st.drowned:
				drowned++
			case st.space:
				thumps = append(thumps, c)
			default:
				strikes = append(strikes, c)
			}
			if st.release >= 0 {
				releases = append(releases, &e.found[st.release])
				lat[k] = append(lat[k], e.found[st.release].time-st.time)
			}
			if st.landing >= 0 {
				landings = append(landings, &e.found[st.landing])
				ready[k] = append(ready[k], e.found[st.landing].time-st.time)
			}
			switch {
			case st.release >= 0 && st.landing >= 0:
				both[k]++
				positions = append(positions, st.position)
				travels = append(travels, e.found[st.landing].time-e.found[st.release].time)
			case st.landing >= 0:
				only[k]++
			case st.release >= 0:
				half[k]++
			default:
				none[k]++
			}
		}
	}
	for _, l := range lines {
		for i := l.first; i < l.last; i++ {
			if !used[i] {
				rest = append(rest, &e.found[i])
			}
		}
	}
	if len(strikes) >= 4 {
		m.strike = fit(strikes)
	}
	m.spaces = len(thumps) >= 3
	m.drowned = clamp((drowned+1)/(drowned+float64(len(thumps))+10), 0.02, 0.5)
	m.thump = family{}
	if m.spaces {
		m.thump = fit(thumps)
	}
	if len(releases) >= 4 {
		m.release = fit(releases)
	}
	if len(landings) >= 4 {
		m.landing = fit(landings)
	}
	if len(rest) >= 20 {
		m.clutter = fitClutter(rest, e.bands)
	}
	if len(travels) >= 4 {
		m.travel = fitTravel(positions, travels)
	}
	e.learnBarTrips(m, lines)
	e.learnFlicks(m, lines)
	if len(paces) >= 10 {
		var mad float64
		m.pace, mad = medianMAD(paces)
		m.paceSigma = clamp(1.4826*mad, 0.2, 0.7)
	}
	if !m.pairs {
		lat = ready
	}
	for k := range 2 {
		if len(ready[k]) >= 5 && (len(lat[k]) >= 5 || !m.pairs) {
			m.delay[k] = delaysOf(lat[k], ready[k])
		}
		n := both[k] + only[k] + half[k] + none[k] + 4
		m.both[k], m.only[k] = max(both[k]+1, 0.02*n)/n, max(only[k]+1, 0.02*n)/n
		m.half[k], m.none[k] = max(half[k]+1, 0.01*n)/n, max(none[k]+1, 0.02*n)/n
	}
	// A thump by itself is no evidence of a stroke: without this bound silent
	// thumps would teach that thumps are silent.
	m.none[0], m.none[1] = min(m.none[0], 0.5), min(m.none[1], 0.12)
	for k, n := range [2]int{len(strikes), len(thumps) + int(drowned)} {
		m.prior[k] = clamp(math.Log(float64(n+1)/float64(len(rest)+1)), -5, 0)
	}
}

const (
	trialStrikes = 400  // so many of a take's are enough to choose between guesses
	learnStrikes = 1000 // and so many to learn from
)

// settle chooses the guess under which the take is most likely and learns the
// model from as much of it as that takes (learnStrikes).
func (e *session) settle(strike family) model {
	base := e.base(strike)
	e.letterTrip(&base)
	pairs, n := e.pairsAfter(500)
	var guesses []model
	for _, t := range guessTravels(pairs, n, e.scan) {
		guesses = append(guesses, e.fromPairs(base, t, pairs))
	}
	for _, lag := range e.guessDelays() {
		guesses = append(guesses, e.fromDelay(base, lag))
	}
	if len(guesses) == 0 {
		base.weigh(e.scan, 0, len(e.found))
		e.decode(&base, e.lines)
		return base
	}
	scores := make([]float64, len(guesses))
	var trials sync.WaitGroup
	cores := make(chan struct{}, runtime.GOMAXPROCS(0))
	for g := range guesses {
		cores <- struct{}{}
		trials.Go(func() {
			defer func() { <-cores }()
			m := &guesses[g]
			lines := e.some(trialStrikes)
			e.learn(m, lines, 3)
			e.decode(m, lines)
			scores[g] = e.likelihood(m, lines)
			m.llr = nil // large, and of no more use
		})
	}
	trials.Wait()
	best, lead := choose(guesses, scores)
	e.lead = lead
	m := guesses[best]
	e.learn(&m, e.some(learnStrikes), 4)
	m.learnt = true
	e.decode(&m, e.lines)
	return m
}

// learn decodes lines and fits m to them in turn, so many rounds, or until that
// changes neither. With what was learnt last they are not decoded yet.
func (e *session) learn(m *model, lines []line, rounds int) {
	if m.thump.n == 0 {
		for _, l := range lines {
			m.weigh(e.scan, l.first, l.last)
		}
		e.meetSpaces(m, lines)
	}
	for range rounds {
		was, heard := *m, slices.Clone(lines)
		e.decode(m, lines)
		e.relearn(m, lines)
		same := func(a, b line) bool { return slices.Equal(a.strokes, b.strokes) }
		if slices.EqualFunc(lines, heard, same) && reflect.DeepEqual(*m, was) {
			return
		}
	}
}

// turned learns the take anew with what m takes for the space bar's thumps as strikes.
func (e *session) turned(m *model) (*session, model) {
	var strikes []int
	for _, l := range e.lines {
		for _, st := range l.strokes {
			if st.space && !st.drowned {
				strikes = append(strikes, st.strike)
			}
		}
	}
	slices.Sort(strikes)
	other := layOut(e.scan, strikes, m.thump)
	return other, other.settle(m.thump)
}
