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

// shuffles of the permutation test: the least P is 1 in shuffles+1.
const shuffles = 499

// mostFolded bounds the work on long takes.
const mostFolded = 1500

// everyTooth looks for a count of teeth such that y (one value a space, at the
// given count of spaces on the given line) is larger at one tooth. A wheel keeps
// its count from line to line, but one space more or less that was heard loses
// it: so each line has a phase of its own. How much chance gives is found by
// shuffling the values within their lines, with a fixed seed.
func everyTooth(line, spaces []int, y []float64, teeth []int) (best tooth, ok bool) {
	if len(y) > mostFolded {
		line, spaces, y = line[:mostFolded], spaces[:mostFolded], y[:mostFolded]
	}
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
	n, score, in := fold(line, spaces, clipped, teeth, true)
	r := rand.New(rand.NewPCG(uint64(len(y)), 0x7007))
	reached, tried := 0, 0
	shuffled := append([]float64{}, clipped...)
	for k := range shuffles {
		for i := 0; i < len(line); {
			j := i
			for j < len(line) && line[j] == line[i] {
				j++
			}
			part := shuffled[i:j]
			r.Shuffle(len(part), func(a, b int) { part[a], part[b] = part[b], part[a] })
			i = j
		}
		if _, s, _ := fold(line, spaces, shuffled, teeth, false); s >= score {
			reached++
		}
		tried++
		if k >= 30 && reached > k/4 {
			break // nothing to be had
		}
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

// fold finds the count of teeth under which one class of each line holds the
// most: the sum over the lines of the largest sum of a class over the root of its
// size. in are the indexes of those classes, when asked for.
func fold(line, spaces []int, y []float64, teeth []int, which bool) (n int, score float64, in []int) {
	score = math.Inf(-1)
	var sum [mostTeeth + 1]float64
	var size [mostTeeth + 1]int
	var phases, kept []int
	for _, t := range teeth {
		if t < 2 || t > mostTeeth {
			continue
		}
		total := 0.0
		phases = phases[:0]
		for i := 0; i < len(line); {
			clear(sum[:t])
			clear(size[:t])
			j := i
			for ; j < len(line) && line[j] == line[i]; j++ {
				c := spaces[j] % t
				sum[c] += y[j]
				size[c]++
			}
			top, at := math.Inf(-1), 0
			for c := range t {
				if size[c] > 1 {
					if v := sum[c] / math.Sqrt(float64(size[c])); v > top {
						top, at = v, c
					}
				}
			}
			if !math.IsInf(top, -1) {
				total += top * math.Abs(top)
			}
			phases = append(phases, at)
			i = j
		}
		if total > score {
			n, score = t, total
			kept = append(kept[:0], phases...)
		}
	}
	if !which {
		return n, score, nil
	}
	l := -1
	for i := range line {
		if i == 0 || line[i] != line[i-1] {
			l++
		}
		if n > 0 && spaces[i]%n == kept[l] {
			in = append(in, i)
		}
	}
	return n, score, in
}
