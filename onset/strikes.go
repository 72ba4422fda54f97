package onset

import (
	"math"
	"slices"
)

// Levels are learnt from candidates that are the loudest about them: within
// wide seconds on either side hardly anything but strikes is, within narrow
// seconds every kind of sound has its say.
const (
	wide   = 0.1
	narrow = 0.025
)

// refractory is the shortest time between two strikes: two type bars cannot
// strike closer without clashing, and a strike's own second hit comes within it
// (3 to 20 ms, seen on real machines).
const refractory = 0.028

// strikes finds the typed strikes, which are the loudest sounds of a take, and
// the family that they make. The level that parts them from the rest is the
// take's own: the valley under the loudest group of sounds.
func (s *scan) strikes() (found []int, f family) {
	dominant := s.dominant(wide)
	if len(dominant) < 3 {
		return nil, family{}
	}
	cut := valley(s.louds(dominant), s.louds(s.dominant(narrow)))
	// Settle members and family on one another: a strike is known by its sound,
	// not by its level alone.
	var members []*candidate
	for _, i := range dominant {
		if s.found[i].loud >= cut {
			members = append(members, &s.found[i])
		}
	}
	if len(members) == 0 {
		return nil, family{}
	}
	f = fit(members)
	for i := range s.found {
		c := &s.found[i]
		if c.loud < cut {
			continue
		}
		if n := len(found); n > 0 && c.time-s.found[found[n-1]].time < refractory {
			if c.loud > s.found[found[n-1]].loud+3 {
				found[n-1] = i
			}
			continue
		}
		found = append(found, i)
	}
	return found, f
}

// suspects adds to strikes the softer sounds that might be strikes by their
// sound: whatever looks for a time without strikes must reckon with them.
func (s *scan) suspects(strikes []int, strike family) []int {
	var rest []*candidate
	known := make(map[int]bool, len(strikes))
	for _, i := range strikes {
		known[i] = true
	}
	for i := range s.found {
		if !known[i] {
			rest = append(rest, &s.found[i])
		}
	}
	other := wideClutter(rest)
	var out []int
	for i := range s.found {
		c := &s.found[i]
		if known[i] || ratio(strike.log(c, s.bands, &other.all), other.log(c, s.bands)) > 1 {
			out = append(out, i)
		}
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

func (s *scan) louds(of []int) []float64 {
	out := make([]float64, len(of))
	for j, i := range of {
		out[j] = s.found[i].loud
	}
	return out
}

// valley finds the level in dB that parts strikes from all other sounds. strikes
// are levels that are mostly those of strikes: their loudest group that is more
// than a few strays is where to start. From there it goes down the density of
// all to its lowest point before the next group. Where there is no such point
// within 20 dB, strikes and the rest are one and the cut is there.
func valley(strikes, all []float64) float64 {
	const step, width = 0.5, 1.5
	lo, hi := slices.Min(all)-6, max(slices.Max(all), slices.Max(strikes))+6
	top := density(strikes, lo, hi, step, width)
	rest := density(all, lo, hi, step, width)
	need := max(0.1*float64(len(strikes)), 2.5)
	mode, mass := 0, 0.0
	for k := len(top) - 2; k > 0; k-- {
		mass += top[k] * step / (width * math.Sqrt(2*math.Pi))
		if mass >= need && top[k] >= top[k+1] && top[k] > top[k-1] {
			mode = k
			break
		}
	}
	// A larger group close under the first is the same: heavy and light strikes.
	for k := mode - 1; k > 0 && float64(mode-k)*step < 6; k-- {
		if top[k] > top[mode] {
			mode = k
		}
	}
	low := mode
	for k := mode - 1; k >= 0 && float64(mode-k)*step < 20; k-- {
		if rest[k] < rest[low] {
			low = k
		}
		if rest[k] > 1.5*rest[low]+1 && rest[low] < 0.7*rest[mode] {
			break
		}
	}
	return lo + float64(low)*step
}

// density is the sum of a Gaussian of the given width about each value, in
// steps from lo to hi.
func density(values []float64, lo, hi, step, width float64) []float64 {
	out := make([]float64, int((hi-lo)/step)+1)
	for _, x := range values {
		a := clampInt(int((x-5*width-lo)/step), 0, len(out)-1)
		b := clampInt(int((x+5*width-lo)/step)+1, 0, len(out)-1)
		for k := a; k <= b; k++ {
			z := (lo + float64(k)*step - x) / width
			out[k] += math.Exp(-0.5 * z * z)
		}
	}
	return out
}
