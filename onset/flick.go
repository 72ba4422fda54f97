package onset

import "math"

const (
	// flickSpread is the spread of the release's lag after a flicked letter's strike
	// in s (standard deviation): the bar's own return, which the finger has no part in.
	flickSpread = 0.002
	// earliestFlick and latestFlick are the lags in s between which it is looked for.
	// Later releases stand clear of the strike and are learnt as all others are.
	earliestFlick = 0.001
	latestFlick   = 0.022
	// unlikeLanding is by how much less like a landing than the others flicked
	// letters' may be, in log odds.
	unlikeLanding = 2.0
)

// learnFlicks learns whether some letters are flicked, from those whose release
// was not heard: a landing at the take's own travel after one early lag, that
// sounds as the other landings do. A key that comes up then and sounds alike
// cannot be told from it.
func (e *session) learnFlicks(m *model, lines []line) {
	m.flicked, m.flickLag = 0, 0
	if !m.pairs || m.landing.n == 0 || m.delay[0].latency < latestFlick {
		return
	}
	const few = 4
	var lags, alike, usual []float64
	letters, others := 0, 0.0
	for _, l := range lines {
		for k, st := range l.strokes {
			if st.space {
				continue
			}
			letters++
			if st.release >= 0 {
				if st.landing >= 0 {
					usual = append(usual, m.llr[st.landing][asLanding])
				}
				continue
			}
			travel := m.travel.at(st.position)
			limit := st.time + travel + 2*latestFlick
			if k+1 < len(l.strokes) {
				limit = min(limit, l.strokes[k+1].time-0.001)
			}
			for j := st.strike + 1; j < len(e.found) && e.found[j].time < limit; j++ {
				lag := e.found[j].time - st.time - travel
				switch {
				case lag < earliestFlick || m.llr[j][asLanding] < 0:
				case lag < latestFlick:
					lags, alike = append(lags, lag), append(alike, m.llr[j][asLanding])
				default:
					others++
				}
			}
		}
	}
	if len(lags) < few || len(usual) < few {
		return
	}
	const half = 2 * flickSpread
	mode := densest(lags, half)
	hits := 0.0
	var own []float64
	for i, lag := range lags {
		if math.Abs(lag-mode) < half {
			hits++
			own = append(own, alike[i])
		}
	}
	// By chance as many lie there as its share of all the time that was looked at.
	chance := (float64(len(lags)) - hits + others) * 2 * half / (2*latestFlick - earliestFlick - 2*half)
	if hits >= few && hits > 2*chance && middle(own) > middle(usual)-unlikeLanding {
		m.flicked, m.flickLag = hits/float64(letters), mode
	}
}

// flickedAway tells whether letter st landed as those do that the finger leaves at
// once.
func (e *session) flickedAway(m *model, st *stroke) bool {
	if m.flicked == 0 || st.space || st.release >= 0 || st.landing < 0 {
		return false
	}
	lag := e.found[st.landing].time - st.time - m.travel.at(st.position)
	return math.Abs(lag-m.flickLag) < 3*max(flickSpread, m.travel.sigma)
}

// fewFlicked is the share of letters that a finger leaves at once, where the take has
// not taught it.
const fewFlicked = 0.05

// mayBeFlicked tells whether letter st, of which no sound of the carriage was told, has
// one that is like a landing, and no other stroke's, where a letter lands that the
// finger leaves at once.
func (e *session) mayBeFlicked(m *model, st *stroke) bool {
	if st.space || !m.pairs {
		return false
	}
	from := st.time + m.travel.at(st.position) + earliestFlick
	for i := e.after(from); i < len(e.found) && e.found[i].time < from+latestFlick; i++ {
		if m.llr[i][asLanding] > 0 && !e.isSecond[i] && !e.taken[i] {
			return true
		}
	}
	return false
}
