package passage

import (
	"math"
)

// kind is what a character of the text asks for.
type kind uint8

const (
	letter    kind = iota // anything that prints
	space                 // the space bar
	lineBreak             // the carriage return
	kinds
)

func kindOf(r rune) kind {
	switch r {
	case ' ':
		return space
	case '\n':
		return lineBreak
	}
	return letter
}

// sound is what was heard: the take as a row of these.
type sound uint8

const (
	typedSound  sound = iota // a typed stroke
	spaceSound               // a stroke of the space bar
	returnSound              // a new line begins
	sounds
)

// rates are the probabilities of what can happen at each character.
type rates struct {
	// heard[k][s]: a character of kind k, when it is there at all, is heard as s.
	heard [kinds][sounds]float64
	// left[k]: a character of kind k is left out, or its stroke was not heard.
	left [kinds]float64
	// extra[s]: a stroke (or a line break) too many. A line break is a case of its
	// own: right after a space it is one that the typist made.
	extra [sounds]float64
	// lineStart is the chance of a stroke too many before a line's first: the return
	// of the carriage ends in noises that sound like one.
	lineStart float64
}

// count is a number of cases that the learning starts from: mean is the share,
// weight as how many cases it counts.
type count struct{ mean, weight float64 }

// What is believed before a take is heard. Typing errors are about one in a
// hundred (uncorrected 1.17 %, Dhakal et al. 2018, second hand); space bars are
// taken for letters far more often than the other way round on faint machines.
// The weights let one page of typing overrule any of them.
var (
	startHeard = [kinds][sounds]count{
		letter:    {typedSound: {0.98, 200}, spaceSound: {0.02, 60}, returnSound: {1e-6, 1}},
		space:     {typedSound: {0.10, 12}, spaceSound: {0.87, 12}, returnSound: {0.03, 12}},
		lineBreak: {typedSound: {0.01, 4}, spaceSound: {0.14, 4}, returnSound: {0.85, 4}},
	}
	startLeft  = [kinds]count{letter: {0.006, 300}, space: {0.01, 60}, lineBreak: {0.04, 6}}
	startExtra = [sounds]count{typedSound: {0.006, 300}, spaceSound: {0.002, 300}, returnSound: {0.0005, 1000}}
)

var startLineStart = count{0.03, 10}

// What is not learnt: the chance of a line break right after a space that was typed,
// and that of a space-bar stroke right before a line break.
const (
	breakAfterSpace  = 0.02
	spaceBeforeBreak = 0.10
)

// firstRates are those believed before the take is heard.
func firstRates() rates {
	var none tally
	return none.rates()
}

// tally counts what happened, as far as the posterior probabilities tell.
type tally struct {
	heard [kinds][sounds]float64
	left  [kinds]float64
	extra [sounds]float64
	// chances is how many sounds were in the text, each a chance for one too many.
	chances float64
	// lineStart counts those before a line's first, lines the lines.
	lineStart, lines float64
}

// rates are the shares of the tally together with what is believed beforehand.
func (t *tally) rates() rates {
	var r rates
	for k := range kinds {
		var total float64
		for s := range sounds {
			c := startHeard[k][s]
			r.heard[k][s] = t.heard[k][s] + c.mean*c.weight
			total += r.heard[k][s]
		}
		there := 0.0
		for s := range sounds {
			r.heard[k][s] /= total
			there += t.heard[k][s]
		}
		c := startLeft[k]
		r.left[k] = (t.left[k] + c.mean*c.weight) / (t.left[k] + there + c.weight)
	}
	for s := range sounds {
		c := startExtra[s]
		r.extra[s] = (t.extra[s] + c.mean*c.weight) / (t.chances + c.weight)
	}
	// A share of all strokes there: two too many are two cases.
	r.lineStart = (t.lineStart + startLineStart.mean*startLineStart.weight) / (t.lineStart + t.lines + startLineStart.weight)
	return r
}

// Leaving the text and coming back: the typist misses a line, types one twice,
// types something else.
const (
	leaveAnywhere = 2e-5 // at any character
	leaveAtGap    = 2e-4 // at a space
	leaveAtLine   = 2e-2 // where a new line begins
	comeBack      = 0.02 // after each stroke that is not in the text
	comeAtLine    = 0.5  // where a new line begins
	// exchanged is how often a letter and a space beside it change places: one
	// transposition in 1,800 characters was counted (Rumelhart & Norman 1982, second
	// hand); more is allowed for.
	exchanged   = 1e-3
	startAtOnce = 0.9 // the take begins with the text's first character
	// lineShare is the share of comings back at a new line of the take that are to
	// the start of a line of the text, the rest being to the start of any word.
	lineShare = 0.8
)

// rhythm says how much likelier an interval is for a pair struck in one way
// than for any pair of the take: log-normal for each class, with the take's own
// figures. A zero rhythm says nothing.
type rhythm struct {
	known        bool
	mean, spread [classes]float64 // of the natural logarithm of seconds
	all, wide    float64
	// Logarithms of the sum of two usual intervals, by class, and of three.
	two   [classes][classes]float64
	three float64
}

// factors are that ratio for a logarithm x of an interval, 1 where it says nothing:
// of each class, then for an interval over one stroke that was not heard, which is
// the sum of two, by their classes, and over two strokes.
func (r *rhythm) factors(x float64) (one [classes]float64, two [classes][classes]float64, three float64) {
	any := 0.0
	if r.known && !math.IsNaN(x) {
		any = normalDensity(x, r.all, r.wide)
	}
	says := !(any < 1e-12) // an interval far from everything is no evidence
	// A tenth of all intervals are taken as of no class; and one sum alone does not
	// prove that a stroke was not heard.
	const odd, most = 0.1, 100
	sum := func(mean float64) float64 {
		if !says {
			return 1
		}
		return math.Min(normalDensity(x, mean, r.wide)/any, most)
	}
	for c := range classes {
		one[c] = 1
		if says && c != noClass {
			one[c] = odd + (1-odd)*normalDensity(x, r.mean[c], r.spread[c])/any
		}
		for d := range classes {
			two[c][d] = sum(r.two[c][d])
		}
	}
	return one, two, sum(r.three)
}

func normalDensity(x, mean, spread float64) float64 {
	z := (x - mean) / spread
	return math.Exp(-z*z/2) / (spread * math.Sqrt(2*math.Pi))
}

// beats sums up intervals by class, each weighted by how likely it belongs there.
type beats struct{ n, sum, square [classes]float64 }

func (b *beats) add(c class, x, weight float64) {
	b.n[c] += weight
	b.sum[c] += weight * x
	b.square[c] += weight * x * x
}

// rhythm learns the classes' figures, each drawn toward those of all by as much
// as ten intervals weigh. Too few intervals teach nothing.
func (b *beats) rhythm() rhythm {
	const fewest, pull = 40, 10
	var n, sum, square float64
	for c := sameKey; c < classes; c++ {
		n, sum, square = n+b.n[c], sum+b.sum[c], square+b.square[c]
	}
	if n < fewest {
		return rhythm{}
	}
	r := rhythm{known: true, all: sum / n}
	variance := math.Max(square/n-r.all*r.all, 0)
	r.wide = math.Max(math.Sqrt(variance), 0.03)
	for c := range classes {
		w := b.n[c] + pull
		r.mean[c] = (b.sum[c] + pull*r.all) / w
		// Squares around the class's own mean, with the pull's own spread.
		about := b.square[c] - 2*r.mean[c]*b.sum[c] + b.n[c]*r.mean[c]*r.mean[c]
		r.spread[c] = math.Max(math.Sqrt((math.Max(about, 0)+pull*variance)/w), 0.03)
	}
	for c := range classes {
		for d := range classes {
			r.two[c][d] = math.Log(math.Exp(r.mean[c]) + math.Exp(r.mean[d]))
		}
	}
	r.three = math.Log(3) + r.all
	return r
}
