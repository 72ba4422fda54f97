package onset

import "math"

// joinLines undoes line ends at which the carriage did not return: somebody talked, or
// the hand backspaced, and that lasted as a return does. A return winds the mainspring
// up again, so that the travels after it are those of the line's start; without one
// they go on growing.
func (e *session) joinLines(m *model) {
	const (
		few = 6 // travels after a line end, at least
		// Their middle must be off where they would be after a return by so many
		// standard errors, and by so many times more than where they would be without.
		off, more = 4.0, 2.0
	)
	if !m.pairs || len(e.lines) < 2 {
		return
	}
	// What was joined teaches how travels grow; then more may be seen.
	for range 3 {
		travel := e.travelOfLines()
		if low, _ := travel.growth(); !(low > 0) {
			return
		}
		joined := false
		out := e.lines[:0:0]
		for _, l := range e.lines {
			if n := len(out); n > 0 {
				before := &out[n-1]
				moved := float64(before.spaces())
				var reset, gone []float64 // found less expected, s
				position := 0.0
				for k := range l.strokes {
					st := &l.strokes[k]
					if st.release >= 0 && st.landing >= 0 {
						gap := e.found[st.landing].time - e.found[st.release].time
						reset, gone = append(reset, gap-travel.at(position)), append(gone, gap-travel.at(position+moved))
					}
					if st.moved() {
						position++
					}
				}
				// A median's standard error is 1.253 times a mean's.
				se := 1.253 * travel.sigma / math.Sqrt(float64(max(len(reset), 1)))
				if len(reset) >= few && math.Abs(middle(reset)) > off*se && math.Abs(middle(reset)) > more*math.Abs(middle(gone)) {
					before.strokes = append(before.strokes[:len(before.strokes):len(before.strokes)], l.strokes...)
					before.last, before.span.to, before.carriage = l.last, l.span.to, l.carriage
					joined = true
					continue
				}
			}
			out = append(out, l)
		}
		e.lines = out
		for i := range out {
			out[i].place()
		}
		if !joined {
			return
		}
	}
}

// spaces is how many of the line's strokes moved the carriage.
func (l *line) spaces() int {
	n := 0
	for _, st := range l.strokes {
		if st.moved() {
			n++
		}
	}
	return n
}

// place counts the carriage positions of the line's strokes anew.
func (l *line) place() {
	n := 0.0
	for k := range l.strokes {
		st := &l.strokes[k]
		st.position = n
		if st.moved() {
			n++
		}
	}
}

// travelOfLines fits the travel along the lines as they are.
func (e *session) travelOfLines() travelModel {
	var positions, travels []float64
	for _, l := range e.lines {
		n := 0.0
		for _, st := range l.strokes {
			if st.release >= 0 && st.landing >= 0 {
				positions, travels = append(positions, n), append(travels, e.found[st.landing].time-e.found[st.release].time)
			}
			if st.moved() {
				n++
			}
		}
	}
	return fitTravel(positions, travels)
}
