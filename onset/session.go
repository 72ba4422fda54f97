package onset

import (
	"math"
	"slices"
	"sort"
)

// line is a line of the page while it is being decoded: the candidates first to
// last-1 lie in it.
type line struct {
	first, last int
	span        span // from its first to its last strike
	carriage    span // the carriage return that ended it; zero where none was heard
	strokes     []stroke
}

// session holds one take's decoding: what is fixed (strikes found by level,
// lines) and what is learnt.
type session struct {
	*scan
	strikes  []int
	bells    []bell
	isStrike []bool // of the candidates, as the next two
	isBell   []bool // a bell and no strike
	// isSecond marks second hits: the type bounces, and strikes again at a delay
	// that only the machine sets.
	isSecond []bool
	beat     float64 // median interval of the strikes in s
	// missedShare is the share of letters, and of space-bar strokes, that make no
	// space, 0 to 1; set once all is decoded, as heard and chance are.
	missedShare [2]float64
	hush        float64 // see learnHush
	taken       []bool  // candidates that a stroke uses
	// heard is the share of letters with a landing where landings come, chance the
	// share that would have one by chance: see answers.
	heard, chance float64
	// lead is by how much the chosen reading of the take leads the best one that
	// takes other sounds for the landings, as a share of the likelihood; NaN where
	// there is no other. See choose.
	lead  float64
	lines []line
	// passed is how many sounds like strokes were passed over because they moved
	// nothing.
	passed int
}

// layOut parts the take into lines at its carriage returns and drops the
// strikes that are sounds of a return.
func layOut(s *scan, strikes []int, strike family) *session {
	n := len(s.found)
	out := &session{scan: s, bells: s.bells(), isStrike: make([]bool, n), isBell: make([]bool, n), isSecond: make([]bool, n)}
	out.beat = s.medianInterval(strikes)
	spans := s.returns(strikes, strike, out.bells, out.beat)
	for _, b := range out.bells {
		if b.cand >= 0 && !slices.Contains(strikes, b.cand) {
			out.isBell[b.cand] = true
		}
	}
	inside := func(t float64) bool {
		i := sort.Search(len(spans), func(i int) bool { return spans[i].to > t })
		return i < len(spans) && spans[i].from < t
	}
	for _, i := range strikes {
		if !inside(s.found[i].time) {
			out.strikes = append(out.strikes, i)
			out.isStrike[i] = true
		}
	}
	out.secondHits()
	start := 0
	for k := 0; k <= len(spans); k++ {
		l := line{first: start, last: len(s.found)}
		if k < len(spans) {
			l.last = s.after(spans[k].from)
			start = s.after(spans[k].to)
			l.carriage = spans[k]
		}
		lo := sort.SearchInts(out.strikes, l.first)
		hi := sort.SearchInts(out.strikes, l.last)
		if lo == hi {
			// No strike between two returns: one return heard in two pieces.
			if n := len(out.lines); n > 0 && k < len(spans) && spans[k].from-out.lines[n-1].carriage.to < 2 {
				out.lines[n-1].carriage.to = spans[k].to
			}
			continue
		}
		l.span = span{s.found[out.strikes[lo]].time, s.found[out.strikes[hi-1]].time}
		out.lines = append(out.lines, l)
	}
	return out
}

// usedBy marks the candidates that strokes of the lines use.
func (e *session) usedBy(lines []line) []bool {
	used := make([]bool, len(e.found))
	for _, l := range lines {
		for _, st := range l.strokes {
			for _, i := range [...]int{st.strike, st.release, st.landing} {
				if i >= 0 {
					used[i] = true
				}
			}
		}
	}
	return used
}

// secondHits marks the sounds that follow most strikes by one very steady delay
// of a few milliseconds.
func (e *session) secondHits() {
	const early, late, width, share = 0.0025, 0.020, 0.0008, 0.5
	var lags []float64
	for _, i := range e.strikes {
		for j := i + 1; j < len(e.found) && e.found[j].time < e.found[i].time+late; j++ {
			if lag := e.found[j].time - e.found[i].time; lag > early {
				lags = append(lags, lag)
			}
		}
	}
	if len(lags) == 0 {
		return
	}
	mode := densest(lags, width)
	var second []int
	for _, i := range e.strikes {
		for j := i + 1; j < len(e.found) && e.found[j].time < e.found[i].time+late; j++ {
			if math.Abs(e.found[j].time-e.found[i].time-mode) < width {
				second = append(second, j)
				break
			}
		}
	}
	if float64(len(second)) < share*float64(len(e.strikes)) {
		return
	}
	for _, j := range second {
		e.isSecond[j] = true
	}
}

// medianInterval is that of strikes in seconds, a calm hand's where there are too
// few.
func (s *scan) medianInterval(strikes []int) float64 {
	if len(strikes) < 3 {
		return 0.2
	}
	gaps := make([]float64, 0, len(strikes))
	for j := 1; j < len(strikes); j++ {
		gaps = append(gaps, s.found[strikes[j]].time-s.found[strikes[j-1]].time)
	}
	return middle(gaps)
}

// positions guesses the carriage position (spaces) at times of line l (s) that are
// asked in rising order, from what was decoded so far, or from the beat before
// anything was.
func (l *line) positions(s *scan, beat float64) func(t float64) float64 {
	if len(l.strokes) == 0 {
		return func(t float64) float64 { return max(0, (t-l.span.from)/beat) }
	}
	k, moved := 0, 0
	return func(t float64) float64 {
		for k < len(l.strokes) && l.strokes[k].time < t {
			if l.strokes[k].moved() {
				moved++
			}
			k++
		}
		return float64(moved)
	}
}

// some copies lines spread over the take that together hold about so many
// strikes, or all of them.
func (e *session) some(strikes int) []line {
	step := max(1, len(e.strikes)/strikes)
	var out []line
	for i := 0; i < len(e.lines); i += step {
		l := e.lines[i]
		l.strokes = nil
		out = append(out, l)
	}
	return out
}
