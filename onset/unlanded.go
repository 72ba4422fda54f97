package onset

import "math"

// unlanded finds strokes after which a release was heard, but not the landing that
// should have stood out: a carriage that is let go lands. Where such releases are
// surely less like releases than those with a landing are (Mann-Whitney test), they
// are another sound, most often the key's, and no space was made; then those of them
// go that are less like one than half of the others. Where they are as good as the
// others, it is landings that were lost.
func (e *session) unlanded(m *model) {
	if !m.pairs || e.reliable() < outstanding {
		return
	}
	const (
		few  = 8    // landings and releases that teach how they sound
		sure = -3.1 // z under which chance has no part in it: one in 1,000
	)
	var usual, doubted []float64
	for _, l := range e.lines {
		for _, st := range l.strokes {
			if st.release >= 0 && st.landing >= 0 {
				usual = append(usual, m.llr[st.release][asRelease])
			}
		}
	}
	var missing []*stroke
	for _, l := range e.lines {
		for k := range l.strokes {
			st := &l.strokes[k]
			next := math.Inf(1)
			if k+1 < len(l.strokes) {
				next = l.strokes[k+1].time
			}
			if st.release >= 0 && st.landing < 0 && !e.mightHaveLanded(m, st, next) {
				missing = append(missing, st)
				doubted = append(doubted, m.llr[st.release][asRelease])
			}
		}
	}
	if len(usual) < few || len(missing) < few || rankZ(doubted, usual) > sure {
		return
	}
	half := middle(usual)
	for i, st := range missing {
		if doubted[i] < half {
			e.taken[st.release] = false
			st.release, st.unlanded = -1, true
		}
	}
}

// mightHaveLanded tells whether the landing of stroke st, of which the release was
// heard, may be there although it was not: under the next stroke, struck at time
// next, under something loud, or as a sound that nothing else explains.
func (e *session) mightHaveLanded(m *model, st *stroke, next float64) bool {
	due := e.found[st.release].time + m.travel.at(st.position)
	slack := max(5*m.travel.sigma, 0.004)
	if due+slack > next-minLead || !e.audible(m, due-slack, due+slack) {
		return true
	}
	for i := st.release + 1; i < len(e.found) && e.found[i].time < next; i++ {
		if !e.taken[i] && !e.isSecond[i] && m.llr[i][asLanding] > 0 {
			return true
		}
	}
	return false
}

// rankZ is the Mann-Whitney statistic of a against b as a standard normal deviate,
// under 0 where values of a are smaller; without the correction for ties, of which
// there are hardly any.
func rankZ(a, b []float64) float64 {
	less := 0.0
	for _, x := range a {
		for _, y := range b {
			switch {
			case x > y:
				less++
			case x == y:
				less += 0.5
			}
		}
	}
	n, k := float64(len(a)), float64(len(b))
	return (less - n*k/2) / math.Sqrt(n*k*(n+k+1)/12)
}
