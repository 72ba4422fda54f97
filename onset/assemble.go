package onset

import (
	"math"
	"slices"
)

// silence is a Mark that was not heard.
var silence = Mark{Time: math.NaN(), Level: math.NaN()}

// mark places candidate i, with a confidence from log odds.
func (s *scan) mark(i int, odds float64) Mark {
	if i < 0 {
		return silence
	}
	c := &s.found[i]
	return Mark{Time: c.time, Level: c.peak, Confidence: confidence(odds)}
}

// confidence turns log odds into a probability, short of certainty and of
// nothing.
func confidence(odds float64) float64 { return clamp(1/(1+math.Exp(-odds)), 0.02, 0.995) }

// assemble turns the decoded lines into a Take's strokes and lines.
func (e *session) assemble(m *model, t *Take) {
	letterTrips, trip, lead := e.trips(m, e.lines, false)
	barTrips, _, _ := e.trips(m, e.lines, true)
	tripped := func(i int) bool {
		_, letter := letterTrips[i]
		_, bar := barTrips[i]
		return letter || bar
	}
	e.dropRatchets(m, tripped)
	e.dropIdle(m, tripped)
	e.joinLines(m)
	e.heard, e.chance = e.answers(m)
	e.taken = e.usedBy(e.lines)
	e.unlanded(m)
	e.hush = e.learnHush(m)
	e.missedShare = e.missShares(m)
	var level struct{ strike, thump, trip, release, landing []float64 }
	var latencies, travels []float64
	letters := 0

	for li := range e.lines {
		l := &e.lines[li]
		out := Line{First: len(t.Strokes), Bell: math.NaN(), Return: math.NaN()}
		for k := range l.strokes {
			st := &l.strokes[k]
			o := Stroke{Space: st.space, Line: len(t.Lines), Trip: silence, Skip: silence}
			odds := m.llr[st.strike]
			o.Strike = e.mark(st.strike, strikeOdds(odds, st, e.isStrike[st.strike]))
			o.Release = e.mark(st.release, carriageOdds(m, st.release, asRelease, st.landing >= 0))
			o.Landing = e.mark(st.landing, carriageOdds(m, st.landing, asLanding, st.release >= 0))
			choice, ok := letterTrips[st.strike]
			if st.space {
				choice, ok = barTrips[st.strike]
			}
			if st.drowned {
				o.Trip = e.mark(st.strike, m.llr[st.strike][asTrip])
				o.Strike = Mark{Time: st.time, Level: math.NaN(), Confidence: confidence(-1)}
				level.trip = append(level.trip, o.Trip.Level)
			} else if ok {
				o.Trip = Mark{Time: choice.time, Level: math.NaN(), Confidence: confidence(choice.weight - 1)}
				if choice.cand >= 0 {
					o.Trip.Level = e.found[choice.cand].peak
					level.trip = append(level.trip, o.Trip.Level)
				}
			}
			o.Shared, o.Missed = e.without(m, l, k)
			if skip := e.skip(m, l, k); skip >= 0 {
				o.Skip = e.mark(skip, m.llr[skip][asLanding])
			}
			t.Strokes = append(t.Strokes, o)

			switch {
			case st.drowned: // has no level of its own
			case st.space:
				level.thump = append(level.thump, o.Strike.Level)
			default:
				letters++
				level.strike = append(level.strike, o.Strike.Level)
			}
			if o.Release.Heard() {
				level.release = append(level.release, o.Release.Level)
				latencies = append(latencies, o.Release.Time-o.Strike.Time)
			}
			if o.Landing.Heard() {
				level.landing = append(level.landing, o.Landing.Level)
				if o.Release.Heard() {
					travels = append(travels, o.Landing.Time-o.Release.Time)
				}
			}
		}
		out.Count = len(t.Strokes) - out.First
		if out.Count == 0 {
			continue
		}
		out.Start = t.Strokes[out.First].Strike.Time
		out.End = t.Strokes[out.First+out.Count-1].Strike.Time
		if l.carriage.to > 0 {
			out.Return = l.carriage.from
		}
		// The bell rings near the line's end: the last one of the line is it.
		limit := out.End + 1
		if l.carriage.to > 0 {
			limit = l.carriage.to
		}
		for _, b := range e.bells {
			if b.time > out.Start+0.5*(out.End-out.Start) && b.time < limit {
				out.Bell = b.time
			}
		}
		t.Lines = append(t.Lines, out)
	}
	t.Learnt = Learnt{
		Strike:  soundOf(level.strike, &m.strike, e.bands, letters),
		Thump:   soundOf(level.thump, &m.thump, e.bands, len(t.Strokes)-letters),
		Trip:    soundOf(level.trip, &trip, e.bands, len(t.Strokes)),
		Release: soundOf(level.release, &m.release, e.bands, len(t.Strokes)),
		Landing: soundOf(level.landing, &m.landing, e.bands, len(t.Strokes)),
		Bands:   slices.Clone(bandEdges[:e.bands]),
		Lead:    lead, Latency: spreadOf(latencies), Travel: spreadOf(travels), Pairs: m.pairs, HalfMoves: math.NaN(),
	}
}

// dropRatchets takes out strikes that are clicks of a carriage return which was
// not found for them: several in a row at the beat of a ratchet, none with a
// trip before it where strikes have trips, or else with nothing of the carriage
// after it. The line ends there.
func (e *session) dropRatchets(m *model, tripped func(int) bool) {
	const (
		most   = 4
		beat   = 0.12 // s
		chance = 1e-3 // that so many strokes in a row have trips that are not heard
	)
	few := most
	if m.leadShare > 0 {
		few = clamp(int(math.Ceil(math.Log(chance)/math.Log(1-m.leadShare))), 3, most)
	}
	var out []line
	for _, l := range e.lines {
		idle := func(k int) bool {
			st := &l.strokes[k]
			return !tripped(st.strike) && (m.leadShare > 0 || !st.moved())
		}
		time := func(k int) float64 { return l.strokes[k].time }
		start := 0
		for k := 0; k < len(l.strokes); k++ {
			end := k
			for end < len(l.strokes) && idle(end) && (end == k || time(end)-time(end-1) < beat) {
				end++
			}
			if end-k < few {
				continue
			}
			if k > start {
				part := l
				part.strokes = l.strokes[start:k]
				part.carriage = span{time(k), time(end - 1)}
				out = append(out, part)
			}
			start, k = end, end-1
		}
		if start < len(l.strokes) {
			l.strokes = l.strokes[start:]
			out = append(out, l)
		} else if n := len(out); n > 0 && l.carriage.to > 0 {
			out[n-1].carriage.to = l.carriage.to
		}
	}
	e.lines = out
}

// strikeOdds are the log odds that a stroke is one: its sound, and whether the
// carriage answered.
func strikeOdds(llr [5]float64, st *stroke, loud bool) float64 {
	odds := llr[asStrike]
	if st.space {
		odds = llr[asThump]
	}
	if st.landing >= 0 {
		odds += 2
	}
	if st.release >= 0 {
		odds += 1
	}
	if loud {
		odds += 2
	}
	return odds
}

// carriageOdds are the log odds of candidate i being the carriage sound as: how
// it sounds, and whether the other one of the pair was heard, too.
func carriageOdds(m *model, i, as int, paired bool) float64 {
	if i < 0 {
		return 0
	}
	odds := m.llr[i][as] + 0.5
	if paired {
		odds += 2
	}
	return odds
}

// reliable is by how much landings are heard where they should be more often
// than chance would have it, 0 to 1.
func (e *session) reliable() float64 {
	return clamp((e.heard-e.chance)/max(1-e.chance, 0.01), 0, 1)
}

// outstanding is the reliability of landings under which no space is called
// missed.
const outstanding = 0.5

// without says why stroke k of line l has no carriage sound of its own, if it
// has none: it shares the next one's, or no space was made, whichever explains
// the silence best. Neither is said where the sounds may be there unheard.
func (e *session) without(m *model, l *line, k int) (shared, missed bool) {
	st := &l.strokes[k]
	if st.unlanded {
		return false, true
	}
	if st.moved() || m.landing.n == 0 {
		return false, false
	}
	kind := kindOf(st.space)
	t0 := st.time
	d := m.delay[kind]
	travel := d.ready - d.latency
	latency := d.latency
	if !m.pairs {
		// Delays are those of the landing; the travel is a supposed one (fromDelay).
		travel = m.travel.at(st.position)
		latency = max(0.5*d.ready, d.ready-travel)
	}
	// late is how likely it is by the hand alone that the release would have come
	// after the next strike; then the two strokes share one, if the next has one.
	late, next := 0.0, math.Inf(1)
	if k+1 < len(l.strokes) {
		n := &l.strokes[k+1]
		next = n.time
		if n.moved() {
			late = max(0.5*math.Erfc((next-t0-latency)/(d.latencySigma*math.Sqrt2)), 0.005)
		}
	}
	// buried is how likely it is that release and landing were both there and both
	// not heard: first that the release is not, by how often landings are heard
	// without one, then that the landing is not either, by what else was heard
	// where it would have come.
	landed := m.both[kind] + m.only[kind]
	buried := max(m.only[kind], 0.03) / max(landed, 0.1)
	if !m.pairs {
		buried = 1 // no release is ever heard
	}
	const (
		underNext = 0.5  // of landings that come when the next stroke sounds
		doubtful  = 0.3  // where something is heard that might be one
		inQuiet   = 0.03 // where nothing is
	)
	from, to := t0+latency-2*d.latencySigma+travel, t0+latency+2*d.latencySigma+travel
	// The next stroke's own sounds are no part of the silence.
	to = min(to, next-m.lead-3*m.leadSigma-minLead)
	after := 0.5 * math.Erfc((to-t0-latency-travel)/(d.latencySigma*math.Sqrt2))
	switch {
	case e.under(m, from, to) < e.hush:
		buried = 1
	case e.maybe(m, st.strike, to):
		buried *= doubtful*(1-after) + underNext*after
	default:
		buried *= inQuiet*(1-after) + underNext*after
	}
	// A letter that the finger leaves at once is released under its own strike.
	if e.mayBeFlicked(m, st) {
		buried = max(buried, m.flicked, fewFlicked)
	}
	// Where landings stand out little from what else is heard at any time, their
	// absence says nothing.
	if e.reliable() < outstanding {
		buried = 1
	}
	buried *= 1 - late
	const seldom = 0.01 // missed spaces where the take shows none for sure
	miss := max(e.missedShare[kind], seldom) * (1 - late)
	total := late + miss + buried
	return late > 0.6*total, miss > 0.6*total
}

// maybe tells whether something that could be a landing follows candidate i
// before time to, too unlike one to be taken for it.
func (e *session) maybe(m *model, i int, to float64) bool {
	for j := i + 1; j < len(e.found) && e.found[j].time < to; j++ {
		if m.llr[j][asLanding] > -0.5 {
			return true
		}
	}
	return false
}

// missShares estimates how often letters and the space bar make no space, from those
// with time for one to be heard before the next stroke.
func (e *session) missShares(m *model) (shares [2]float64) {
	for kind := range shares {
		d := m.delay[kind]
		silent, n := 0.5, 20.0
		for _, l := range e.lines {
			for k, st := range l.strokes {
				if kindOf(st.space) != kind || k+1 < len(l.strokes) && l.strokes[k+1].time < st.time+d.ready+2*d.readySigma {
					continue
				}
				n++
				if !st.moved() && !e.mayBeFlicked(m, &st) &&
					e.under(m, st.time+d.ready-2*d.readySigma, st.time+d.ready+2*d.readySigma) >= e.hush {
					silent++
				}
			}
		}
		shares[kind] = silent / n
	}
	return shares
}

// under is by how many dB the loudest moment between two times lies under the
// take's landings, in the band in which they stand out most. Moments of a sound that
// is surely none do not count, nor a frame of which part comes after to. It is -Inf
// where not all of that was recorded.
func (e *session) under(m *model, from, to float64) float64 {
	const (
		unlike = -4.5  // log odds
		lasts  = 0.020 // s
	)
	if to > e.end() {
		return math.Inf(-1)
	}
	fl := e.frameLength()
	a, b := clamp(int(from/fl), 0, len(e.frames)-1), min(int(to/fl), len(e.frames))-1
	least := math.Inf(1)
	next, other := e.after(float64(a)*fl-lasts), math.Inf(-1)
	for k := a; k <= b; k++ {
		if e.hole(k) {
			return math.Inf(-1)
		}
		for ; next < len(e.found) && e.found[next].time < float64(k+1)*fl; next++ {
			if m.llr[next][asLanding] < unlike {
				other = e.found[next].time
			} else {
				other = math.Inf(-1)
			}
		}
		if float64(k)*fl < other+lasts {
			continue
		}
		out := math.Inf(-1)
		for i := range e.bands {
			out = max(out, m.landing.band(i)-float64(e.frames[k].level[i]))
		}
		least = min(least, out)
	}
	return least
}

// learnHush learns from the strokes after which a landing was heard how far under a
// landing's the sound must stay where there is none.
func (e *session) learnHush(m *model) float64 {
	const (
		spreads = 3
		least   = 8 // dB
	)
	var with []float64
	for _, l := range e.lines {
		for _, st := range l.strokes {
			if st.landing >= 0 {
				t, spread := e.found[st.landing].time, m.delay[kindOf(st.space)].readySigma
				with = append(with, e.under(m, t-2*spread, t+2*e.frameLength()))
			}
		}
	}
	if len(with) == 0 {
		return math.Inf(1)
	}
	middle, mad := medianMAD(with)
	return max(middle+spreads*1.4826*mad, least)
}

// audible tells whether a landing at nearly any time between from and to would
// have stood out: in three of four frames some band is so quiet that the take's
// landings are 6 dB over it. None would where not all of that was recorded.
func (e *session) audible(m *model, from, to float64) bool {
	if to > e.end() {
		return false
	}
	fl := e.frameLength()
	a, b := clamp(int(from/fl), 0, len(e.frames)-1), clamp(int(to/fl), 0, len(e.frames)-1)
	quiet := 0
	for k := a; k <= b; k++ {
		if e.hole(k) {
			return false
		}
		for i := range e.bands {
			if m.landing.band(i) > float64(e.frames[k].level[i])+6 {
				quiet++
				break
			}
		}
	}
	return quiet*4 >= (b-a+1)*3
}

// skip finds a second landing a travel after stroke k's own: the carriage moved
// two spaces. It returns the candidate, or -1.
func (e *session) skip(m *model, l *line, k int) int {
	st := &l.strokes[k]
	if st.landing < 0 || !m.pairs {
		return -1
	}
	t := e.found[st.landing].time
	travel := m.travel.at(st.position + 1)
	limit := math.Inf(1)
	if k+1 < len(l.strokes) {
		limit = l.strokes[k+1].time - 0.001
	}
	for i := st.landing + 1; i < len(e.found) && e.found[i].time < limit; i++ {
		gap := e.found[i].time - t - travel
		if gap > 4*m.travel.sigma {
			break
		}
		if gap > -4*m.travel.sigma && m.llr[i][asLanding] > 4.5 && m.llr[i][asLanding] > m.llr[i][asThump]+2 {
			return i
		}
	}
	return -1
}
