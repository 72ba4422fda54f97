package onset

import (
	"math"
	"slices"
)

// delays says how long after a strike or thump the carriage's sounds come, in
// seconds: a middle and a spread each.
type delays struct {
	latency, latencySigma float64
	ready, readySigma     float64
}

// kindOf indexes what is learnt apart for letters and for the space bar.
func kindOf(space bool) int {
	if space {
		return 1
	}
	return 0
}

// model is what the take has taught so far.
type model struct {
	bands                           int
	clutter                         clutter
	strike, thump, release, landing family
	trip                            family // of letters
	spaces                          bool   // space-bar strokes are known
	pairs                           bool   // release and landing can be heard apart
	learnt                          bool   // nothing more is to be learnt
	travel                          travelModel
	delay                           [2]delays
	rate                            float64 // candidates a second that belong to nothing
	// share of strokes, by kind, of which both, only the landing, only the
	// release, or none was heard.
	both, only, half, none [2]float64
	// flicked is the share of letters that the finger leaves at once, so that the
	// release comes flickLag seconds after the strike, under whose sound it is lost,
	// and the landing a travel later, long before those of other letters; 0 where the
	// take has none.
	flicked, flickLag float64
	// pace and paceSigma are the middle and the spread of the log of the intervals
	// between strokes (s) of a line.
	pace, paceSigma float64
	// prior is the log of how often letters and spaces are struck, over how often
	// clutter sounds.
	prior [2]float64
	// llr holds, for each candidate that was weighed, the log likelihood ratios of
	// its being a strike, a thump, a release, a landing or a trip, against clutter;
	// -20 for the others.
	llr [][5]float64
	// barLead is how long before its thump in s the space bar trips, and barTrips
	// the share of thumps that have a trip there; 0 where it is not known. drowned
	// is the share of space-bar strokes whose thump is not heard.
	barLead, barTrips, drowned float64
	// lead is the middle lead of letters in s and leadSigma its spread; leadShare
	// is the share of strikes that have a trip there, 0 where it is not known.
	lead, leadSigma, leadShare float64
}

// stray is the log of how seldom a carriage sound is left without its stroke.
const stray = 3.5

// Indexes into model.llr.
const (
	asStrike = iota
	asThump
	asRelease
	asLanding
	asTrip
)

// weigh fills m.llr for the candidates first to last-1.
func (m *model) weigh(s *scan, first, last int) {
	if len(m.llr) != len(s.found) {
		m.llr = make([][5]float64, len(s.found))
		// What is never weighed, inside a carriage return, is no stroke's.
		for i := range m.llr {
			m.llr[i] = [5]float64{-20, -20, -20, -20, -20}
		}
	}
	families := [4]*family{&m.strike, &m.thump, &m.release, &m.landing}
	for i := first; i < last; i++ {
		c := &s.found[i]
		other := m.clutter.log(c, m.bands)
		var own [4]float64
		for j, f := range families {
			own[j] = math.Inf(-1)
			m.llr[i][j] = -20
			if f.n > 0 {
				own[j] = f.log(c, m.bands, &m.clutter.all)
				m.llr[i][j] = ratio(own[j], other)
			}
		}
		// A strike or a thump must also be told from a carriage sound that went
		// astray: the clutter does not hold those.
		astray := max(other, own[asLanding]-stray, own[asRelease]-stray)
		if m.strike.n > 0 {
			m.llr[i][asStrike] = ratio(own[asStrike], astray)
		}
		m.llr[i][asTrip] = -20
		if m.trip.n > 0 {
			// Each stroke of the space bar trips, too, close before its thump; so its
			// trips are among the clutter.
			trip := m.trip.log(c, m.bands, &m.clutter.all)
			m.llr[i][asTrip] = ratio(trip, m.clutter.all.log(c, m.bands, &m.clutter.all))
			astray = max(astray, trip)
		}
		if m.thump.n > 0 {
			m.llr[i][asThump] = ratio(own[asThump], astray)
		}
	}
}

// node is a candidate as the strike or thump of a stroke.
type node struct {
	cand     int
	time     float64 // of the strike or thump, s
	drowned  bool    // a thump that was not heard and is placed by its trip, which is cand
	trip     int     // the candidate that is its trip; -1 where none is known
	space    bool
	loud     bool // one of the take's loudest sounds, as a letter
	score    float64
	position float64
	options  []option // by falling score, silence last
}

// option is one way in which the carriage's sounds may follow a stroke;
// -1 where a sound is not heard.
type option struct {
	release, landing int
	score            float64
}

// stroke is a decoded stroke; indexes into scan.found, -1 where not heard.
type stroke struct {
	strike, release, landing int
	time                     float64 // of the strike or thump, s
	space                    bool
	drowned                  bool // the thump was not heard; strike is the trip that places it
	unlanded                 bool // no space was made; see session.unlanded
	position                 float64
}

// moved tells whether a sound of the carriage was heard after the stroke.
func (st *stroke) moved() bool { return st.release >= 0 || st.landing >= 0 }

const (
	maxLatency = 0.26   // s: a finger that rests longer has stopped typing
	minLatency = 0.002  // s
	minLead    = 0.0003 // s: a trip comes at least this long before its strike
	maxOptions = 10     // of a node, silence counted
	latest     = 6      // spreads after its usual lag that a landing whose release is never heard can come
	lookahead  = 16     // nodes
)

// desk is the room in which lines are decoded: what was laid out for one is cleared
// away for the next.
type desk struct {
	nodes   []node
	options []option
	steps   []step
}

// optionsFor lists on room how the carriage's sounds may follow node n, by falling
// score, silence last.
func (m *model) optionsFor(s *session, n *node, room *desk) []option {
	k := kindOf(n.space)
	d := m.delay[k]
	t0 := n.time
	// The best by falling score, equal ones in the order in which they came.
	at := len(room.options)
	room.options = slices.Grow(room.options, maxOptions)
	out := room.options[at : at : at+maxOptions]
	add := func(r, l int, score float64) {
		i := len(out)
		if i < maxOptions-1 {
			out = append(out, option{})
		} else if i--; !(score > out[i].score) {
			return
		}
		for ; i > 0 && score > out[i-1].score; i-- {
			out[i] = out[i-1]
		}
		out[i] = option{r, l, score}
	}
	travel := m.travel.at(n.position)
	half, both := math.Log(m.half[k]), math.Log(m.both[k])
	reach := min(max(6*m.travel.sigma, 0.25*travel, 0.006), 0.03)
	for r := n.cand + 1; r < len(s.found) && s.found[r].time < t0+maxLatency+maxTravel; r++ {
		if s.found[r].time <= t0+minLatency || s.isSecond[r] || m.surelyStrike(s, r) {
			continue
		}
		c := &s.found[r]
		lag := c.time - t0
		// r as the landing of a stroke whose release is not heard.
		if ll := m.llr[r][asLanding]; ll > -6 && (m.pairs || lag < d.ready+latest*d.readySigma) {
			add(-1, r, ll+m.aloneLog(k, lag, travel))
		}
		if !m.pairs || lag > maxLatency {
			continue
		}
		lr := m.llr[r][asRelease]
		if lr < -7 {
			continue
		}
		base := lr + m.delayLog(lag, d.latency, d.latencySigma)
		add(r, -1, base+half)
		for l := r + 1; l < len(s.found) && s.found[l].time-c.time < travel+reach; l++ {
			gap := s.found[l].time - c.time
			if gap < travel-reach {
				continue
			}
			ll := m.llr[l][asLanding]
			if ll < -7 || m.surelyStrike(s, l) {
				continue
			}
			add(r, l, base+ll+m.travelLog(gap-travel)+both)
		}
	}
	// Nothing heard: scored where the next stroke is known.
	out = append(out, option{-1, -1, 0})
	room.options = room.options[:at+len(out)]
	return out
}

// surelyStrike tells whether candidate i, one of the take's loudest, is more like a
// strike than like a landing: then it is no sound of the carriage, or a stroke would
// be lost.
func (m *model) surelyStrike(s *session, i int) bool {
	return s.isStrike[i] && m.llr[i][asStrike] > m.llr[i][asLanding]
}

// delayLog is the log likelihood ratio of a delay against clutter that comes at
// m.rate: a normal about the middle, with a share for delays of any length.
func (m *model) delayLog(lag, middle, sigma float64) float64 {
	p := 0.9*normal01((lag-middle)/sigma)/sigma + 0.1/maxLatency
	return quickLog(p / m.rate)
}

// aloneLog is the log likelihood ratio of a landing alone, lag seconds after the
// strike or thump of a stroke of kind k, where the travel is that many seconds.
func (m *model) aloneLog(k int, lag, travel float64) float64 {
	d := &m.delay[k]
	p := m.only[k] * (0.9*normal01((lag-d.ready)/d.readySigma)/d.readySigma + 0.1/maxLatency)
	if k == 0 && m.flicked > 0 {
		spread := max(flickSpread, m.travel.sigma)
		p += m.flicked * normal01((lag-travel-m.flickLag)/spread) / spread
	}
	return quickLog(p / m.rate)
}

// travelLog is the same for a travel's residual; binding and worn teeth make
// some travels long, so the tail is heavy.
func (m *model) travelLog(residual float64) float64 {
	p := 0.92*normal01(residual/m.travel.sigma)/m.travel.sigma + 0.08*math.Exp(-math.Abs(residual)/0.006)/0.012
	return quickLog(p / m.rate)
}

// silent is the score of stroke n with no carriage sound before the next stroke
// at time next: shared with the next one when that came sooner than releases
// come, otherwise a missed space or a buried one.
func (m *model) silent(n *node, next float64) float64 {
	k := kindOf(n.space)
	d := m.delay[k]
	gap := next - n.time
	late := 0.0
	// Where it is less than rounding would keep, it is not worked out.
	if z := (gap - d.latency) / (d.latencySigma * math.Sqrt2); z < 6 {
		late = 0.5 * math.Erfc(z)
	}
	return quickLog(min(m.none[k]+0.5*late, 0.9))
}

// mostCovered is the most that covered can be.
func (m *model) mostCovered() float64 {
	return max(0, quickLog(coveredShare/m.half[0]), quickLog(coveredShare/m.half[1]))
}

// coveredShare is how often a landing that the next stroke sounds over is not heard.
const coveredShare = 0.5

// covered is what speaks for a release of stroke n whose landing, due at time due, is
// not heard because stroke next sounds over it. Where the take's trips are known, next
// must have one: clicks of a carriage return have none, and cover nothing.
func (m *model) covered(n *node, due float64, next *node) float64 {
	const (
		before = 0.002 // s before the strike, and
		after  = 0.020 // s after it, that its sound covers a landing
	)
	trips := m.leadShare
	if next.space {
		trips = m.barTrips
	}
	if due < next.time-before || due > next.time+after || trips > 0 && next.trip < 0 && !next.loud {
		return 0
	}
	return max(0, quickLog(coveredShare/m.half[kindOf(n.space)]))
}

// barTripReach is how far off a trip may be from where the space bar trips, in s.
const barTripReach = 0.004

// tripped is what the sounds where the space bar trips say about candidate i
// being its thump.
func (m *model) tripped(s *scan, i int) float64 {
	if m.barTrips == 0 {
		return 0
	}
	if j := m.tripOf(s, i, true); j >= 0 {
		// Without a stroke the trip's sound would be left without a cause, too.
		return min(math.Log(m.barTrips/0.2), 2) + clamp(0.5*(m.llr[j][asTrip]-1), 0, 2)
	}
	return max(math.Log((1-m.barTrips)/0.8), -2)
}

// tripOf is the candidate that by its place and its sound is the trip of a
// stroke whose strike or thump is candidate i; -1 where there is none, or where
// the take has not taught its trips.
func (m *model) tripOf(s *scan, i int, space bool) int {
	lead, reach := m.lead, 3*m.leadSigma
	if space {
		lead, reach = m.barLead, barTripReach
	}
	if space && m.barTrips == 0 || !space && m.leadShare == 0 {
		return -1
	}
	return m.tripAt(s, i, lead, reach)
}

// tripAt is the likeliest trip among the candidates that stand lead seconds before
// candidate i, reach seconds off at most; -1 where there is none.
func (m *model) tripAt(s *scan, i int, lead, reach float64) int {
	best := -1
	t := s.found[i].time - lead
	for j := i - 1; j >= 0 && s.found[j].time > t-reach; j-- {
		if s.found[j].time < t+reach && m.llr[j][asTrip] > 1 && (best < 0 || m.llr[j][asTrip] > m.llr[best][asTrip]) {
			best = j
		}
	}
	return best
}

// letterTripped is what the sounds where letters trip say about candidate i
// being a strike.
func (m *model) letterTripped(s *scan, i int) float64 {
	if m.leadShare == 0 {
		return 0
	}
	var room [8]tripChoice
	for _, c := range s.tripChoices(i, maxLead, math.Inf(-1), room[:0]) {
		if math.Abs(c.lag-m.lead) < 3.5*m.leadSigma {
			return min(math.Log(m.leadShare/0.35), 1)
		}
	}
	return max(math.Log((1-m.leadShare)/0.65), -2)
}

// rhythm is how little an interval of t seconds before or after a stroke of the
// space bar is like the hand's: 0 at its usual one. Pauses are forgiven, spaces
// squeezed between letters are not; letters are sure by themselves.
func (m *model) rhythm(t float64) float64 {
	z := (quickLog(t) - m.pace) / m.paceSigma
	if z > 0 {
		z /= 3
	}
	return max(-2.5*quickLog(1+z*z/4), -3)
}

// gap is how little t seconds between two letters are like one interval of the hand,
// where they are more: a stroke of the space bar may lie between. It is asked once all
// is learnt: before, what comes between letters would be learnt for the space bar.
func (m *model) gap(t float64) float64 {
	z := (quickLog(t) - m.pace) / m.paceSigma
	if z < 0 {
		return 0
	}
	return max(-2*quickLog(1+z*z/4), -3)
}

// placedAsTrip tells whether candidate i stands where letter b trips, of which no
// other trip is heard: then it is more likely that than the carriage of the stroke
// before, whatever it sounds like.
func (m *model) placedAsTrip(s *scan, i int, b *node) bool {
	const nearlyAll = 0.95 // letters have trips that are heard
	return b.trip < 0 && !b.space && m.leadShare > nearlyAll && math.Abs(b.time-s.found[i].time-m.lead) < 3*m.leadSigma
}

// keeps is how much of what rhythm says against an interval of t seconds is taken
// back because the one before it was as short: strokes come in bursts, and more often
// than not a burst goes on. While it learns, it takes less back.
func (m *model) keeps(rhythm, t, before float64) float64 {
	logShare, spread := -1.2039728043259361, 0.25 // a share of 0.3
	if m.learnt {
		logShare, spread = -0.5108256237659907, 0.3 // of 0.6
	}
	if rhythm >= logShare {
		return 0
	}
	z := quickLog(t/before) / spread
	return max(0, logShare-z*z/2-rhythm)
}

// last is the last candidate that option o of node n uses.
func (o *option) last(n *node) int { return max(n.cand, o.release, o.landing) }

// first is the first sound of the carriage in o; -1 in silence.
func (o *option) first() int {
	if o.release >= 0 {
		return o.release
	}
	return o.landing
}

// reach is the first sound of the carriage in any option of n.
func (n *node) reach() int {
	reach := math.MaxInt
	for k := range n.options {
		if first := n.options[k].first(); first >= 0 {
			reach = min(reach, first)
		}
	}
	return reach
}

// allows tells whether stroke b can follow stroke a when a's carriage sounds
// are o; travel is the usual one there in s. A release comes before the next
// trip, or the two strokes share one. No sound is used twice.
func (o *option) allows(s *scan, travel float64, b *node) bool {
	next := b.time
	switch {
	case o.release == b.cand || o.landing == b.cand:
		return false
	case b.trip >= 0 && (o.release == b.trip || o.landing == b.trip):
		return false
	case o.release >= 0 && b.trip >= 0:
		// A bar that trips before the release holds it up.
		return s.found[o.release].time < s.found[b.trip].time
	case o.release >= 0:
		return s.found[o.release].time < next-minLead
	case o.landing >= 0:
		// Its release, not heard, came before the next strike.
		return s.found[o.landing].time < next+travel
	default:
		return true
	}
}

// step is where the best path to a node's option comes from.
type step struct {
	score        float64
	node, option int
	// last is the last candidate that the path uses: a landing may lie after the
	// next strikes.
	last int
}

// wayOut bounds the best paths to a node's options: the highest score, and the last
// candidate that any of them uses; travel is the usual one after it in s. The way from
// there to a later node adds mostCovered at most: rhythm, gap and silent take away
// only, and keeps gives back less than was taken.
type wayOut struct {
	score  float64
	last   int
	travel float64
}

// uses tells whether the best path to option k of node i has cand for a landing.
// Only strokes whose landings lie after cand can come between.
func uses(nodes []node, paths [][]step, i, k, cand int) bool {
	for i >= 0 && paths[i][k].last >= cand {
		if nodes[i].options[k].landing == cand {
			return true
		}
		i, k = paths[i][k].node, paths[i][k].option
	}
	return false
}

// decodeLine finds the most likely sequence of strokes among nodes (by time)
// that follow one another on one line, and its score. The carriage's sounds
// come in order: a stroke's release and landing lie after the landing of the
// stroke before it, so each space has its own.
func (m *model) decodeLine(s *scan, nodes []node, room *desk) ([]stroke, float64) {
	const none = -1
	options := 0
	for i := range nodes {
		options += len(nodes[i].options)
	}
	room.steps = slices.Grow(room.steps[:0], options)
	steps := room.steps[:options]
	paths := make([][]step, len(nodes))
	ways := make([]wayOut, len(nodes))
	most := m.mostCovered()
	var long []step // see below
	for j := range nodes {
		b := &nodes[j]
		tj := b.time
		// Most ways into b use nothing that any option of b would: the best of them is
		// best for every option. The others are asked option by option.
		reach := b.reach()
		best := step{0, none, none, none}
		long = long[:0]
		for i := j - 1; i >= 0 && i >= j-lookahead; i-- {
			a, way := &nodes[i], &ways[i]
			if tj-a.time < refractory || way.last < reach && way.score+most <= best.score {
				continue
			}
			var rhythm float64
			// While it learns, spaces may pass for faint letters.
			unsure := a.space || b.space || m.learnt && !(a.loud && b.loud)
			switch {
			case unsure:
				rhythm = m.rhythm(tj - a.time)
			case m.learnt:
				rhythm = m.gap(tj - a.time)
			}
			for k := range a.options {
				o, from := &a.options[k], &paths[i][k]
				if from.last < reach && from.score+most <= best.score {
					continue
				}
				v := from.score + rhythm
				if rhythm < 0 && from.node >= 0 && unsure {
					v += m.keeps(rhythm, tj-a.time, a.time-nodes[from.node].time)
				}
				if last := max(o.release, o.landing); last >= 0 && m.placedAsTrip(s, last, b) {
					v += quickLog(1 - m.leadShare)
				}
				switch {
				case o.first() < 0:
					v += m.silent(a, tj)
				case o.landing < 0:
					v += m.covered(a, s.found[o.release].time+way.travel, b)
				}
				if from.last < reach && !(v > best.score) || !o.allows(s, way.travel, b) ||
					from.last >= b.cand && uses(nodes, paths, i, k, b.cand) {
					continue
				}
				if from.last < reach {
					best = step{v, i, k, from.last}
				} else {
					long = append(long, step{v, i, k, from.last})
				}
			}
		}
		paths[j], steps = steps[:len(b.options)], steps[len(b.options):]
		ways[j] = wayOut{math.Inf(-1), none, m.travel.at(b.position)}
		for k := range b.options {
			o, best := &b.options[k], best
			for _, from := range long {
				if from.score > best.score && (o.first() < 0 || from.last < o.first()) {
					best = from
				}
			}
			best.score += b.score + o.score
			best.last = max(best.last, o.last(b))
			paths[j][k] = best
			ways[j].score, ways[j].last = max(ways[j].score, best.score), max(ways[j].last, best.last)
		}
	}
	end, total := step{node: none}, 0.0
	for i := range nodes {
		for k := range nodes[i].options {
			v := paths[i][k].score
			if nodes[i].options[k].first() < 0 {
				v += m.silent(&nodes[i], math.Inf(1))
			}
			if v > total {
				end, total = step{v, i, k, none}, v
			}
		}
	}
	var out []stroke
	for at := end; at.node != none; at = paths[at.node][at.option] {
		n, o := &nodes[at.node], &nodes[at.node].options[at.option]
		out = append(out, stroke{n.cand, o.release, o.landing, n.time, n.space, n.drowned, false, n.position})
	}
	slices.Reverse(out)
	return out, total
}
