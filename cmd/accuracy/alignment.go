package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/diagnose/mechanism/ears"
	"loosedog/diagnose/passage"
)

// alignmentName is what -only asks for to get these tables alone.
const alignmentName = "alignment"

// aligned is one row of the table: a text typed with slips and heard with errors.
type aligned struct {
	name  string
	slips mechanism.Slips
	ears  ears.Strokes
	// other gives a text that was not typed: it must be refused.
	other bool
}

// alignments lists the rows.
func alignments() []aligned {
	slips := func(rate float64, change func(*mechanism.Slips)) mechanism.Slips {
		s := mechanism.Slips{Rate: rate, Missed: -1, Twice: -1}
		if change != nil {
			change(&s)
		}
		return s
	}
	usual := ears.Strokes{Missed: 0.005, False: 0.005, SpaceAsType: 0.03, TypeAsSpace: 0.005, LostBreaks: 0.02}
	return []aligned{
		{name: "no slips", slips: slips(0, nil)},
		{name: "2 % slips", slips: slips(0.02, nil)},
		{name: "2 % slips, a line missed", slips: slips(0.02, func(s *mechanism.Slips) { s.Missed = 2 })},
		{name: "2 % slips, a line typed twice", slips: slips(0.02, func(s *mechanism.Slips) { s.Twice = 1 })},
		{name: "2 % slips, lines broken elsewhere", slips: slips(0.02, func(s *mechanism.Slips) { s.Width = 41 })},
		{name: "5 % slips", slips: slips(0.05, nil)},
		{name: "2 % slips, 1 % of strokes and 3 % of spaces misheard", slips: slips(0.02, nil), ears: usual},
		{name: "2 % slips, a third of the spaces taken for letters", slips: slips(0.02, nil), ears: ears.Strokes{SpaceAsType: 0.33}},
		{name: "another text", slips: slips(0.02, nil), other: true},
		{name: "another text, misheard", slips: slips(0.02, nil), ears: usual, other: true},
	}
}

// alignmentTexts are typed in turn.
func alignmentTexts() []string {
	texts := []string{mechanism.Shelf, mechanism.Quay}
	for _, width := range []int{48, 60, 72} {
		if s, err := passage.NewSheet(width, 10); err == nil {
			texts = append(texts, strings.TrimSuffix(s.Text(), "\n"))
		}
	}
	return texts
}

// alignmentHands type in turn.
func alignmentHands() []mechanism.Hand {
	return []mechanism.Hand{mechanism.Calm(), mechanism.Brisk(), mechanism.Staccato(0.2), mechanism.Hurried(), mechanism.Slow()}
}

// alignmentScore counts strokes over takes.
type alignmentScore struct {
	takes, fits             int
	strokes, right, unnamed int
	quality, evidence       float64 // the least; of texts not typed the greatest
}

// add counts a take; other tells that its text was not the typed one.
func (s *alignmentScore) add(o alignmentScore, other bool) {
	worse := func(a, b float64) float64 {
		switch {
		case math.IsNaN(a):
			return b
		case math.IsNaN(b):
			return a
		case other:
			return max(a, b)
		}
		return min(a, b)
	}
	if s.takes == 0 {
		s.quality, s.evidence = math.NaN(), math.NaN()
	}
	s.quality, s.evidence = worse(s.quality, o.quality), worse(s.evidence, o.evidence)
	s.takes, s.fits = s.takes+o.takes, s.fits+o.fits
	s.strokes, s.right, s.unnamed = s.strokes+o.strokes, s.right+o.right, s.unnamed+o.unnamed
}

// stroke counts one stroke: right when its character is the one that was printed,
// or the one that it stands for (of a letter struck wrong no sound tells which).
func (s *alignmentScore) stroke(char string, printed, meant rune) {
	s.strokes++
	switch char {
	case "":
		s.unnamed++
	case string(printed), string(meant):
		s.right++
	}
}

// simulateSlips types a text, with another text's place in the turn for texts
// that were not typed.
func (a aligned) simulate(seed uint64) (p *mechanism.Performance, meant []rune, given string, err error) {
	texts, hands := alignmentTexts(), alignmentHands()
	text := texts[seed%uint64(len(texts))]
	given = text
	if a.other {
		// The first two and the sheet in any width are different texts.
		given = texts[(min(seed%uint64(len(texts)), 2)+1+seed/uint64(len(texts))%2)%3]
	}
	typed, places := a.slips.Make(text, seed)
	runes := []rune(text)
	for _, i := range places {
		meant = append(meant, runes[i])
	}
	hand := mechanism.DrawHand(hands[seed/uint64(len(texts))%uint64(len(hands))], seed)
	p, err = mechanism.Simulate(mechanism.DrawMachine(seed), hand, typed, seed)
	return p, meant, given, err
}

// score lays one take along its text.
func (a aligned) score(seed uint64) (alignmentScore, error) {
	p, meant, given, err := a.simulate(seed)
	if err != nil {
		return alignmentScore{}, err
	}
	text, err := passage.Parse(given)
	if err != nil {
		return alignmentScore{}, err
	}
	heard := a.ears.Hear(p, seed)
	strokes := make([]passage.Stroke, len(heard))
	for i, h := range heard {
		strokes[i] = passage.Stroke{Space: h.Space, Time: h.Time, Line: h.Line}
	}
	al := passage.Align(text, strokes)
	s := alignmentScore{takes: 1, quality: al.Quality, evidence: al.Evidence}
	if al.Fits {
		s.fits = 1
	}
	for i, h := range heard {
		if h.True < 0 {
			continue
		}
		char := ""
		if at := al.Places[i].Char; al.Fits && at >= 0 {
			char = string(text.Chars[at].Rune)
		}
		s.stroke(char, p.Strokes[h.True].Char, meant[h.True])
	}
	return s, nil
}

// heardAlignment is one take rendered, heard and laid along its text.
func heardAlignment(ctx context.Context, c mechanism.Condition, seed uint64, folder string) (alignmentScore, error) {
	scene := c.Make(seed)
	text := scene.Text
	if seed%2 == 0 {
		texts := alignmentTexts()
		text = texts[2+seed/2%uint64(len(texts)-2)]
	}
	typed, places := mechanism.Slips{Rate: 0.02, Missed: -1, Twice: -1}.Make(text, seed)
	scene.Text = typed
	path := filepath.Join(folder, fmt.Sprintf("%s-%d.wav", strings.ReplaceAll(c.Name, " ", "-"), seed))
	p, err := recordTo(path, scene)
	if err != nil {
		return alignmentScore{}, err
	}
	defer os.Remove(path)
	opt := told(p.Truth())
	opt.Text = text
	_, take, err := listen(ctx, path, opt)
	if err != nil {
		return alignmentScore{}, err
	}
	if !take.Recording.Usable {
		return alignmentScore{quality: math.NaN(), evidence: math.NaN()}, nil // not laid along anything
	}
	s := alignmentScore{takes: 1, quality: math.NaN(), evidence: math.NaN()}
	if g := take.Passage; g != nil && g.Fits {
		s.fits, s.quality = 1, float64(g.Quality)
	}
	runes := []rune(text)
	var truth, found []float64
	var which []diagnose.Stroke
	for _, k := range p.Strokes {
		truth = append(truth, k.Strike)
	}
	for _, k := range take.Strokes {
		if k.StrikeS.Known() {
			found, which = append(found, float64(k.StrikeS)), append(which, k)
		}
	}
	for _, m := range match(truth, found, 0.005) {
		char := ""
		if c := which[m.est].Char; c != nil {
			char = *c
		}
		s.stroke(char, p.Strokes[m.ref].Char, runes[places[m.ref]])
	}
	return s, nil
}

// alignmentSeeds is how many takes of each row are judged without sound.
const alignmentSeeds = 30

// writeAlignment prints how many strokes get the right character, without sound
// over many takes and through sound over n of each condition.
func writeAlignment(ctx context.Context, out io.Writer, first uint64, n int) error {
	t := table{left: 1}
	t.row("text and take", "takes", "fits", "strokes", "right %", "unnamed %", "quality", "evidence")
	for i, a := range alignments() {
		total, err := addUp(ctx, alignmentSeeds, a.other, func(_ context.Context, k int) (alignmentScore, error) {
			return a.score(first + uint64(i)*seedStep + uint64(k))
		})
		if err != nil {
			return fmt.Errorf("%s: %w", a.name, err)
		}
		total.row(&t, a.name)
	}
	if err := t.write(out); err != nil {
		return err
	}
	fmt.Fprintln(out)
	folder, err := os.MkdirTemp("", "alignment-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	h := table{left: 1}
	h.row("through sound, 2 % slips", "measured", "fits", "strokes", "right %", "unnamed %", "quality", "evidence")
	for i, c := range mechanism.Conditions() {
		if !c.Clean {
			continue
		}
		total, err := addUp(ctx, n, false, func(ctx context.Context, k int) (alignmentScore, error) {
			return heardAlignment(ctx, c, first+uint64(i)*seedStep+uint64(k), folder)
		})
		if err != nil {
			return fmt.Errorf("%s: %w", c.Name, err)
		}
		total.row(&h, c.Name)
	}
	return h.write(out)
}

func (s alignmentScore) row(t *table, name string) {
	share := func(n int) string {
		if s.strokes == 0 {
			return "-"
		}
		return num(float64(n)/float64(s.strokes), 100, 2)
	}
	t.row(name, fmt.Sprint(s.takes), fmt.Sprint(s.fits), fmt.Sprint(s.strokes), share(s.right), share(s.unnamed), num(s.quality, 1, 2), num(s.evidence, 1, 0))
}

// addUp adds the scores of n takes.
func addUp(ctx context.Context, n int, other bool, one func(ctx context.Context, k int) (alignmentScore, error)) (total alignmentScore, err error) {
	scores, err := each(ctx, n, one)
	if err != nil {
		return total, err
	}
	for _, s := range scores {
		total.add(s, other)
	}
	return total, nil
}
