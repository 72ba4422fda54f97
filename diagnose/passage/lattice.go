package passage

import "math"

// lattice is a text and a take laid across one another. A state (j, i) means
// that j sounds have been heard and i characters of the text are behind. Of a
// letter and a space that were exchanged the second comes first: another state
// (j, i) means that it has come and that character i is still due. One more state
// for each j means that the typist is off the text. Every sound is consumed
// by exactly one move, so that their probabilities sum to 1 for each sound.
type lattice struct {
	// Of each character: its kind, how it is struck after the one before it and
	// after the one before that, and whether a word or a line starts with it.
	kind        []kind
	after, over []class
	word, line  []bool
	slot        []slot // of each place between characters: len(kind)+1
	starts      []int  // the characters that start a word
	swaps       []int  // those that can be heard to be exchanged with the next
	// runs are the spaces that several stand together from, with how many: a line
	// may be broken there, instead of all of them.
	runs         map[int]int
	words, lines float64

	// Of each sound: what it is, and the logarithm of its interval in seconds (NaN
	// where it has none).
	heard    []sound
	interval []float64
	// usual is how common each sound is in the take: all scores are relative to a
	// take of such sounds in any order.
	usual [sounds]float64

	rates  rates
	rhythm rhythm
}

// slot is where a sound too many may stand.
type slot uint8

const (
	anySlot slot = iota
	afterSpace
	beforeBreak
	afterLetter
	afterBreak
	slots
)

// negligible is the share of a column's probability below which a state is not
// followed. A leap that is made while all fits is under it; but where nothing fits
// being off the text becomes likely, and the ways back with it.
const negligible = 1e-8

// setText takes the characters of a text.
func (l *lattice) setText(runes []rune) {
	m := len(runes)
	l.kind, l.after, l.over = make([]kind, m), make([]class, m), make([]class, m)
	l.word, l.line = make([]bool, m), make([]bool, m)
	l.slot = make([]slot, m+1)
	l.starts, l.swaps, l.runs = nil, nil, map[int]int{}
	l.words, l.lines = 0, 0
	for i, r := range runes {
		l.kind[i] = kindOf(r)
		if i > 0 {
			l.after[i] = classOf(runes[i-1], r)
		}
		if i > 1 {
			l.over[i] = classOf(runes[i-2], r)
		}
		l.line[i] = i == 0 || l.kind[i-1] == lineBreak
		l.word[i] = l.line[i] || l.kind[i] == letter && l.kind[i-1] != letter
		if l.word[i] {
			l.words++
			l.starts = append(l.starts, i)
		}
		if l.line[i] {
			l.lines++
		}
	}
	for i, n := 0, 0; i < m; i += n + 1 {
		for n = 0; i+n < m && l.kind[i+n] == space; {
			n++
		}
		if n > 1 {
			l.runs[i] = n
		}
	}
	for i := range m {
		if l.exchanges(i) {
			l.swaps = append(l.swaps, i)
		}
	}
	for i := range l.slot {
		switch {
		case i > 0 && l.kind[i-1] == space:
			l.slot[i] = afterSpace
		case i < m && l.kind[i] == lineBreak:
			l.slot[i] = beforeBreak
		case i > 0 && l.kind[i-1] == letter:
			l.slot[i] = afterLetter
		case i > 0:
			l.slot[i] = afterBreak
		}
	}
}

// column is the chance of every state at one j: in the text, with a character
// still due, and off the text.
type column struct {
	in, due []float64 // len(kind)+1
	off     float64
}

func (l *lattice) newColumn() column {
	return column{in: make([]float64, len(l.kind)+1), due: make([]float64, len(l.kind)+1)}
}

func (c *column) clear() { clear(c.in); clear(c.due); c.off = 0 }

func (c *column) set(from column) {
	copy(c.in, from.in)
	copy(c.due, from.due)
	c.off = from.off
}

// exchanges tells whether characters i and i+1 can be heard to be exchanged: a
// letter and a space. Of two letters no sound tells.
func (l *lattice) exchanges(i int) bool {
	if i+1 >= len(l.kind) {
		return false
	}
	a, b := l.kind[i], l.kind[i+1]
	return a != b && a != lineBreak && b != lineBreak
}

// weights of the moves over one sound.
type weights struct {
	match [kinds]float64
	left  [kinds]float64
	beat  [classes]float64
	extra [slots]float64
	// What the interval says where one stroke or two between are left out or were
	// not heard.
	beatOfTwo   [classes][classes]float64
	beatOfThree float64
	stay        float64 // off the text
}

func (l *lattice) weigh(j int) weights {
	s := l.heard[j]
	q := l.usual[s]
	w := weights{left: l.rates.left, stay: 1 - l.back(j)}
	for k := range kinds {
		w.match[k] = (1 - w.left[k]) * l.rates.heard[k][s] / q
	}
	w.beat, w.beatOfTwo, w.beatOfThree = l.rhythm.factors(l.interval[j])
	for i := range w.extra {
		w.extra[i] = l.rates.extra[s] / q
	}
	switch s {
	case returnSound:
		w.extra[afterSpace] = breakAfterSpace / q
	case spaceSound:
		w.extra[beforeBreak] = spaceBeforeBreak / q
	case typedSound:
		// Half of the letters too many are the one before them once more, so few come
		// before a word's first.
		w.extra[afterSpace] /= 4
		w.extra[afterLetter] *= (1 + w.beat[sameKey]) / 2
		w.extra[afterBreak] = l.rates.lineStart / q
	}
	return w
}

// skipOne is what the interval says where character i has no stroke: left out by
// the hand, or not heard, which one is even.
func (l *lattice) skipOne(w *weights, i int) float64 {
	return (w.beat[l.over[i+1]] + w.beatOfTwo[l.after[i]][l.after[i+1]]) / 2
}

// leave is the chance that the typist leaves the text before sound j, within a
// word or elsewhere.
func (l *lattice) leave(j int, inWord bool) float64 {
	switch {
	case l.newLine(j):
		return leaveAtLine
	case inWord:
		return leaveAnywhere
	}
	return leaveAtGap
}

// back is the chance that a typist who is off the text comes back before sound j.
func (l *lattice) back(j int) float64 {
	if l.newLine(j) {
		return comeAtLine
	}
	return comeBack
}

// newLine tells whether sound j begins a line of the take.
func (l *lattice) newLine(j int) bool { return j == 0 || l.heard[j-1] == returnSound }

// target is the chance that one who comes back before sound j goes on with
// character i.
func (l *lattice) target(newLine bool, i int) float64 {
	p := 0.0
	if l.word[i] {
		p = 1 / l.words
	}
	if !newLine {
		return p
	}
	p *= 1 - lineShare
	if l.line[i] {
		p += lineShare / l.lines
	}
	return p
}

// start fills the column before the first sound.
func (l *lattice) start(c column) column {
	c.clear()
	c.in[0] = startAtOnce
	c.off = 1 - startAtOnce
	l.rejoin(0, &c)
	return c
}

// rejoin lets those who are off the text before sound j come back to it.
func (l *lattice) rejoin(j int, c *column) {
	if c.off < negligible || j == len(l.heard) {
		return
	}
	newLine := l.newLine(j)
	come := c.off * l.back(j)
	for _, i := range l.starts {
		c.in[i] += come * l.target(newLine, i)
	}
}

// advance fills to, the column after sound j, from the one before it; scaled so
// that it sums to 1. It returns the logarithm of the scale.
func (l *lattice) advance(j int, from, to *column) float64 {
	to.clear()
	w := l.weigh(j)
	m := len(l.kind)
	for i, a := range from.in {
		if a < negligible {
			continue
		}
		to.in[i] += a * w.extra[l.slot[i]]
		if i == m {
			continue
		}
		k := l.kind[i]
		to.in[i+1] += a * w.match[k] * w.beat[l.after[i]]
		if i+1 == m {
			continue
		}
		a *= w.left[k]
		k = l.kind[i+1]
		to.in[i+2] += a * w.match[k] * l.skipOne(&w, i)
		if i+2 == m {
			continue
		}
		to.in[i+3] += a * w.left[k] * w.match[l.kind[i+2]] * w.beatOfThree
	}
	if l.heard[j] == returnSound {
		for i, n := range l.runs {
			to.in[i+n] += from.in[i] * w.match[space]
		}
	}
	sum := 0.0
	for _, i := range l.swaps {
		to.due[i] = from.in[i] * exchanged * w.match[l.kind[i+1]]
		to.in[i+2] += from.due[i] * w.match[l.kind[i]]
		sum += to.due[i]
	}
	var inWord, atGap float64
	for i, a := range to.in {
		if l.slot[i] == afterLetter {
			inWord += a
		} else {
			atGap += a
		}
	}
	to.off = from.off * w.stay
	if j+1 < len(l.heard) {
		to.off += l.leave(j+1, true)*inWord + l.leave(j+1, false)*atGap
	}
	sum += to.off + inWord + atGap
	if !(sum > 0) || math.IsInf(sum, 0) {
		// Every way is too unlikely for a number: off the text from here.
		to.clear()
		to.off, sum = 1, 1e-300
	} else {
		scale := 1 / sum
		for i := range to.in {
			to.in[i] *= scale
		}
		for _, i := range l.swaps {
			to.due[i] *= scale
		}
		to.off *= scale
	}
	l.rejoin(j+1, to)
	return math.Log(sum)
}

// score is the logarithm of how much likelier the take is with this text than as
// sounds in any order.
func (l *lattice) score() float64 {
	from, to := l.start(l.newColumn()), l.newColumn()
	total := 0.0
	for j := range l.heard {
		total += l.advance(j, &from, &to)
		from, to = to, from
	}
	return total
}

// candidate is a place in the text that a sound may stand for.
type candidate struct {
	at int     // character; -1: none
	p  float64 // how probable that is
}

// unlikely is the probability below which a candidate is not kept.
const unlikely = 1e-3

// posterior gives the candidates of every sound, and counts what happened.
func (l *lattice) posterior() ([][]candidate, tally, beats) {
	n, m := len(l.heard), len(l.kind)
	all := make([][]candidate, n)
	var t tally
	var b beats
	// The columns of one block at a time are held, and the first of every block.
	block := 1 + int(math.Sqrt(float64(n)))
	var firsts []column
	from, to := l.start(l.newColumn()), l.newColumn()
	for j := range n {
		if j%block == 0 {
			c := l.newColumn()
			c.set(from)
			firsts = append(firsts, c)
		}
		l.advance(j, &from, &to)
		from, to = to, from
	}
	columns := make([]column, block)
	for i := range columns {
		columns[i] = l.newColumn()
	}
	// What can still follow each state.
	after, before := l.newColumn(), l.newColumn()
	after.off = 1
	for i := range after.in {
		after.in[i], after.due[i] = 1, 1
	}
	match, again := make([]float64, m), make([]float64, m+1)
	for first := len(firsts) - 1; first >= 0; first-- {
		start := first * block
		end := min(start+block, n)
		columns[0].set(firsts[first])
		for j := start; j+1 < end; j++ {
			l.advance(j, &columns[j-start], &columns[j-start+1])
		}
		for j := end - 1; j >= start; j-- {
			l.retreat(j, &columns[j-start], &after, &before, match, again, &all[j], &t, &b)
			after, before = before, after
		}
	}
	return all, t, b
}

// retreat goes back over sound j: after is what can follow it, before becomes
// what can follow the states before it, both up to a scale. match and again are for
// its own use.
func (l *lattice) retreat(j int, from, after, before *column, match, again []float64, out *[]candidate, t *tally, b *beats) {
	w := l.weigh(j)
	m := len(l.kind)
	clear(match)
	var left [kinds]float64
	x, s := l.interval[j], l.heard[j]
	var byClass [classes]float64
	largest := 0.0
	for i := range before.in {
		a := from.in[i]
		if a < negligible && from.due[i] < negligible {
			before.in[i], before.due[i], again[i] = 0, 0, 0
			continue
		}
		v := w.extra[l.slot[i]] * after.in[i]
		again[i] = a * v
		sum := v
		if i < m {
			k := l.kind[i]
			v = w.match[k] * w.beat[l.after[i]] * after.in[i+1]
			match[i] += a * v
			byClass[l.after[i]] += a * v
			sum += v
			if i+1 < m {
				k1 := l.kind[i+1]
				v = w.left[k] * w.match[k1] * l.skipOne(&w, i) * after.in[i+2]
				match[i+1] += a * v
				left[k] += a * v
				sum += v
				before.due[i] = 0
				if l.exchanges(i) {
					v = exchanged * w.match[k1] * after.due[i]
					match[i+1] += a * v
					sum += v
					v = w.match[k] * after.in[i+2]
					match[i] += from.due[i] * v
					before.due[i] = v
				}
				if i+2 < m {
					v = w.left[k] * w.left[k1] * w.match[l.kind[i+2]] * w.beatOfThree * after.in[i+3]
					match[i+2] += a * v
					left[k] += a * v
					left[k1] += a * v
					sum += v
				}
			}
		}
		if s == returnSound {
			if n := l.runs[i]; n > 0 {
				v = w.match[space] * after.in[i+n]
				match[i+n-1] += a * v
				sum += v
			}
		}
		before.in[i] = sum
		largest = max(largest, sum, before.due[i])
	}
	off := from.off * w.stay * after.off
	// Everything that consumed this sound sums to 1.
	total := off
	for _, p := range match {
		total += p
	}
	for _, p := range again {
		total += p
	}
	if total > 0 && !math.IsInf(total, 0) {
		none := off + again[0]
		for i, p := range match {
			q := again[i+1]
			// Once more the character before, where it is of the stroke's own kind;
			// else it stands for nothing, as a noise does that a line break makes.
			at, here := p, q
			if s == typedSound && l.kind[i] != letter || s == spaceSound && l.kind[i] != space {
				here = 0
			}
			if l.kind[i] == lineBreak && s == typedSound {
				at = 0
			}
			none += p - at + q - here
			if at+here > unlikely*total {
				*out = append(*out, candidate{at: i, p: (at + here) / total})
			}
			t.heard[l.kind[i]][s] += p / total
			// A line break after a space and a space before a line break are cases
			// of their own.
			switch {
			case s == returnSound && l.kind[i] == space, s == spaceSound && i+1 < m && l.kind[i+1] == lineBreak:
			case s == typedSound && l.kind[i] == lineBreak:
				t.lineStart += q / total
			default:
				t.extra[s] += q / total
			}
		}
		*out = append(*out, candidate{at: -1, p: none / total})
		t.chances += 1 - off/total
		if s == returnSound {
			t.lines++
		}
		for k := range kinds {
			t.left[k] += left[k] / total
		}
		if !math.IsNaN(x) {
			for c := sameKey; c < classes; c++ {
				b.add(c, x, byClass[c]/total)
			}
		}
	}
	// What can follow one who is off the text: on with it, or back into it.
	before.off = w.stay * after.off
	newLine := l.newLine(j)
	come := l.back(j)
	for _, i := range l.starts {
		before.off += come * l.target(newLine, i) * before.in[i]
	}
	largest = max(largest, before.off)
	if !(largest > 0) || math.IsInf(largest, 0) {
		before.off = 1
		for i := range before.in {
			before.in[i], before.due[i] = 1, 1
		}
		return
	}
	before.off /= largest
	for i := range before.in {
		before.in[i] /= largest
		before.due[i] /= largest
		if j > 0 {
			before.in[i] += l.leave(j, l.slot[i] == afterLetter) * before.off
		}
	}
}
