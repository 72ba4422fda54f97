package onset

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// lagPair is two sounds after a strike, a before b, not always in a row; indexes
// into scan.found. position is the carriage's, in spaces.
type lagPair struct {
	strike, a, b int
	position     float64
}

// pairsAfter lists the pairs of candidates that could be the release and the
// landing of strikes with nothing struck in the tenth of a second after them,
// of about limit strikes spread over the take. It also returns how many strikes
// it looked at.
func (e *session) pairsAfter(limit int) (pairs []lagPair, strikes int) {
	step := max(1, len(e.strikes)/limit)
	for _, l := range e.lines {
		lo := sort.SearchInts(e.strikes, l.first)
		hi := sort.SearchInts(e.strikes, l.last)
		position := l.positions(e.scan, e.beat)
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
			at := position(t0)
			sounds := e.clearest(t0+0.004, min(t1, t0+maxLatency+maxTravel))
			for n, a := range sounds {
				for _, b := range sounds[n+1:] {
					gap := e.found[b].time - e.found[a].time
					if gap >= minTravel && gap <= maxTravel {
						pairs = append(pairs, lagPair{i, a, b, at})
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
	// A travel is near a pair's gap where 1/travel^2, of which the model is a straight
	// line, lies between two bounds. It is kept between minTravel and maxTravel.
	type window struct {
		strike              int
		position, low, high float64
	}
	windows := make([]window, len(pairs))
	for i, p := range pairs {
		gap := s.found[p.b].time - s.found[p.a].time
		longest, shortest := gap+lagTolerance, gap-lagTolerance
		w := window{p.strike, p.position, 1 / (longest * longest), 1 / (shortest * shortest)}
		if longest > maxTravel {
			w.low = math.Inf(-1)
		}
		if shortest < minTravel {
			w.high = math.Inf(1)
		}
		windows[i] = w
	}
	type guess struct {
		m     travelModel
		score float64 // strikes with a pair there, over chance
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
			for i := range windows {
				w := &windows[i]
				if v := m.a + m.b*w.position; v > w.low && v < w.high && w.strike != last {
					hits++
					last = w.strike
				}
			}
			for _, t := range []float64{t0, (t0 + t1) / 2, t1} {
				k := clamp(int(t/bin), 0, len(wide)-1)
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
			hist[clamp(int((e.found[k].time-t0)/step), 0, n-1)]++
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

// leastGrowth is the growth of the travel over 60 spaces that no mainspring stays
// under, mostGrowth one that none is surely over.
const leastGrowth, mostGrowth = 0.004, 1.0

// choose picks the model that the take speaks for. Sounds that come with every
// stroke explain a take almost as well in a wrong role, for the features of a
// sound go together and are counted as if they did not; so likelihood decides
// together with what only the carriage does. Its travel grows along the line as
// the mainspring unwinds: a pair whose gap surely does not is some other two
// sounds. Nothing else of the machine keeps time so well. And every stroke moves
// it, letter or space. The weights are shares of the likelihood, for its errors
// grow with it. They were set on 95 simulated takes, of which likelihood alone
// reads 15 in a wrong way and these rules 4.
//
// lead is by how much the pick leads the best guess at another landing ([rival]).
func choose(guesses []model, scores []float64) (best int, lead float64) {
	const (
		grows    = 0.015 // for a travel that surely grows along the line
		constant = 0.04  // against one that surely does not
		unknown  = 0.02  // against one of which too few are heard to tell
		seldom   = 0.01  // against pairs heard after less than half of the strokes
		silent   = 0.06  // against a carriage that no letter moves
		tooMany  = 0.03  // against more than one space for two letters
		rare     = 0.2   // share of letters whose travel may be heard by chance
	)
	top, values := math.Inf(-1), make([]float64, len(guesses))
	for g := range guesses {
		m := &guesses[g]
		whole := math.Abs(scores[g])
		v := scores[g]
		if m.pairs {
			low, high := m.travel.growth()
			switch {
			case math.IsNaN(low):
				v -= unknown * whole
			case high < 1.5*leastGrowth:
				v -= constant * whole
			case low > 0.75*leastGrowth && low < mostGrowth && m.both[0] > rare:
				v += grows * whole
			}
			v -= float64(m.travel.n) * math.Log(m.travel.sigma/0.001)
			if m.both[0] < 0.5 || m.both[1] < 0.5 && m.thump.n > 10 {
				v -= seldom * whole
			}
		}
		v -= silent * m.none[0] * whole
		if float64(m.thump.n) > 0.5*float64(m.strike.n) {
			v -= tooMany * whole
		}
		values[g] = v
		if v > top {
			best, top = g, v
		}
	}
	return best, rival(guesses, values, best) / math.Abs(scores[best])
}

// likelihood is the log likelihood of all sounds of the decoded lines under m:
// what decides between models, which explain different sounds. Each sound counts
// once, as what it was taken for or as clutter.
func (e *session) likelihood(m *model, lines []line) float64 {
	total := 0.0
	used := e.usedBy(lines)
	take := func(i int, f *family) {
		total += f.log(&e.found[i], m.bands, &m.clutter.all)
	}
	mix := func(x, middle, sigma, wide float64) float64 {
		return math.Log(0.9*math.Exp(normalLog(x, middle, sigma)) + 0.1/wide)
	}
	for _, l := range lines {
		for i, st := range l.strokes {
			k := kindOf(st.space)
			d := m.delay[k]
			t0 := st.time
			if i > 0 && (st.space || l.strokes[i-1].space) {
				total += m.rhythm(t0 - l.strokes[i-1].time)
			}
			total += m.prior[k] + math.Log(m.rate)
			switch {
			case st.drowned:
				take(st.strike, &m.trip)
				total += math.Log(m.drowned)
			case st.space:
				take(st.strike, &m.thump)
			default:
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
				total += m.aloneLog(k, e.found[st.landing].time-t0, m.travel.at(st.position)) + math.Log(m.rate)
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
