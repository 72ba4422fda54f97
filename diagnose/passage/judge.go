package passage

import "math/rand/v2"

// judge says how well the text fits: its score against those of texts that are
// not this one, and that of the text typed without a slip. Rhythm is left out:
// it speaks of pairs of letters, which texts have in common.
func (l *lattice) judge(a *Alignment, runes []rune, at []int) {
	j := *l
	j.rhythm = rhythm{}
	if len(at) > cropSounds {
		at = at[:cropSounds]
		j.heard, j.interval = j.heard[:cropSounds], j.interval[:cropSounds]
		runes = around(a, runes, at)
	}
	j.setText(runes)
	if j.words < fewestWords {
		a.Why = TooShort
		return
	}
	this := j.score()
	most := j.perfect(a, at)
	r := rand.New(rand.NewPCG(uint64(len(runes)), 0x5f1e))
	best, mean := 0.0, 0.0
	for range others {
		j.setText(shuffled(runes, r))
		s := j.score()
		best = max(best, s)
		mean += s / others
	}
	a.Evidence = this - best
	if most > mean {
		a.Quality = min(max((this-mean)/(most-mean), 0), 1)
	}
	switch {
	case a.Evidence >= enough && a.Quality >= leastQuality && a.Matched >= leastMatched:
		a.Fits, a.Why = true, ""
	case a.Matched >= leastMatched && most-best < enough:
		a.Why = TooShort // even without a slip it could not be told
	}
}

// around is the part of the text that sounds stand for, with some of it on
// either side.
func around(a *Alignment, runes []rune, at []int) []rune {
	first, last := len(runes), -1
	for _, s := range at {
		if s >= 0 && a.Places[s].Char >= 0 {
			first, last = min(first, a.Places[s].Char), max(last, a.Places[s].Char)
		}
	}
	if last < 0 {
		first, last = 0, len(at)
	}
	return runes[max(0, first-cropChars):min(len(runes), last+cropChars)]
}

// perfect is the score of the take as it would be without a slip of hand or ear:
// what was left out is there, what was too many is not, and every space is heard
// as one.
func (l *lattice) perfect(a *Alignment, at []int) float64 {
	p := *l
	p.heard = nil
	// Places count in the whole text; kinds there are the same as here, shifted.
	add := func(k kind) {
		switch k {
		case letter:
			p.heard = append(p.heard, typedSound)
		case space:
			p.heard = append(p.heard, spaceSound)
		}
	}
	last := -1
	for _, s := range at {
		if s < 0 {
			p.heard = append(p.heard, returnSound)
			continue
		}
		place := a.Places[s]
		if place.Char < 0 || place.How == Over {
			continue
		}
		if gap := place.Char - last; last >= 0 && gap > 1 && gap <= closeBy+1 {
			for i := last + 1; i < place.Char; i++ {
				add(a.kinds[i])
			}
		}
		if k := a.kinds[place.Char]; k == lineBreak {
			add(space) // two lines typed as one
		} else {
			add(k)
		}
		last = place.Char
	}
	p.interval = make([]float64, len(p.heard))
	return p.score()
}

// shuffled is the text with its words in another order; lines keep their number
// of words, spaces stay.
func shuffled(runes []rune, r *rand.Rand) []rune {
	var words [][]rune
	for i := 0; i < len(runes); {
		n := i
		for n < len(runes) && runes[n] != ' ' && runes[n] != '\n' {
			n++
		}
		if n > i {
			words = append(words, runes[i:n])
			i = n
		} else {
			i++
		}
	}
	r.Shuffle(len(words), func(a, b int) { words[a], words[b] = words[b], words[a] })
	out := make([]rune, 0, len(runes))
	next := 0
	for i := 0; i < len(runes); i++ {
		if c := runes[i]; c == ' ' || c == '\n' {
			out = append(out, c)
			continue
		}
		out = append(out, words[next]...)
		next++
		for i+1 < len(runes) && runes[i+1] != ' ' && runes[i+1] != '\n' {
			i++
		}
	}
	return out
}
