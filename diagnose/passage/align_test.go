package passage

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// ferry is a text of the tests' own.
const ferry = `the ferry leaves the inner harbour at six and comes back at ten
bring bread, two apples and the green typewriter for the pilot
nobody on board may use it while the engine is running, he says
a typewriter wants a steady table and a boat is not one of them
so it stays in its case beside the window until we are ashore`

func parsed(t testing.TB, s string) *Text {
	t.Helper()
	text, err := Parse(s)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// typedAs is a text typed evenly, line by line, as perfect ears hear it, and for
// each stroke its character.
func typedAs(text *Text) (strokes []Stroke, at []int) {
	clock := 1.0
	for i, c := range text.Chars {
		if c.Rune == '\n' {
			clock += 2
			continue
		}
		clock += 0.2
		strokes = append(strokes, Stroke{Space: c.Rune == ' ', Time: clock, Line: c.Line})
		at = append(at, i)
	}
	return strokes, at
}

// without leaves out strokes from to to.
func without(strokes []Stroke, from, to int) []Stroke {
	return append(append([]Stroke(nil), strokes[:from]...), strokes[to:]...)
}

func TestAlignOfATextWithItselfIsPerfect(t *testing.T) {
	for _, s := range []string{ferry, strings.ReplaceAll(ferry, "\n", "\n\n"), ferry + "\n" + ferry} {
		text := parsed(t, s)
		strokes, at := typedAs(text)
		a := Align(text, strokes)
		if !a.Fits || a.Why != "" || a.Matched != 1 || a.Quality < 0.99 || len(a.Missing) > 0 || len(a.MissedLines) > 0 {
			t.Fatalf("fits %v %q, quality %g, matched %g, missing %v, lines %v", a.Fits, a.Why, a.Quality, a.Matched, a.Missing, a.MissedLines)
		}
		for i, p := range a.Places {
			if p.Char != at[i] || p.How != Typed || !(p.Probability > 0.5 && p.Probability < 1.0001) {
				t.Fatalf("stroke %d: %+v, want character %d", i, p, at[i])
			}
		}
	}
}

func TestAlignFindsSlips(t *testing.T) {
	text := parsed(t, ferry)
	whole, at := typedAs(text)
	// line gives the first and the last but one stroke of a line.
	line := func(n int) (first, end int) {
		first = -1
		for i, s := range whole {
			if s.Line == n && first < 0 {
				first = i
			}
			if s.Line == n {
				end = i + 1
			}
		}
		return first, end
	}
	// stroke is that of the text's first character of some words.
	stroke := func(words string) int {
		i := strings.Index(ferry, words)
		return i - strings.Count(ferry[:i], "\n")
	}
	t.Run("a line missed", func(t *testing.T) {
		from, to := line(2)
		a := Align(text, without(whole, from, to))
		if !a.Fits || len(a.MissedLines) != 1 || a.MissedLines[0] != 2 {
			t.Fatalf("fits %v, missed lines %v", a.Fits, a.MissedLines)
		}
		for i, p := range a.Places {
			want := i
			if i >= from {
				want = i + to - from
			}
			if p.Char != at[want] {
				t.Fatalf("stroke %d: character %d, want %d", i, p.Char, at[want])
			}
		}
	})
	t.Run("a line twice", func(t *testing.T) {
		from, to := line(1)
		twice := append([]Stroke(nil), whole[:to]...)
		for _, s := range whole[from:] {
			s.Line++
			s.Time += 20
			twice = append(twice, s)
		}
		a := Align(text, twice)
		if !a.Fits || a.Matched != 1 {
			t.Fatalf("fits %v, matched %g", a.Fits, a.Matched)
		}
		for i, p := range a.Places {
			want := i
			if i >= to {
				want = i - (to - from)
			}
			if p.Char != at[want] {
				t.Fatalf("stroke %d: character %d, want %d", i, p.Char, at[want])
			}
		}
	})
	t.Run("a word left out", func(t *testing.T) {
		// "harbour " of the first line.
		from := stroke("harbour")
		a := Align(text, without(whole, from, from+8))
		wrong := 0
		for i, p := range a.Places {
			want := i
			if i >= from {
				want = i + 8
			}
			if p.Char != at[want] {
				wrong++
			}
		}
		if !a.Fits || wrong > 12 {
			t.Errorf("fits %v, %d strokes wrong", a.Fits, wrong)
		}
	})
	t.Run("a letter and a space exchanged", func(t *testing.T) {
		k := stroke("apples") + 5
		swapped := append([]Stroke(nil), whole...)
		swapped[k].Space, swapped[k+1].Space = swapped[k+1].Space, swapped[k].Space
		a := Align(text, swapped)
		if a.Places[k].Char != at[k+1] || a.Places[k+1].Char != at[k] || a.Places[k].How != Exchanged || a.Places[k+1].How != Exchanged {
			t.Errorf("%+v, %+v", a.Places[k], a.Places[k+1])
		}
		if a.Places[k+2].Char != at[k+2] || len(a.Missing) != 0 {
			t.Errorf("after it %+v; missing %v", a.Places[k+2], a.Missing)
		}
	})
	t.Run("a space left out", func(t *testing.T) {
		k := stroke(" green")
		a := Align(text, without(whole, k, k+1))
		if len(a.Missing) != 1 || a.Missing[0] != at[k] {
			t.Errorf("missing %v, want %d", a.Missing, at[k])
		}
	})
	t.Run("noises before a line", func(t *testing.T) {
		from, _ := line(3)
		noisy := append([]Stroke(nil), whole[:from]...)
		for i := range 3 {
			noisy = append(noisy, Stroke{Time: whole[from].Time - 1 + 0.1*float64(i), Line: 3})
		}
		noisy = append(noisy, whole[from:]...)
		a := Align(text, noisy)
		for i := range 3 {
			if p := a.Places[from+i]; p.Char != -1 || p.How != Extra {
				t.Errorf("noise %d stands for %d", i, p.Char)
			}
		}
		if p := a.Places[from+3]; p.Char != at[from] {
			t.Errorf("the line's first letter is character %d, want %d", p.Char, at[from])
		}
	})
	t.Run("lines joined and broken elsewhere", func(t *testing.T) {
		// As one line of the paper: a space where the text has a line break.
		var joined []Stroke
		var want []int
		for i, c := range text.Chars {
			joined = append(joined, Stroke{Space: c.Rune == ' ' || c.Rune == '\n', Time: 1 + 0.2*float64(i)})
			want = append(want, i)
		}
		a := Align(text, joined)
		if !a.Fits {
			t.Fatalf("refused: %s", a.Why)
		}
		for i, p := range a.Places {
			if p.Char != want[i] {
				t.Fatalf("stroke %d: character %d, want %d", i, p.Char, want[i])
			}
		}
	})
	t.Run("a line broken where spaces stand together", func(t *testing.T) {
		wide := parsed(t, ferry+"\nsea     rope     gulls")
		strokes, at := typedAs(wide)
		var broken []Stroke
		var want []int
		line := 0
		for i, s := range strokes {
			if c := at[i]; s.Space && s.Line == 5 && wide.Chars[c].Column > 8 {
				line = 1 // "gulls" on a line of its own
				continue
			}
			s.Line += line
			broken, want = append(broken, s), append(want, at[i])
		}
		a := Align(wide, broken)
		for i, p := range a.Places {
			if p.Char != want[i] {
				t.Fatalf("stroke %d: character %d, want %d", i, p.Char, want[i])
			}
		}
	})
	t.Run("not all of it, begun in the middle", func(t *testing.T) {
		from, _ := line(1)
		_, to := line(3)
		a := Align(text, whole[from:to])
		if !a.Fits {
			t.Fatalf("refused: %s", a.Why)
		}
		for i, p := range a.Places {
			if p.Char != at[from+i] {
				t.Fatalf("stroke %d: character %d, want %d", i, p.Char, at[from+i])
			}
		}
	})
}

func TestAlignRefuses(t *testing.T) {
	text := parsed(t, ferry)
	strokes, _ := typedAs(text)
	other := parsed(t, `eight gulls on the roof of the customs house watch the last
boat turn in, low and late, with a hold full of rope and apricots
the keeper of the shelf counts machines and finds one too many
which is odd, since she counted them herself only yesterday noon
and wrote the number down on a card that now cannot be found`)
	for _, c := range []struct {
		name    string
		text    *Text
		strokes []Stroke
		why     Reason
	}{
		{"another text", other, strokes, Misfit},
		{"no strokes", text, nil, TooShort},
		{"a few words", parsed(t, "the ferry leaves"), strokes[:16], TooShort},
		{"a page of a text of three words", parsed(t, "the ferry leaves"), strokes, TooShort},
	} {
		a := Align(c.text, c.strokes)
		if a.Fits || a.Why != c.why {
			t.Errorf("%s: fits %v, %q, want %q", c.name, a.Fits, a.Why, c.why)
		}
		if len(a.Places) != len(c.strokes) {
			t.Errorf("%s: %d places for %d strokes", c.name, len(a.Places), len(c.strokes))
		}
	}
	// Words in another order are another text; quality says how little fits.
	if a := Align(other, strokes); a.Quality > 0.2 {
		t.Errorf("another text has quality %g", a.Quality)
	}
}

func TestAlignMoreAndMoreSlips(t *testing.T) {
	// Quality falls as more goes wrong.
	text := parsed(t, ferry)
	last := 1.01
	for _, every := range []int{1000, 40, 15, 7} {
		strokes, _ := typedAs(text)
		for i := range strokes {
			if i%every == every-1 {
				strokes[i].Space = !strokes[i].Space
			}
		}
		a := Align(text, strokes)
		if a.Quality >= last {
			t.Errorf("every %dth stroke of the other kind: quality %g, with fewer %g", every, a.Quality, last)
		}
		last = a.Quality
	}
}

// Whatever is laid along whatever: an entry for each stroke, characters that are
// there, probabilities, never a panic; between leaps the places rise, but where a
// letter and a space changed places.
func TestAlignAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringOfN(rapid.RuneFrom([]rune("abcé  \n,;")), 1, 120, -1).Draw(t, "text")
		text, err := Parse(s)
		if err != nil {
			return
		}
		var strokes []Stroke
		clock, line := 0.0, 0
		for range rapid.IntRange(0, 80).Draw(t, "strokes") {
			clock += rapid.SampledFrom([]float64{0, 0.05, 0.2, 0.21, 3, -0.1, math.NaN(), math.Inf(1), 1e-300, 1e300}).Draw(t, "interval")
			if rapid.IntRange(0, 9).Draw(t, "new line") == 0 {
				line += rapid.IntRange(-1, 2).Draw(t, "by")
			}
			strokes = append(strokes, Stroke{Space: rapid.IntRange(0, 4).Draw(t, "space") == 0, Time: clock, Line: line})
		}
		a := Align(text, strokes)
		if len(a.Places) != len(strokes) {
			t.Fatalf("%d places for %d strokes", len(a.Places), len(strokes))
		}
		if a.Fits != (a.Why == "") || !(a.Quality >= 0 && a.Quality <= 1) || !(a.Matched >= 0 && a.Matched <= 1) || math.IsNaN(a.Evidence) {
			t.Fatalf("%+v", a)
		}
		last := -1
		for i, p := range a.Places {
			if p.Char < -1 || p.Char >= len(text.Chars) || !(p.Probability >= 0 && p.Probability <= 1.000001) {
				t.Fatalf("stroke %d: %+v", i, p)
			}
			if (p.Char < 0) != (p.How == Extra) {
				t.Fatalf("stroke %d: %+v", i, p)
			}
			if p.How == Over && p.Char != last {
				t.Fatalf("stroke %d is over %d, before it was %d", i, p.Char, last)
			}
			last = p.Char
		}
		for i, m := range a.Missing {
			if m < 0 || m >= len(text.Chars) || text.Chars[m].Rune == '\n' {
				t.Fatalf("missing %d: %d", i, m)
			}
		}
	})
}

// The same take and text give the same alignment, and time may start anywhere.
func TestAlignIsTheSameEveryTime(t *testing.T) {
	text := parsed(t, ferry)
	strokes, _ := typedAs(text)
	strokes = without(strokes, 30, 31)
	first := Align(text, strokes)
	for i := range strokes {
		strokes[i].Time += 1000
		strokes[i].Line += 5
	}
	again := Align(text, strokes)
	for i := range first.Places {
		if first.Places[i].Char != again.Places[i].Char {
			t.Fatalf("stroke %d: %d, then %d", i, first.Places[i].Char, again.Places[i].Char)
		}
	}
}

// A long take is judged by a part of it, and laid along block by block: nothing
// is lost at the seams.
func TestAlignLongTake(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds")
	}
	var pages []string
	for i := range 5 {
		s, err := NewSheet(NarrowestWidth+3*i, 10)
		if err != nil {
			t.Fatal(err)
		}
		pages = append(pages, s.Text())
	}
	text := parsed(t, strings.Join(pages, ""))
	strokes, at := typedAs(text)
	if len(strokes) < 2*cropSounds {
		t.Fatalf("%d strokes are no long take", len(strokes))
	}
	a := Align(text, strokes)
	if !a.Fits {
		t.Fatalf("refused: %s, evidence %g", a.Why, a.Evidence)
	}
	for i, p := range a.Places {
		if p.Char != at[i] {
			t.Fatalf("stroke %d: character %d, want %d", i, p.Char, at[i])
		}
	}
}
