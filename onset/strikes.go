package onset

import (
	"cmp"
	"math"
	"slices"
)

// dominance is how far about it in seconds a candidate must be the loudest to be
// looked at first: hardly anything but strikes is, and the thumps and landings
// of space-bar strokes.
const dominance = 0.1

// refractory is the shortest time between two strikes in seconds: two type bars cannot
// strike closer without clashing, and a strike's own second hit comes within it
// (3 to 20 ms, seen on real machines).
const refractory = 0.028

// strikes finds the typed strikes (indexes into scan.found, rising) and the
// family that they make; none where hardly anything dominates. They are most
// of the sounds that are the loudest about them, and the louder ones of these;
// how they sound, rather than a level, parts them from the rest.
func (s *scan) strikes() (found []int, f family) {
	dominant := s.dominant(dominance)
	if len(dominant) < 3 {
		return nil, family{}
	}
	slices.SortStableFunc(dominant, func(i, j int) int { return cmp.Compare(s.found[j].loud, s.found[i].loud) })
	members := s.candidates(dominant[:(len(dominant)+1)/2])
	others := s.candidates(dominant[len(dominant)*3/4:])
	all := wideFamily(s.candidates(dominant))
	for range 12 {
		f = fit(members)
		if len(others) < clutterMembers {
			break
		}
		g := fit(others)
		before := len(members)
		members, others = members[:0:0], others[:0:0]
		for _, i := range dominant {
			c := &s.found[i]
			if f.log(c, s.bands, &all) >= g.log(c, s.bands, &all) {
				members = append(members, c)
			} else {
				others = append(others, c)
			}
		}
		if len(members) == before || len(members) < 3 {
			break
		}
	}
	if len(members) < 3 {
		return nil, family{}
	}
	f = fit(members)
	if s.alike(dominant, &f, others) {
		members = s.candidates(dominant)
		f = fit(members)
	}

	is := make(map[*candidate]bool, len(members))
	for _, c := range members {
		is[c] = true
	}
	var rest []*candidate
	for i := range s.found {
		if !is[&s.found[i]] {
			rest = append(rest, &s.found[i])
		}
	}
	other := fitClutter(rest, s.bands)
	prior := math.Log(float64(len(members)+1) / float64(len(rest)+1))
	last := math.Inf(-1)
	for i := range s.found {
		c := &s.found[i]
		v := ratio(f.log(c, s.bands, &other.all), other.log(c, s.bands)) + prior
		if v <= 0 {
			continue
		}
		if n := len(found); n > 0 && c.time-s.found[found[n-1]].time < refractory {
			if v > last+1 && c.loud > s.found[found[n-1]].loud {
				found[n-1], last = i, v
			}
			continue
		}
		found, last = append(found, i), v
	}
	return found, f
}

// alike tells whether the split of the dominant sounds into family f and others
// parts what is one: too many of them could as well be of either.
func (s *scan) alike(dominant []int, f *family, others []*candidate) bool {
	const ambiguous, most = 3.0, 0.4
	if len(others) < 3 {
		return false
	}
	g := fit(others)
	all := wideFamily(s.candidates(dominant))
	n := 0
	for _, i := range dominant {
		c := &s.found[i]
		if math.Abs(f.log(c, s.bands, &all)-g.log(c, s.bands, &all)) < ambiguous {
			n++
		}
	}
	return float64(n) > most*float64(len(dominant))
}

// candidates are those of the given indexes.
func (s *scan) candidates(of []int) []*candidate {
	out := make([]*candidate, len(of))
	for j, i := range of {
		out[j] = &s.found[i]
	}
	return out
}

// dominates tells whether no candidate within d seconds of i is louder.
func (s *scan) dominates(i int, d float64) bool {
	c := &s.found[i]
	for j := i - 1; j >= 0 && c.time-s.found[j].time < d; j-- {
		if s.found[j].loud > c.loud {
			return false
		}
	}
	for j := i + 1; j < len(s.found) && s.found[j].time-c.time < d; j++ {
		if s.found[j].loud > c.loud {
			return false
		}
	}
	return true
}

// dominant lists the candidates that no candidate within d seconds exceeds.
func (s *scan) dominant(d float64) []int {
	var out []int
	for i := range s.found {
		if s.dominates(i, d) {
			out = append(out, i)
		}
	}
	return out
}
