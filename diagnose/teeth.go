package diagnose

import (
	"math"
	"math/rand/v2"
)

// Teeth of an escape wheel that are looked for where the owner does not say:
// "ten teeth and more on common machines" (common practice). mostTeeth is the most
// that an owner may say.
const (
	fewestTeeth = 8
	mostLooked  = 32
	mostTeeth   = 60
)

// tooth is a value that stands out every so many spaces.
type tooth struct {
	Teeth int
	// In are the indexes of the values that belong to the odd tooth.
	In []int
	// P is the probability that chance gives as much, however many counts of teeth
	// were looked at.
	P float64
	// Excess of the values in In over the others, with its 95 % interval
	// ([shiftOver]).
	Excess, Low, High float64
}

// shuffles of the permutation test: the least P is 1 in shuffles+1. The first
// shuffle that gives as much ends it, for then P is above all that a rule accepts;
// (1 + 1)/(tried + 1) is still a valid P: Besag, J. and Clifford, P. (1991),
// "Sequential Monte Carlo p-values", Biometrika 78:301-304.
const shuffles = 499

// mostFolded is how many values of a long take are looked at ([Case.folded]).
const mostFolded = 1500

// everyTooth looks for a count of teeth such that y (one value a space, at the
// given count of spaces on the given line) is larger at one tooth. A wheel keeps
// its count from line to line, but one space more or less that was heard loses
// it: so each line has a phase of its own. How much chance gives is found by
// shuffling the values within their lines, with a fixed seed.
func everyTooth(line, spaces []int, y []float64, teeth []int) (best tooth, ok bool) {
	if len(y) < fewestFolded || len(teeth) == 0 {
		return best, false
	}
	clipped := make([]float64, len(y))
	middle, spread := Median(y), MADToSD*MAD(y)
	if !(spread > 0) {
		spread = 1 // most values are alike: what is heard or not
	}
	for i, v := range y {
		clipped[i] = min(max((v-middle)/spread, -4), 8)
	}
	f := newFold(line, spaces, teeth)
	n, score, in := f.best(clipped)
	r := rand.New(rand.NewPCG(uint64(len(y)), 0x7007))
	reached, tried := 0, 0
	shuffled := append([]float64{}, clipped...)
	for reached == 0 && tried < shuffles {
		for _, l := range f.lines {
			part := shuffled[l.first:l.end]
			r.Shuffle(len(part), func(a, b int) { part[a], part[b] = part[b], part[a] })
		}
		if _, s := f.score(shuffled, nil); s >= score {
			reached++
		}
		tried++
	}
	best = tooth{Teeth: n, In: in, P: float64(reached+1) / float64(tried+1)}
	var there, rest []float64
	odd := make([]bool, len(y))
	for _, i := range in {
		odd[i] = true
		there = append(there, y[i])
	}
	for i, v := range y {
		if !odd[i] {
			rest = append(rest, v)
		}
	}
	best.Excess, best.Low, best.High = shiftOver(there, rest, level)
	return best, true
}

// fewestFolded is how many values it takes: some of each tooth.
const fewestFolded = 120

// fold lays values out by line and by tooth, for every count of teeth that is
// looked for.
type fold struct {
	spaces []int
	lines  []foldedLine
	teeth  []int
}

// foldedLine is the values first to end-1; of each count of teeth it has the class
// of every value and the root of every class's size (0 of fewer than two values).
type foldedLine struct {
	first, end int
	class      [][]uint8
	root       [][]float64
}

func newFold(line, spaces, teeth []int) *fold {
	f := &fold{spaces: spaces}
	for _, t := range teeth {
		if t >= 2 && t <= mostTeeth {
			f.teeth = append(f.teeth, t)
		}
	}
	for i := 0; i < len(line); {
		l := foldedLine{first: i, end: i}
		for l.end < len(line) && line[l.end] == line[i] {
			l.end++
		}
		for _, t := range f.teeth {
			class, root := make([]uint8, l.end-i), make([]float64, t)
			for k := range class {
				class[k] = uint8(spaces[i+k] % t)
				root[class[k]]++
			}
			for c, n := range root {
				if root[c] = math.Sqrt(n); n < 2 {
					root[c] = 0
				}
			}
			l.class, l.root = append(l.class, class), append(l.root, root)
		}
		f.lines = append(f.lines, l)
		i = l.end
	}
	return f
}

// score finds the count of teeth under which one class of each line of y holds the
// most: the sum over the lines of the largest sum of a class over the root of its
// size, squared, its sign kept. phases, where it is not nil, is filled with the
// class of each line.
func (f *fold) score(y []float64, phases []int) (teeth int, score float64) {
	score = math.Inf(-1)
	var sum [mostTeeth]float64
	now := make([]int, len(phases))
	for k, t := range f.teeth {
		total := 0.0
		for n := range f.lines {
			l := &f.lines[n]
			clear(sum[:t])
			class := l.class[k]
			for i, v := range y[l.first:l.end] {
				sum[class[i]] += v
			}
			top, at := math.Inf(-1), 0
			for c, root := range l.root[k] {
				if v := sum[c] / root; root > 0 && v > top {
					top, at = v, c
				}
			}
			if !math.IsInf(top, -1) {
				total += top * math.Abs(top)
			}
			if phases != nil {
				now[n] = at
			}
		}
		if total > score {
			teeth, score = t, total
			copy(phases, now)
		}
	}
	return teeth, score
}

// best is score with the indexes of the values that belong to the class of their
// line.
func (f *fold) best(y []float64) (teeth int, score float64, in []int) {
	phases := make([]int, len(f.lines))
	teeth, score = f.score(y, phases)
	for n, l := range f.lines {
		for i := l.first; i < l.end; i++ {
			if teeth > 0 && f.spaces[i]%teeth == phases[n] {
				in = append(in, i)
			}
		}
	}
	return teeth, score, in
}
