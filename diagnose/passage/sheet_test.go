package passage

import (
	"strings"
	"testing"
)

// eachSheet runs a test for every width that can be had.
func eachSheet(t *testing.T, test func(t *testing.T, s *Sheet)) {
	t.Helper()
	for width := NarrowestWidth; width <= WidestWidth; width++ {
		s, err := NewSheet(width, 10)
		if err != nil {
			t.Fatal(err)
		}
		if !t.Run(strings.Repeat("x", width/10)+string(rune('0'+width%10)), func(t *testing.T) { test(t, s) }) {
			for _, l := range s.Lines() {
				t.Logf("%3d %s", len(l), l)
			}
			return
		}
	}
}

func TestLinesAreFull(t *testing.T) {
	eachSheet(t, func(t *testing.T, s *Sheet) {
		for _, p := range s.Parts {
			for i, l := range p.Lines {
				short := s.Width - len(l)
				// Running text is broken before the word that does not fit.
				if broken := i+1 < len(p.Lines) && p.Name == "ordinary text"; short < 0 || short > 0 && !broken || short > 11 {
					t.Errorf("%s: %d letters: %q", p.Name, len(l), l)
				}
				if l != strings.TrimSpace(l) {
					t.Errorf("%s: spaces at an end: %q", p.Name, l)
				}
				if c := strings.IndexFunc(l, func(r rune) bool { return !strings.ContainsRune("abcdefghijklmnopqrstuvwxyz ,;", r) }); c >= 0 {
					t.Errorf("%s: %q is not on every keyboard, or needs the shift", p.Name, l[c:c+1])
				}
			}
		}
	})
}

// part finds one of the sheet's parts.
func part(t *testing.T, s *Sheet, name string) Part {
	t.Helper()
	for _, p := range s.Parts {
		if p.Name == name {
			return p
		}
	}
	t.Fatalf("no part %q", name)
	return Part{}
}

// classesOf counts how the pairs of letters within a part's words are struck.
func classesOf(p Part) (count [classes]int, pairs int) {
	for _, l := range p.Lines {
		for i := 1; i < len(l); i++ {
			if l[i] != ' ' && l[i-1] != ' ' {
				count[classOf(rune(l[i-1]), rune(l[i]))]++
				pairs++
			}
		}
	}
	return count, pairs
}

func TestPartsHoldWhatTheySay(t *testing.T) {
	eachSheet(t, func(t *testing.T, s *Sheet) {
		if n, all := classesOf(part(t, s, "the hands in turn")); n[twoHands] != all {
			t.Errorf("%d of %d pairs are of two hands", n[twoHands], all)
		}
		if n, all := classesOf(part(t, s, "one finger, two keys")); n[oneFinger] < 12 || n[oneFinger]*5 < all*2 {
			t.Errorf("%d of %d pairs are of one finger", n[oneFinger], all)
		}
		if n, _ := classesOf(part(t, s, "one key twice")); n[sameKey] < 8 {
			t.Errorf("%d doubles", n[sameKey])
		}
		// The segment's ends: the keys of the two outer fingers of each hand.
		far := 0
		for _, l := range part(t, s, "bars from both ends").Lines {
			for i := 1; i < len(l); i++ {
				f, g := finger(rune(l[i-1])), finger(rune(l[i]))
				if f >= 0 && g >= 0 && min(f, g) <= 1 && max(f, g) >= 6 {
					far++
				}
			}
		}
		if far < 12 {
			t.Errorf("%d pairs from the ends of the segment", far)
		}
		if n := strings.Count(part(t, s, "the space bar").Lines[0], strings.Repeat(" ", spaceRun)); n < 4 {
			t.Errorf("%d runs of spaces", n)
		}
		if strings.Contains(part(t, s, "the space bar").Lines[0], strings.Repeat(" ", spaceRun+1)) {
			t.Error("a run that is longer than the others")
		}
		for _, want := range []struct {
			name     string
			low, top float64
		}{{"slow", 0.1, 0.9}, {"brisk", 1.1, 3}, {"staccato", 1, 1}} {
			if p := part(t, s, want.name); p.Pace < want.low || p.Pace > want.top || p.How == "" || len(p.Lines) == 0 {
				t.Errorf("%s: pace %g", want.name, p.Pace)
			}
		}
	})
}

func TestEveryLetterInSeveralPlaces(t *testing.T) {
	eachSheet(t, func(t *testing.T, s *Sheet) {
		for c := 'a'; c <= 'z'; c++ {
			n, columns, third := 0, map[int]bool{}, [3]bool{}
			for _, l := range s.Lines() {
				for i, r := range l {
					if r == c {
						n++
						columns[i] = true
						third[3*i/s.Width] = true
					}
				}
			}
			if n < 4 || len(columns) < 4 || third != [3]bool{true, true, true} {
				t.Errorf("%c: %d times at %d columns, in thirds of the line %v", c, n, len(columns), third)
			}
		}
	})
}

func TestSheetIsOurOwnWords(t *testing.T) {
	s, err := NewSheet(UsualWidth, 10)
	if err != nil {
		t.Fatal(err)
	}
	for _, stock := range []string{"quick brown", "lazy dog", "lorem ipsum", "good men", "liquor jugs", "sphinx"} {
		if strings.Contains(s.Text(), stock) {
			t.Errorf("a stock phrase: %q", stock)
		}
	}
}

func TestSheetRefuses(t *testing.T) {
	for _, c := range []struct{ width, pitch int }{{NarrowestWidth - 1, 10}, {WidestWidth + 1, 10}, {0, 12}, {60, 11}, {60, 0}} {
		if s, err := NewSheet(c.width, c.pitch); err == nil || s != nil {
			t.Errorf("width %d, pitch %d: no error", c.width, c.pitch)
		}
	}
}
