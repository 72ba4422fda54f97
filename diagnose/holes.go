package diagnose

import "math"

// A carriage that is held back much longer than usual at one place lands when
// nobody listens for it: its travel is not heard there, line after line. Such
// holes are a sign of their own, weaker than a travel that was measured.

// unfollowed tells of each stroke whether its travel was heard: 1 for no, 0 for yes,
// NaN where it is no wonder: strokes of missed or shared spaces, strokes hurried
// over, and those near the bell, whose ring covers what comes after it, or near the
// line's end, where it may not have been heard.
func (c *Case) unfollowed() []float64 {
	t := c.Take
	out := make([]float64, len(t.Strokes))
	longest := 0
	for _, s := range t.Strokes {
		longest = max(longest, s.Position)
	}
	if !evenLines(t.Lines) {
		// A return that was not heard runs two lines together: then places mean
		// nothing, and the bell of the first is lost.
		for i := range out {
			out[i] = math.NaN()
		}
		return out
	}
	// The bell rings at one place of every line, heard or not.
	bell := map[int]bool{}
	for _, s := range t.Strokes {
		if s.Line < len(t.Lines) && math.Abs(float64(s.StrikeS-t.Lines[s.Line].BellS)) < 0.3 {
			for p := s.Position - 3; p <= s.Position+8; p++ {
				bell[p] = true
			}
		}
	}
	enough := float64(t.Summary.ReadyMS.P95)
	for i, s := range t.Strokes {
		out[i] = math.NaN()
		if s.MissedSpace || c.shared(i) || !(float64(s.IntervalMS) > enough) || s.Position > longest-9 || bell[s.Position] {
			continue
		}
		if s.Line < len(t.Lines) {
			if after := float64(s.StrikeS - t.Lines[s.Line].BellS); after > -0.3 && after < 1.5 {
				continue
			}
		}
		out[i] = 0
		if !s.TravelMS.Known() {
			out[i] = 1
		}
	}
	return out
}

// evenLines tells whether lines are about as long as one another, but for the last.
func evenLines(lines []Line) bool {
	least, most := math.MaxInt, 0
	for i, l := range lines {
		most = max(most, l.Strokes)
		if i+1 < len(lines) {
			least = min(least, l.Strokes)
		}
	}
	return len(lines) < 2 || 2*most <= 3*least
}

// holePlace is the place of the line at which travels go unheard, found by
// Fisher's exact test over all places of one to seven spaces. there is the share of
// its strokes that do, rest that of the others.
func (c *Case) holePlace() (best change, there, rest float64, ok bool) {
	count, hits := map[int]int{}, map[int]int{}
	all, lost, last := 0, 0, 0
	for i, h := range c.holes {
		if math.IsNaN(h) {
			continue
		}
		p := c.Take.Strokes[i].Position
		count[p]++
		all++
		hits[p] += int(h)
		lost += int(h)
		last = max(last, p)
	}
	// Where one in three goes unheard anyway, nothing is learnt.
	if all < fewestPull || 3*lost > all {
		return best, 0, 0, false
	}
	best.P = 2
	for from := 0; from <= last; from++ {
		n, k := 0, 0
		for to := from; to < min(last+1, from+widestPlace); to++ {
			n, k = n+count[to], k+hits[to]
			if n < fewestThere || hits[from] == 0 || hits[to] == 0 {
				continue
			}
			best.Looked++
			if p := exactGreater(k, n, lost-k, all-n); p < best.P {
				best.P, best.From, best.To = p, from, to
				there, rest = float64(k)/float64(n), float64(lost-k)/float64(max(all-n, 1))
			}
		}
	}
	if best.Looked == 0 {
		return best, 0, 0, false
	}
	best.P = anyOf(best.P, best.Looked)
	return best, there, rest, true
}
