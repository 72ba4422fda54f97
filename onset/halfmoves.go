package onset

import "math"

// halfMoves is by how much more often than by chance a sound like the landings stands
// one travel after a letter's trip, as a share of the letters, -1 to 1; NaN where too
// few can be asked. On a half-space machine each letter moves the carriage twice by
// half a space, from the trip and from the release on, so both moves take the same
// time; nothing on another machine stands there.
func (e *session) halfMoves(m *model, t *Take) float64 {
	const (
		half  = 0.0015 // s either way
		clear = 0.015  // s to the next strike
	)
	// What chance puts there is asked of places beside it, in s.
	beside := [6]float64{-0.012, -0.009, -0.006, 0.006, 0.009, 0.012}
	if !m.pairs {
		return math.NaN()
	}
	n, hits, chance := 0, 0, 0
	next := 0
	for _, l := range e.lines {
		for k := range l.strokes {
			st, heard := &l.strokes[k], &t.Strokes[next]
			next++
			if st.space || !heard.Trip.Heard() {
				continue
			}
			due := heard.Trip.Time + m.travel.at(st.position)
			if k+1 < len(l.strokes) && l.strokes[k+1].time < due+clear {
				continue
			}
			alike := func(at float64) int {
				for j := e.after(at - half); j < len(e.found) && e.found[j].time < at+half; j++ {
					if j != st.strike && j != st.release && j != st.landing && m.llr[j][asLanding] > 0 {
						return 1
					}
				}
				return 0
			}
			n++
			hits += alike(due)
			for _, d := range beside {
				chance += alike(due + d)
			}
		}
	}
	if n < thinTake {
		return math.NaN()
	}
	return (float64(hits) - float64(chance)/float64(len(beside))) / float64(n)
}
