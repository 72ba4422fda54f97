package onset

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// line is a line of the page while it is being decoded: the candidates first to
// last-1 lie in it.
type line struct {
	first, last int
	span        span // from its first to its last strike
	carriage    span // the carriage return that ended it; zero where none was heard
	strokes     []stroke
}

// session holds one take's decoding: what is fixed (strikes found by level,
// lines) and what is learnt.
type session struct {
	*scan
	strikes  []int
	isStrike map[int]bool
	bells    []bell
	isBell   map[int]bool
	// isSecond marks second hits: the type bounces, and strikes again at a delay
	// that only the machine sets.
	isSecond map[int]bool
	beat     float64 // median interval of the strikes in s
	// missedShare is how often letters make no space, once all is decoded.
	missedShare float64
	// reliable is by how much landings are heard where they should be more often
	// than chance would have it, 0 to 1.
	reliable float64
	lines    []line
}

// layOut parts the take into lines at its carriage returns and drops the
// strikes that are sounds of a return.
func layOut(s *scan, strikes []int, strike family) *session {
	out := &session{scan: s, isStrike: map[int]bool{}, bells: s.bells(), isBell: map[int]bool{}}
	out.beat = s.beat(strikes)
	var spans []span
	for _, r := range s.returns(strikes, strike, out.bells, out.beat) {
		if debug != nil {
			debug("return %.3f..%.3f\n", r.from, r.to)
		}
		spans = append(spans, r)
	}
	for _, b := range out.bells {
		if b.cand >= 0 && !slices.Contains(strikes, b.cand) {
			out.isBell[b.cand] = true
		}
	}
	inside := func(t float64) bool {
		i := sort.Search(len(spans), func(i int) bool { return spans[i].to > t })
		return i < len(spans) && spans[i].from < t
	}
	for _, i := range strikes {
		if !inside(s.found[i].time) {
			out.strikes = append(out.strikes, i)
			out.isStrike[i] = true
		}
	}
	start := 0
	out.secondHits()
	for k := 0; k <= len(spans); k++ {
		l := line{first: start, last: len(s.found)}
		if k < len(spans) {
			l.last = s.after(spans[k].from)
			start = s.after(spans[k].to)
			l.carriage = spans[k]
		}
		lo := sort.SearchInts(out.strikes, l.first)
		hi := sort.SearchInts(out.strikes, l.last)
		if lo == hi {
			// No strike between two returns: one return heard in two pieces.
			if n := len(out.lines); n > 0 && k < len(spans) {
				out.lines[n-1].carriage.to = spans[k].to
			}
			continue
		}
		l.span = span{s.found[out.strikes[lo]].time, s.found[out.strikes[hi-1]].time}
		out.lines = append(out.lines, l)
	}
	return out
}

// secondHits marks the sounds that follow most strikes by one very steady delay
// of a few milliseconds.
func (e *session) secondHits() {
	const early, late, width, share = 0.0025, 0.020, 0.0008, 0.5
	e.isSecond = map[int]bool{}
	var lags []float64
	for _, i := range e.strikes {
		for j := i + 1; j < len(e.found) && e.found[j].time < e.found[i].time+late; j++ {
			if lag := e.found[j].time - e.found[i].time; lag > early {
				lags = append(lags, lag)
			}
		}
	}
	if len(lags) == 0 {
		return
	}
	mode := densest(lags, width)
	second := map[int]bool{}
	for _, i := range e.strikes {
		for j := i + 1; j < len(e.found) && e.found[j].time < e.found[i].time+late; j++ {
			if math.Abs(e.found[j].time-e.found[i].time-mode) < width {
				second[j] = true
				break
			}
		}
	}
	if float64(len(second)) >= share*float64(len(e.strikes)) {
		e.isSecond = second
	}
}

// beat is the median interval of strikes in seconds, that of a calm hand where
// there are too few.
func (s *scan) beat(strikes []int) float64 {
	if len(strikes) < 3 {
		return 0.2
	}
	gaps := make([]float64, 0, len(strikes))
	for j := 1; j < len(strikes); j++ {
		gaps = append(gaps, s.found[strikes[j]].time-s.found[strikes[j-1]].time)
	}
	return middle(gaps)
}

// position guesses the carriage position at time t of line l from what was
// decoded so far, or from the beat before anything was.
func (l *line) position(s *scan, t, beat float64) float64 {
	if len(l.strokes) == 0 {
		return max(0, (t-l.span.from)/beat)
	}
	k := sort.Search(len(l.strokes), func(i int) bool { return s.found[l.strokes[i].strike].time >= t })
	moved := 0
	for _, st := range l.strokes[:k] {
		if st.landing >= 0 || st.release >= 0 {
			moved++
		}
	}
	return float64(moved)
}

// positions is position for many times in rising order, in one walk.
func (l *line) positions(s *scan, beat float64) func(t float64) float64 {
	if len(l.strokes) == 0 {
		return func(t float64) float64 { return max(0, (t-l.span.from)/beat) }
	}
	k, moved := 0, 0
	return func(t float64) float64 {
		for k < len(l.strokes) && s.found[l.strokes[k].strike].time < t {
			if l.strokes[k].landing >= 0 || l.strokes[k].release >= 0 {
				moved++
			}
			k++
		}
		return float64(moved)
	}
}

// lagPair is two sounds in a row after a strike.
type lagPair struct {
	strike, a, b int
	position     float64
}

// pairsAfter lists the pairs of candidates that could be the release and the
// landing of strikes with nothing struck in the tenth of a second after them,
// at most limit strikes, spread over the take.
func (e *session) pairsAfter(limit int) (pairs []lagPair, strikes int) {
	step := max(1, len(e.strikes)/limit)
	for _, l := range e.lines {
		lo := sort.SearchInts(e.strikes, l.first)
		hi := sort.SearchInts(e.strikes, l.last)
		for j := lo; j < hi; j += step {
			i := e.strikes[j]
			t0, t1 := e.found[i].time, math.Inf(1)
			if j+1 < hi {
				t1 = e.found[e.strikes[j+1]].time - 0.003
			}
			if t1-t0 < 0.1 {
				continue
			}
			strikes++
			clear := e.clearest(t0+0.004, min(t1, t0+maxLatency+maxTravel))
			for n, a := range clear {
				for _, b := range clear[n+1:] {
					gap := e.found[b].time - e.found[a].time
					if gap >= minTravel && gap <= maxTravel {
						pairs = append(pairs, lagPair{i, a, b, l.position(e.scan, t0, e.beat)})
					}
				}
			}
		}
	}
	return pairs, strikes
}

// clearest lists the few most sudden candidates between two times, in order of
// time: where a take is full of faint ones, chance would drown the rest.
func (e *session) clearest(from, to float64) []int {
	const few = 7
	var out []int
	for i := e.after(from); i < len(e.found) && e.found[i].time < to; i++ {
		if !e.isSecond[i] {
			out = append(out, i)
		}
	}
	if len(out) > few {
		slices.SortFunc(out, func(a, b int) int { return cmp.Compare(e.found[b].score, e.found[a].score) })
		out = out[:few]
		slices.Sort(out)
	}
	return out
}

// lagTolerance is how far from a supposed travel a pair may lie when travels
// are first looked for: tighter than any other delay of the mechanism repeats.
const lagTolerance = 0.0013

// guessTravels looks for the lags at which pairs of sounds after a strike
// repeat most sharply, along the line as the pull of a mainspring would have
// them, and returns the best few that are not the same.
func guessTravels(pairs []lagPair, strikes int, s *scan) []travelModel {
	const width = 60 // positions between the two ends that the model is laid through
	if strikes < 8 {
		return nil
	}
	// How dense lags are by chance, per second, from a wide histogram.
	const bin = 0.010
	wide := make([]float64, int(maxTravel/bin)+2)
	for _, p := range pairs {
		wide[int((s.found[p.b].time-s.found[p.a].time)/bin)]++
	}
	type guess struct {
		m     travelModel
		score float64
	}
	var all []guess
	for t0 := minTravel + 0.002; t0 < maxTravel-0.010; t0 += 0.001 {
		var best guess
		for _, ratio := range []float64{0.88, 1, 1.12, 1.25, 1.4, 1.6, 1.85} {
			t1 := t0 * ratio
			if t1 > maxTravel {
				break
			}
			m := travelModel{a: 1 / (t0 * t0), b: (1/(t1*t1) - 1/(t0*t0)) / width, sigma: 0.0015}
			hits, last := 0, -1
			chance := 0.0
			for _, p := range pairs {
				gap := s.found[p.b].time - s.found[p.a].time
				t := m.at(p.position)
				if p.strike != last && math.Abs(gap-t) < lagTolerance {
					hits++
					last = p.strike
				}
			}
			for _, t := range []float64{t0, (t0 + t1) / 2, t1} {
				k := clampInt(int(t/bin), 0, len(wide)-1)
				chance += wide[k] / 3 * 2 * lagTolerance / bin
			}
			// By chance as many strikes have a pair there as a Poisson count of pairs
			// leaves none without.
			byChance := float64(strikes) * (1 - math.Exp(-chance/float64(strikes)))
			if score := float64(hits) - byChance; score > best.score {
				best = guess{m, score}
			}
		}
		all = append(all, best)
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].score > all[j].score })
	var out []travelModel
	for _, g := range all {
		if g.score < 0.12*float64(strikes) || len(out) == 4 {
			break
		}
		near := false
		for _, t := range out {
			// Guesses that nearly agree over most of the line settle on the same.
			near = near || math.Abs(t.at(10)-g.m.at(10)) < 0.0025 && math.Abs(t.at(40)-g.m.at(40)) < 0.004
		}
		if !near {
			out = append(out, g.m)
		}
	}
	return out
}

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

func (e *session) clutterRate(n int) float64 {
	typed := 0.0
	for _, l := range e.lines {
		typed += l.span.to - l.span.from + 0.2
	}
	return clamp(float64(n)/max(typed, 0.1), 4, 60)
}

// fromPairs starts a model from a supposed travel: the pairs that fit it teach
// how releases and landings sound and when they come.
func (e *session) fromPairs(base model, travel travelModel, pairs []lagPair) model {
	m := base
	m.pairs, m.travel = true, travel
	var releases, landings []*candidate
	var lat, ready []float64
	for i := 0; i < len(pairs); {
		best, off := -1, lagTolerance
		j := i
		for ; j < len(pairs) && pairs[j].strike == pairs[i].strike; j++ {
			gap := e.found[pairs[j].b].time - e.found[pairs[j].a].time
			if d := math.Abs(gap - travel.at(pairs[j].position)); d < off {
				best, off = j, d
			}
		}
		if best >= 0 {
			p := pairs[best]
			releases = append(releases, &e.found[p.a])
			landings = append(landings, &e.found[p.b])
			lat = append(lat, e.found[p.a].time-e.found[p.strike].time)
			ready = append(ready, e.found[p.b].time-e.found[p.strike].time)
		}
		i = j
	}
	m.release, m.landing = fit(releases), fit(landings)
	m.delay[0] = delaysOf(lat, ready)
	m.delay[1] = m.delay[0]
	m.delay[1].latencySigma *= 1.5
	m.delay[1].readySigma *= 1.5
	m.travel.sigma = 0.0015
	return m
}

// fromDelay starts a model in which only landings are heard, about lag seconds
// after the strike.
func (e *session) fromDelay(base model, lag float64) model {
	m := base
	m.travel = travelModel{a: 1 / (0.03 * 0.03), sigma: 0.003}
	for k := range 2 {
		m.both[k], m.only[k], m.half[k], m.none[k] = 0.01, 0.8, 0.01, 0.18
	}
	var landings []*candidate
	var ready []float64
	for _, i := range e.strikes {
		best, off := -1, 0.006
		for j := i + 1; j < len(e.found) && e.found[j].time < e.found[i].time+lag+off; j++ {
			if d := math.Abs(e.found[j].time - e.found[i].time - lag); d < off {
				best, off = j, d
			}
		}
		if best >= 0 {
			landings = append(landings, &e.found[best])
			ready = append(ready, e.found[best].time-e.found[i].time)
		}
	}
	m.landing = fit(landings)
	d := delaysOf(ready, ready)
	d.latencySigma, d.readySigma = max(d.latencySigma, 0.010), max(d.readySigma, 0.010)
	m.delay[0], m.delay[1] = d, d
	m.delay[1].readySigma *= 1.5
	return m
}

func delaysOf(latency, ready []float64) delays {
	var d delays
	var mad float64
	d.latency, mad = medianMAD(latency)
	d.latencySigma = max(1.4826*mad, 0.003)
	d.ready, mad = medianMAD(ready)
	d.readySigma = max(1.4826*mad, 0.003)
	return d
}

// guessDelays looks for the lags after a strike at which one sound repeats most
// sharply.
func (e *session) guessDelays() []float64 {
	const step = 0.001
	n := int(maxLatency / step)
	hist := make([]float64, n)
	for j, i := range e.strikes {
		t0, t1 := e.found[i].time, math.Inf(1)
		if j+1 < len(e.strikes) {
			t1 = e.found[e.strikes[j+1]].time - 0.02
		}
		// Second hits of the strike itself come within 20 ms.
		for _, k := range e.clearest(t0+0.020, min(t1, t0+maxLatency)) {
			hist[clampInt(int((e.found[k].time-t0)/step), 0, n-1)]++
		}
	}
	smooth := make([]float64, n)
	for k := range hist {
		for d := -4; d <= 4; d++ {
			if k+d >= 0 && k+d < n {
				smooth[k] += hist[k+d]
			}
		}
	}
	var out []float64
	for range 3 {
		best := 0
		for k, v := range smooth {
			if v > smooth[best] {
				best = k
			}
		}
		if smooth[best] < 0.15*float64(len(e.strikes)) {
			break
		}
		out = append(out, (float64(best)+0.5)*step)
		for k := max(0, best-10); k < min(n, best+10); k++ {
			smooth[k] = 0
		}
	}
	return out
}

// letterTrip learns how the trips of letters sound, before anything but the
// strikes is known.
func (e *session) letterTrip(m *model) {
	for li := range e.lines {
		l := &e.lines[li]
		l.strokes = nil
		for _, i := range e.strikes[sort.SearchInts(e.strikes, l.first):sort.SearchInts(e.strikes, l.last)] {
			l.strokes = append(l.strokes, stroke{strike: i, release: -1, landing: -1})
		}
	}
	_, trip, lead := e.trips(m, false)
	m.trip = trip
	if share := float64(lead.N) / float64(max(len(e.strikes), 1)); share > 0.6 {
		m.lead, m.leadSigma, m.leadShare = lead.Median, max(1.4826*lead.MAD, 0.0003), min(share, 0.97)
	}
	for li := range e.lines {
		e.lines[li].strokes = nil
	}
}

// meetSpaces learns the space bar's thump: a carriage sound pair after which
// stands no strike of its own needs a thump, and the loudest sound in the time
// in which a strike would stand is taken for it.
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
			own := node{cand: i, position: pos}
			own.options = m.optionsFor(e, &own)
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

// meeting is a supposed thump with the carriage sounds that need it.
type meeting struct{ thump, cause, landing int }

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

// decode decodes the given lines with m and returns the total score.
func (e *session) decode(m *model, lines []line) float64 {
	total := 0.0
	for li := range lines {
		l := &lines[li]
		m.weigh(e.scan, l.first, l.last)
		nodes := e.nodes(m, l)
		var score float64
		l.strokes, score = m.decodeLine(e.scan, nodes)
		total += score
	}
	return total
}

// faint is how far under the take's usual strike in dB a strike can be.
const faint = 25

// bellDoubt is what speaks against a thump that is a bell: the bell may ring
// with a stroke or by itself.
const bellDoubt = 3

// nodes lists the candidates of line l that may be a stroke's strike or thump.
func (e *session) nodes(m *model, l *line) []node {
	at := l.positions(e.scan, e.beat)
	var out []node
	for i := l.first; i < l.last; i++ {
		asS, asT := m.llr[i][asStrike], m.llr[i][asThump]
		if e.isSecond[i] {
			continue
		}
		if e.isStrike[i] || asS > -2 && e.found[i].loud > m.strike.mean[loudness]-faint {
			n := node{cand: i, score: asS + m.prior[0] + m.letterTripped(e.scan, i), position: at(e.found[i].time)}
			if e.isStrike[i] {
				n.score += 2
			}
			n.options = m.optionsFor(e, &n)
			out = append(out, n)
		}
		if m.spaces && asT > -4 && (!e.isStrike[i] || asT > asS-2) {
			n := node{cand: i, space: true, score: asT + m.prior[1] + m.tripped(e.scan, i), position: at(e.found[i].time)}
			if e.isBell[i] {
				n.score -= bellDoubt
			}
			n.options = m.optionsFor(e, &n)
			out = append(out, n)
		}
	}
	return out
}

// relearn fits the model to the decoded lines.
func (e *session) relearn(m *model, lines []line) {
	var strikes, thumps, releases, landings, rest []*candidate
	var lat, ready [2][]float64
	var positions, travels []float64
	var both, only, half, none [2]float64
	var paces []float64
	used := map[int]bool{}
	for _, l := range lines {
		for i, st := range l.strokes {
			if i > 0 {
				paces = append(paces, math.Log(e.found[st.strike].time-e.found[l.strokes[i-1].strike].time))
			}
			k := kindOf(st.space)
			c := &e.found[st.strike]
			used[st.strike] = true
			if st.space {
				thumps = append(thumps, c)
			} else {
				strikes = append(strikes, c)
			}
			if st.release >= 0 {
				used[st.release] = true
				releases = append(releases, &e.found[st.release])
				lat[k] = append(lat[k], e.found[st.release].time-c.time)
			}
			if st.landing >= 0 {
				used[st.landing] = true
				landings = append(landings, &e.found[st.landing])
				ready[k] = append(ready[k], e.found[st.landing].time-c.time)
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
	for k, n := range [2]int{len(strikes), len(thumps)} {
		m.prior[k] = clamp(math.Log(float64(n+1)/float64(len(rest)+1)), -5, 0)
	}
}

// learnBarTrips learns when the space bar trips before its thump, if its trips
// sound as those of letters do.
func (e *session) learnBarTrips(m *model, lines []line) {
	m.barLead, m.barTrips = 0, 0
	var lags []float64
	var thumps []int
	for _, l := range lines {
		for _, st := range l.strokes {
			if !st.space {
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
		if e.hasTrip(m, i, lead) {
			hits++
		}
	}
	if share := float64(hits) / float64(len(thumps)); share > 0.5 {
		m.barLead, m.barTrips = lead, min(share, 0.97)
	}
}

// So many strikes of a take are enough to choose between guesses, and so many
// to learn from.
const (
	trialStrokes = 700
	learnStrokes = 1500
)

// some copies lines spread over the take that together hold about so many
// strikes, or all of them.
func (e *session) some(strikes int) []line {
	step := max(1, len(e.strikes)/strikes)
	var out []line
	for i := 0; i < len(e.lines); i += step {
		l := e.lines[i]
		l.strokes = nil
		out = append(out, l)
	}
	return out
}

// settle chooses the guess under which the take is most likely and learns the
// model from all of it.
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
	for g := range guesses {
		m := &guesses[g]
		lines := e.some(trialStrokes)
		e.learn(m, lines, 3)
		scores[g] = e.likelihood(m, lines)
		if debug != nil {
			debug("guess %d pairs %v T0 %.1f T60 %.1f sigma %.2f ms score %.0f lat %.1f %.1f spaces %v\n", g, m.pairs, m.travel.at(0)*1e3, m.travel.at(60)*1e3, m.travel.sigma*1e3, scores[g], m.delay[0].latency*1e3, m.delay[0].ready*1e3, m.thump.n)
		}
	}
	best := choose(guesses, scores)
	m := guesses[best]
	e.learn(&m, e.some(learnStrokes), 4)
	e.decode(&m, e.lines)
	return m
}

// choose picks the likeliest model. Sounds that come with every stroke explain a
// take almost as well in a wrong role, for the features of a sound go together
// and are counted as if they did not. So among models that are almost as likely
// one whose travels are markedly steadier is right: nothing else of the machine
// keeps time so well. One in which the carriage gets quicker along the line,
// against its mainspring, or in which every other stroke is a space, is not.
func choose(guesses []model, scores []float64) int {
	const (
		almost   = 0.03
		steadier = 0.8
		heard    = 0.5 // share of letters with both sounds
		spaces   = 0.5 // for each letter
	)
	odd := func(m *model) bool {
		return float64(m.thump.n) > spaces*float64(m.strike.n) || m.pairs && m.travel.at(60) < 0.92*m.travel.at(0)
	}
	top := 0
	for g := range guesses {
		if scores[g] > scores[top] {
			top = g
		}
	}
	least := scores[top] - almost*math.Abs(scores[top])
	best := top
	for g := range guesses {
		m, b := &guesses[g], &guesses[best]
		if g == best || scores[g] < least || odd(m) {
			continue
		}
		switch {
		case m.pairs && m.both[0] < heard:
		case odd(b) && scores[g] > least:
			best = g
		case m.pairs && b.pairs && m.travel.sigma < steadier*b.travel.sigma:
			best = g
		case m.pairs && !b.pairs && m.travel.sigma < steadyTravel:
			best = g
		}
	}
	return best
}

var debug func(string, ...any)

// learn decodes lines and fits m to them in turn.
func (e *session) learn(m *model, lines []line, rounds int) {
	if m.thump.n == 0 {
		for _, l := range lines {
			m.weigh(e.scan, l.first, l.last)
		}
		e.meetSpaces(m, lines)
	}
	for range rounds {
		sc := e.decode(m, lines)
		e.relearn(m, lines)
		if debug != nil {
			debug("  round score %.0f only %.2f both %.2f none %.2f n %d %d delay %+v rate %.1f prior %.1f\n", sc, m.only, m.both, m.none, m.landing.n, m.release.n, m.delay, m.rate, m.prior)
		}
	}
	e.decode(m, lines)
}

// likelihood is the log likelihood of all sounds of the decoded lines under m:
// what decides between models, which explain different sounds. Each sound counts
// once, as what it was taken for or as clutter.
func (e *session) likelihood(m *model, lines []line) float64 {
	total := 0.0
	used := map[int]bool{}
	take := func(i int, f *family) {
		used[i] = true
		total += f.log(&e.found[i], m.bands, &m.clutter.all)
	}
	mix := func(x, middle, sigma, wide float64) float64 {
		return math.Log(0.9*math.Exp(normalLog(x, middle, sigma)) + 0.1/wide)
	}
	for _, l := range lines {
		for i, st := range l.strokes {
			k := kindOf(st.space)
			d := m.delay[k]
			t0 := e.found[st.strike].time
			if i > 0 && (st.space || l.strokes[i-1].space) {
				total += m.rhythm(t0 - e.found[l.strokes[i-1].strike].time)
			}
			total += m.prior[k] + math.Log(m.rate)
			if st.space {
				take(st.strike, &m.thump)
			} else {
				take(st.strike, &m.strike)
			}
			switch {
			case st.release >= 0:
				take(st.release, &m.release)
				tr := e.found[st.release].time
				total += mix(tr-t0, d.latency, d.latencySigma, maxLatency)
				if st.landing < 0 {
					total += math.Log(m.half[k])
					break
				}
				take(st.landing, &m.landing)
				total += m.travelLog(e.found[st.landing].time-tr-m.travel.at(st.position)) + math.Log(m.rate) + math.Log(m.both[k])
			case st.landing >= 0:
				take(st.landing, &m.landing)
				total += mix(e.found[st.landing].time-t0, d.ready, d.readySigma, maxLatency) + math.Log(m.only[k])
			default:
				total += math.Log(m.none[k])
			}
		}
		for i := l.first; i < l.last; i++ {
			if !used[i] {
				total += m.clutter.log(&e.found[i], m.bands) + math.Log(m.rate)
			}
		}
	}
	return total
}
