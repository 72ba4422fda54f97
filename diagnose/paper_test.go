package diagnose

import (
	"math"
	"testing"
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

// Where the chance of a hit may be anything alike (Beta(1, 1)), every number of
// hits is as likely as any other: 1/(n+1). A negative binomial of shape 1 is the
// geometric distribution: of mean m, P(j) = (1/(1+m)) (m/(1+m))^j. Both follow from
// the definitions.
func TestCountsOfUncertainRates(t *testing.T) {
	for i := range 8 {
		if got := betaBinomial(i, 7, 1, 1); math.Abs(got-1.0/8) > 1e-12 {
			t.Errorf("beta-binomial: P(%d of 7) = %g, want 1/8", i, got)
		}
		if got, want := negativeBinomial(i, 1, 3), 0.25*math.Pow(0.75, float64(i)); math.Abs(got-want) > 1e-12 {
			t.Errorf("negative binomial: P(%d) = %g, want %g", i, got, want)
		}
	}
	// A rate that hardly varies is the plain binomial, the plain Poisson:
	// P(7 of 10) at 0.9 is 0.0573956280, P(2) at a mean of 1 is 1/(2e).
	if got := betaBinomial(7, 10, 9e6, 1e6); math.Abs(got-0.0573956280) > 1e-5 {
		t.Errorf("a certain rate: P(7 of 10) = %g", got)
	}
	if got := negativeBinomial(2, 1e7, 1); math.Abs(got-1/(2*math.E)) > 1e-5 {
		t.Errorf("a certain mean: P(2) = %g", got)
	}
	if negativeBinomial(0, 2, 0) != 1 || negativeBinomial(3, 2, 0) != 0 {
		t.Error("a mean of none")
	}
	// They are distributions.
	var b, g float64
	for i := range 41 {
		b += betaBinomial(i, 40, 3.3, 0.7)
	}
	for j := range 4000 {
		g += negativeBinomial(j, 0.4, 5)
	}
	if math.Abs(b-1) > 1e-9 || math.Abs(g-1) > 1e-9 {
		t.Errorf("they sum to %g and %g", b, g)
	}
}

func TestAtMost(t *testing.T) {
	for k := range 12 {
		for _, n := range []int{0, 1, 5, 9} {
			want := 0.0
			for i := range n + 1 {
				for j := 0; i+j <= k; j++ {
					want += betaBinomial(i, n, recallHits, recallMisses) * negativeBinomial(j, falseShape, 2.5)
				}
			}
			if got := atMost(k, n, 2.5); math.Abs(got-want) > 1e-9 {
				t.Errorf("P(at most %d of %d and others) = %g, want %g", k, n, got, want)
			}
			// More on the paper, more heard.
			if n > 0 && atMost(k, n, 2.5) > atMost(k, n-1, 2.5)+1e-12 {
				t.Errorf("%d of %d: fewer heard than of %d", k, n, n-1)
			}
		}
	}
	if atMost(-1, 3, 1) != 0 {
		t.Error("fewer than none")
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
		extra := falseRate * 100
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
