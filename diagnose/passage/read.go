package passage

import "math"

const (
	// closeBy is how many characters may be left out between two strokes before it
	// is a leap.
	closeBy = 3
	// leap is what a leap costs, in probabilities of a stroke's place: it is made
	// only where two strokes or more are the better for it.
	leap = 1.5
)

// read chooses a place for every stroke from its candidates so that the
// probabilities' sum is greatest while the places rise: the expected number of
// strokes that get the right character, less what leaps cost.
func (l *lattice) read(found [][]candidate, places []Place) {
	type step struct {
		sum  float64
		from int
		last int // the last character that a stroke before this one stood for, or its own
	}
	steps := make([][]step, len(found))
	for j, list := range found {
		steps[j] = make([]step, len(list))
		for k, c := range list {
			best := step{sum: c.p, from: -1, last: c.at}
			if j > 0 && len(found[j-1]) > 0 {
				best.sum = math.Inf(-1)
				for b, s := range steps[j-1] {
					sum := s.sum + c.p
					last := s.last
					if c.at >= 0 {
						// A line break in between is no stroke.
						if gap := c.at - s.last; s.last >= 0 && (gap < -1 || gap == -1 && !l.exchanges(c.at) || gap > closeBy+2) {
							sum -= leap
						}
						last = c.at
					}
					if sum > best.sum {
						best = step{sum, b, last}
					}
				}
			}
			steps[j][k] = best
		}
	}
	k := -1
	for j := len(found) - 1; j >= 0; j-- {
		if k < 0 {
			best := math.Inf(-1)
			for b, s := range steps[j] {
				if s.sum > best {
					best, k = s.sum, b
				}
			}
			if k < 0 {
				continue // no candidates: every way is too unlikely for a number
			}
		}
		c := found[j][k]
		places[j] = Place{Char: c.at, How: Typed, Probability: c.p}
		if c.at < 0 {
			places[j].How = Extra
		}
		k = steps[j][k].from
	}
	for j := range places {
		if j > 0 && places[j].Char >= 0 && places[j].Char == places[j-1].Char {
			places[j].How = Over
		}
		if j > 0 && places[j].Char >= 0 && places[j].Char == places[j-1].Char-1 {
			places[j].How, places[j-1].How = Exchanged, Exchanged
		}
	}
}
