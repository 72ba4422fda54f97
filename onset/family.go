package onset

import (
	"cmp"
	"math"
	"slices"
)

// Features of a candidate's sound, all in dB: how loud it is, how that is shared
// out over the bands (each against the whole), how fast it decays and how sharply
// it begins. How hard a thing was struck moves the first of them only.
const (
	loudness  = 0
	firstBand = 1
	fading    = firstBand + maxBands
	sharpness = fading + 1
	nFeatures = sharpness + 1
)

// family is one kind of sound as this take has it: independent normal
// distributions of the features, fitted by medians so that a few wrong members
// do no harm.
type family struct {
	mean, sigma [nFeatures]float64
	n           int
}

// The spread of a feature is never believed to be under minSigma dB.
const minSigma = 2.5

// fit learns a family from its members.
func fit(members []*candidate) family {
	f := family{n: len(members)}
	for i, v := range features(members) {
		v = slices.DeleteFunc(v, math.IsNaN)
		f.mean[i], f.sigma[i] = usual(v)
	}
	return f
}

// features are those of members, feature by feature.
func features(members []*candidate) (out [nFeatures][]float64) {
	n := len(members)
	room := make([]float64, nFeatures*n)
	for i := range out {
		out[i], room = room[:n:n], room[n:]
	}
	for j, c := range members {
		out[loudness][j], out[fading][j], out[sharpness][j] = c.loud, c.decay, c.sharp
		for b, level := range c.level {
			out[firstBand+b][j] = level - c.loud
		}
	}
	return out
}

// usual is the middle and the spread of the values of a feature, which are spoilt.
func usual(v []float64) (mean, sigma float64) {
	if len(v) < 3 {
		return 0, 20 // nothing known
	}
	mean, mad := spoilingMAD(v)
	return mean, max(1.4826*mad, minSigma)
}

// band is the family's usual level in band b in dB.
func (f *family) band(b int) float64 { return f.mean[loudness] + f.mean[firstBand+b] }

// density is the density of c in f. Each feature has Student's t with four
// degrees of freedom, scaled: one that is off, as when two sounds fall together, is a
// weak witness and not a veto. Bands in which f would be buried under what was
// there before c say little: their spread is widened towards that of wide.
func (f *family) density(c *candidate, bands int, wide *family) float64 {
	t := tails{1, 1}
	for b, level := range c.level[:bands] {
		i := firstBand + b
		s := f.sigma[i]
		if over := c.before[b] - f.band(b) + 6; over > 0 && s < wide.sigma[i] {
			s = min(s+1.2*over, wide.sigma[i])
		}
		t = t.times(level-c.loud-f.mean[i], s)
	}
	t = t.times(c.loud-f.mean[loudness], f.sigma[loudness])
	if !math.IsNaN(c.decay) {
		t = t.times(c.decay-f.mean[fading], f.sigma[fading])
	}
	t = t.times(c.sharp-f.mean[sharpness], f.sigma[sharpness])
	return t.above * t.above / (t.below * t.below * math.Sqrt(t.below))
}

// tails is the product of densities of Student's t with four degrees of freedom, each
// 12 s^4 / (4 s^2 + d^2)^(5/2) at d from the middle with the spread s: the root of
// what stands above the line, and the bases of what stands below it, so that the
// powers are taken once for all.
type tails struct{ above, below float64 }

func (t tails) times(d, s float64) tails {
	const root12 = 3.4641016151377544
	return tails{t.above * (root12 * s * s), t.below * (4*s*s + d*d)}
}

// log is the log of density.
func (f *family) log(c *candidate, bands int, wide *family) float64 {
	return quickLog(f.density(c, bands, wide))
}

// normal01 is the density of the standard normal distribution at z; 0 where it is
// less than 1e-17: all that it is added to is far more.
func normal01(z float64) float64 {
	const norm = 0.3989422804014327 // 1/sqrt(2 pi)
	if z*z > 78 {
		return 0
	}
	return norm * math.Exp(-0.5*z*z)
}

// normalLog is the log density of a normal distribution at x.
func normalLog(x, mean, sigma float64) float64 {
	z := (x - mean) / sigma
	const norm = 0.9189385332046727 // log(2 pi)/2
	return -0.5*z*z - math.Log(sigma) - norm
}

// clutter is the mixture of families that a take's other sounds form: lever
// noise, bars coming to rest, keys coming up, second hits, noise. It learns
// them without knowing which is which.
type clutter struct {
	all    family
	kinds  []family
	weight []float64
}

const (
	clutterKinds   = 4
	clutterRounds  = 8
	clutterSample  = 3000
	clutterMembers = 12 // fewer are no kind
)

// fitClutter learns the mixture from members by expectation and maximisation,
// from a start in order of loudness.
func fitClutter(members []*candidate, bands int) clutter {
	out := wideClutter(members)
	if step := len(members)/clutterSample + 1; step > 1 {
		thin := members[:0:0]
		for i := 0; i < len(members); i += step {
			thin = append(thin, members[i])
		}
		members = thin
	}
	if len(members) < 2*clutterKinds*clutterMembers {
		return out
	}
	members = byLoudness(members)
	kind := make([]int, len(members))
	for i := range members {
		kind[i] = i * clutterKinds / len(members)
	}
	sounds := features(members)
	for round := 1; ; round++ {
		// The whole stays in the mixture with a small weight, so that a sound like
		// none of the kinds is still clutter.
		out.kinds, out.weight = []family{out.all}, []float64{0.1}
		for _, f := range fitKinds(&sounds, kind) {
			if f.n < clutterMembers {
				continue
			}
			out.kinds = append(out.kinds, f)
			out.weight = append(out.weight, 0.9*float64(f.n)/float64(len(members)))
		}
		if round == clutterRounds {
			return out
		}
		moved := false
		for i, c := range members {
			best, top := kind[i], 0.0
			for k := 1; k < len(out.kinds); k++ {
				if v := out.kinds[k].density(c, bands, &out.all) * out.weight[k]; v > top {
					best, top = k-1, v
				}
			}
			moved = moved || best != kind[i]
			kind[i] = best
		}
		if !moved {
			return out
		}
	}
}

// fitKinds learns a family of each kind, given the features of sounds and the kind
// of each.
func fitKinds(sounds *[nFeatures][]float64, kind []int) (out [clutterKinds]family) {
	for _, k := range kind {
		out[k].n++
	}
	var own [clutterKinds][]float64
	for k := range own {
		own[k] = make([]float64, 0, out[k].n)
	}
	for i, values := range sounds {
		for k := range own {
			own[k] = own[k][:0]
		}
		for j, v := range values {
			if !math.IsNaN(v) {
				own[kind[j]] = append(own[kind[j]], v)
			}
		}
		for k := range own {
			out[k].mean[i], out[k].sigma[i] = usual(own[k])
		}
	}
	return out
}

// byLoudness lists members from the faintest to the loudest, equal ones in the
// order in which they came.
func byLoudness(members []*candidate) []*candidate {
	type place struct {
		loud float64
		at   int
	}
	order := make([]place, len(members))
	for i, c := range members {
		order[i] = place{c.loud, i}
	}
	slices.SortFunc(order, func(a, b place) int {
		if a.loud != b.loud {
			return cmp.Compare(a.loud, b.loud)
		}
		return a.at - b.at
	})
	out := make([]*candidate, len(members))
	for i, p := range order {
		out[i] = members[p.at]
	}
	return out
}

// wideClutter is clutter as one wide family.
func wideClutter(members []*candidate) clutter {
	f := wideFamily(members)
	return clutter{all: f, kinds: []family{f}, weight: []float64{1}}
}

// wideFamily is a family that no sound is far from.
func wideFamily(members []*candidate) family {
	f := fit(members)
	for i := range f.sigma {
		f.sigma[i] = max(f.sigma[i], 6)
	}
	return f
}

// log is the log density of c in the mixture.
func (m *clutter) log(c *candidate, bands int) float64 {
	sum := 0.0
	for k := range m.kinds {
		sum += m.kinds[k].density(c, bands, &m.all) * m.weight[k]
	}
	return quickLog(sum)
}

// ratio turns two log densities of a sound into a log likelihood ratio. The
// bands rise and fall together, they are not independent witnesses; and no
// single sound may decide everything.
func ratio(family, clutter float64) float64 { return clamp(0.8*(family-clutter), -12, 7) }

func clamp[T int | float64](x, lo, hi T) T { return min(max(x, lo), hi) }

// medianMAD returns the median of v and the median absolute deviation from it,
// NaN when v is empty.
func medianMAD(v []float64) (median, mad float64) {
	if len(v) == 0 {
		return math.NaN(), math.NaN()
	}
	return spoilingMAD(slices.Clone(v))
}

// spoilingMAD is medianMAD of v, which is not empty and is spoilt.
func spoilingMAD(v []float64) (median, mad float64) {
	median = middle(v)
	for i := range v {
		v[i] = math.Abs(v[i] - median)
	}
	return median, middle(v)
}

// middle is the median of v, whose order it changes; v is not empty.
func middle(v []float64) float64 {
	n := len(v)
	upper := Nth(v, n/2)
	if n%2 == 1 {
		return upper
	}
	return (slices.Max(v[:n/2]) + upper) / 2
}

// Nth brings the k-th smallest of v (from 0) to its place, the smaller ones before
// it and the larger ones after it, and returns it: Hoare's algorithm 65, FIND
// (1961), which takes a time that grows with len(v), where sorting takes more. No
// value is NaN.
func Nth(v []float64, k int) float64 {
	for len(v) > 1 {
		pivot, n := v[k], len(v)
		if n > 40 {
			// The middle one of three halves better.
			a, b := v[n/4], v[n-1-n/4]
			pivot = max(min(a, b), min(max(a, b), pivot))
		}
		// No branches: the processor would guess them wrong half of the time. The sign
		// of a difference says which is less.
		less := 0
		for i, x := range v {
			v[i], v[less] = v[less], x
			less += int(math.Float64bits(x-pivot) >> 63)
		}
		if less == n {
			// Differences of infinite numbers have no sign.
			slices.Sort(v)
			return v[k]
		}
		if k < less {
			v = v[:less]
			continue
		}
		v, k = v[less:], k-less
		same := 0
		for i, x := range v {
			v[i], v[same] = v[same], x
			same += 1 - int(math.Float64bits(pivot-x)>>63)
		}
		if k < same {
			return pivot
		}
		v, k = v[same:], k-same
	}
	return v[0]
}

// quantile is the value of sorted v that the share q of them lies under (0..1),
// without interpolation; NaN when v is empty.
func quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	return v[clamp(int(q*float64(len(v))), 0, len(v)-1)]
}
