package diagnose

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

func TestMarked(t *testing.T) {
	at := func(char, word string, letter, line, column int) *StrokePlace {
		return &StrokePlace{TextPlace: TextPlace{Char: char, Word: word, Letter: letter, Line: line, Column: column}}
	}
	for _, c := range []struct {
		name string
		a, b *StrokePlace
		want string
	}{
		{"two letters", at("o", "house", 1, 0, 1), at("u", "house", 2, 0, 2), "h[ou]se"},
		{"the first", at("h", "house", 0, 0, 0), at("o", "house", 1, 0, 1), "[ho]use"},
		{"the last", at("s", "house", 3, 0, 3), at("e", "house", 4, 0, 4), "hou[se]"},
		{"letter over itself", at("o", "house", 1, 0, 1), at("o", "house", 1, 0, 1), "h[o]use"},
		{"one left out between", at("o", "house", 1, 0, 1), at("s", "house", 3, 0, 3), "h[ous]e"},
		{"space and letter", at(" ", "the", -1, 0, 3), at("h", "house", 0, 0, 4), "[ h]ouse"},
		{"letter and space", at("e", "house", 4, 0, 4), at(" ", "house", -1, 0, 5), "hous[e ]"},
		{"two spaces", at(" ", "the", -1, 0, 3), at(" ", "", -1, 0, 4), ""},
		{"the space between was not struck", at("e", "the", 2, 0, 2), at("h", "house", 0, 0, 4), "[h]ouse"},
		{"only the second is known", nil, at("u", "house", 2, 0, 2), "ho[u]se"},
		{"only the first is known", at("o", "house", 1, 0, 1), nil, "h[o]use"},
		{"exchanged", at(" ", "the", -1, 0, 3), at("e", "the", 2, 0, 2), "th[ e]"},
		{"none is known", nil, nil, ""},
		{"accents", at("\u00e9", "caf\u00e9s", 3, 0, 3), at("s", "caf\u00e9s", 4, 0, 4), "caf[\u00e9s]"},
		{"a letter that the word does not have", at("x", "ab", 7, 0, 0), at("y", "ab", 8, 0, 1), "ab"},
	} {
		if got := marked(c.a, c.b); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// At one in ten letters not heard and none too many the chance is the binomial's:
// P(X <= 7) of Binomial(10, 0.9) is 0.0701908264 (tables of the binomial
// distribution print 0.0702). With no letters on the paper it is the Poisson's:
// P(X <= 1) at a mean of 1 is 2/e = 0.7357588823.
func TestAtMost(t *testing.T) {
	for _, c := range []struct {
		k, n          int
		recall, extra float64
		want          float64
	}{
		{7, 10, 0.9, 0, 0.0701908264},
		{10, 10, 0.9, 0, 1},
		{-1, 10, 0.9, 1, 0},
		{1, 0, 0.9, 1, 2 / math.E},
		{0, 3, 0.5, 1, 0.125 / math.E},
	} {
		if got := atMost(c.k, c.n, c.recall, c.extra); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("P(at most %d of %d) = %.10f, want %.10f", c.k, c.n, got, c.want)
		}
	}
	// Against the sum over both counts one by one.
	b, p := distuv.Binomial{N: 12, P: 0.8}, distuv.Poisson{Lambda: 2.5}
	for k := range 20 {
		want := 0.0
		for i := range 13 {
			for j := range 40 {
				if i+j <= k {
					want += b.Prob(float64(i)) * p.Prob(float64(j))
				}
			}
		}
		if got := atMost(k, 12, 0.8, 2.5); math.Abs(got-want) > 1e-9 {
			t.Errorf("P(at most %d) = %g, want %g", k, got, want)
		}
	}
}

func TestPageCount(t *testing.T) {
	// 100 pairs, so many of them letters that crowd by half a space.
	take := func(bad int) *Take {
		crowded, clear := SpacingCrowded, SpacingClear
		t := &Take{Recording: Recording{Usable: true}}
		for i := range 101 {
			s := Stroke{Index: i, Kind: KindType, Spacing: &clear, ShortBy: 0}
			if i > 0 && i <= bad {
				s.Spacing, s.ShortBy = &crowded, 0.5
			}
			t.Strokes = append(t.Strokes, s)
		}
		return t
	}
	for _, bad := range []int{0, 1, 7, 40} {
		counted := bad
		c := pageCount(take(bad), &counted)
		if c.Heard != bad || c.Agree == nil || !*c.Agree || *c.Low > bad || *c.High < bad {
			t.Fatalf("%d on the paper: %+v", bad, c)
		}
		// The limits are the last counts that agree, by the rule itself.
		extra := pageFalse
		agree := func(n int) bool {
			return tooMany(n, bad, extra) >= tail && tooFew(n, bad, extra) >= tail
		}
		for n := range 120 {
			if agree(n) != (n >= *c.Low && n <= *c.High) {
				t.Errorf("%d heard, %d counted: the rule says %v, the limits %d and %d", bad, n, agree(n), *c.Low, *c.High)
			}
		}
		for _, wrong := range []int{*c.Low - 1, *c.High + 1} {
			if wrong < 0 {
				continue
			}
			if far := pageCount(take(bad), &wrong); *far.Agree {
				t.Errorf("%d heard and %d counted agree", bad, wrong)
			}
		}
	}
	// What nobody sees on the paper is not counted: a space, a hair's breadth.
	some := take(3)
	some.Strokes[1].Kind = KindSpace
	some.Strokes[2].ShortBy = 0.1
	counted := 1
	if c := pageCount(some, &counted); c.Heard != 1 {
		t.Errorf("%d would be seen, want 1", c.Heard)
	}
	if pageCount(some, nil) != nil {
		t.Error("a count that nobody made")
	}
}
