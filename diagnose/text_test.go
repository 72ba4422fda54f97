package diagnose_test

import (
	"strings"
	"testing"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
)

// typed simulates a text typed by a staccato hand on a machine that trips late.
func typed(t *testing.T, text string) *mechanism.Performance {
	t.Helper()
	m := mechanism.Sound().LateTrip(0.002)
	m.DogTime = 0.0038
	p, err := mechanism.Simulate(m, mechanism.Staccato(0.12), text, 5)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func hasProblem(take *diagnose.Take, code string) bool {
	for _, p := range take.Recording.Problems {
		if p.Code == code {
			return true
		}
	}
	return false
}

func TestMeasureNamesEveryLetter(t *testing.T) {
	p := typed(t, mechanism.Shelf)
	take := diagnose.Measure("take", heard(p), nil, diagnose.Options{Text: mechanism.Shelf, Pitch: diagnose.Elite})
	if take.Passage == nil || !take.Passage.Fits || take.Passage.Quality < 0.99 || take.Passage.Matched != 1 {
		t.Fatalf("%+v", take.Passage)
	}
	lines := strings.Split(mechanism.Shelf, "\n")
	for i, k := range p.Strokes {
		s := take.Strokes[i]
		if s.Char == nil || *s.Char != string(k.Char) || s.Text == nil {
			t.Fatalf("stroke %d is no %q", i, k.Char)
		}
		at := s.Text
		if at.Line != k.Line || at.Column != k.Col || at.Char != string(k.Char) || at.How != "typed" {
			t.Fatalf("stroke %d: %+v, want line %d, column %d", i, at, k.Line, k.Col)
		}
		if at.Letter >= 0 && []rune(at.Word)[at.Letter] != k.Char || !strings.Contains(lines[k.Line], at.Word) {
			t.Fatalf("stroke %d %q is letter %d of %q", i, k.Char, at.Letter, at.Word)
		}
	}
	// Every flagged pair is there, the worst first, where the paper has it.
	flagged := diagnose.Flagged(take)
	if len(flagged) < 5 || len(take.Passage.Pairs) != len(flagged) {
		t.Fatalf("%d pairs of %d flagged", len(take.Passage.Pairs), len(flagged))
	}
	for i, q := range take.Passage.Pairs {
		k := p.Strokes[q.Second]
		if q.First != flagged[i].First || q.Line != k.Line+1 || q.Column != k.Position+1 {
			t.Errorf("pair %d: line %d, column %d, want %d, %d", i, q.Line, q.Column, k.Line+1, k.Position+1)
		}
		mark := strings.Trim(q.Word[strings.Index(q.Word, "["):strings.Index(q.Word, "]")], "[")
		if want := string([]rune{p.Strokes[q.First].Char, k.Char}); mark != want {
			t.Errorf("pair %d: %q marks %q, want %q", i, q.Word, mark, want)
		}
		if short, mm := float64(q.ShortBy), float64(q.ShortMM); q.ShortBy.Known() && (mm < short*25.4/12-1e-9 || mm > short*25.4/12+1e-9) {
			t.Errorf("pair %d: %g of a space is %g mm at 12 to the inch", i, short, mm)
		}
	}
}

func TestMeasureRefusesATextThatWasNotTyped(t *testing.T) {
	p := typed(t, mechanism.Shelf)
	for _, c := range []struct{ name, text, code string }{
		{"another", mechanism.Quay, "text-misfit"},
		{"a few words", "the lending shelf", "text-too-short"},
		{"no text", "\x00\x01", "text-unreadable"},
	} {
		take := diagnose.Measure("take", heard(p), nil, diagnose.Options{Text: c.text})
		if take.Passage == nil || take.Passage.Fits || !hasProblem(take, c.code) {
			t.Errorf("%s: %+v, problems %v", c.name, take.Passage, take.Recording.Problems)
		}
		for i, s := range take.Strokes {
			if s.Char != nil || s.Text != nil {
				t.Fatalf("%s: stroke %d has a letter", c.name, i)
			}
		}
	}
	// Without a text, and of a take that cannot be measured, there is nothing.
	if take := diagnose.Measure("take", heard(p), nil, diagnose.Options{}); take.Passage != nil || take.PageCount != nil {
		t.Error("a passage without a text")
	}
	count := 3
	take := diagnose.Measure("take", nil, nil, diagnose.Options{Text: mechanism.Shelf, PageCount: &count})
	if take.Passage != nil || take.PageCount == nil || take.PageCount.Agree != nil || take.PageCount.Low != nil || take.PageCount.Counted != 3 {
		t.Errorf("of no take: %+v, %+v", take.Passage, take.PageCount)
	}
}

func TestMeasureSaysWhatWentWrongInTyping(t *testing.T) {
	lines := strings.Split(mechanism.Shelf, "\n")
	// The fourth line left out, a space forgotten in the second, a letter twice in
	// the first.
	copied := append([]string(nil), lines...)
	copied[0] = strings.Replace(copied[0], "window", "winddow", 1)
	copied[1] = strings.Replace(copied[1], "number and", "numberand", 1)
	copied = append(copied[:3], copied[4:]...)
	p := typed(t, strings.Join(copied, "\n"))
	take := diagnose.Measure("take", heard(p), nil, diagnose.Options{Text: mechanism.Shelf})
	g := take.Passage
	if !g.Fits || g.Extra != 0 || g.TypedOver != 1 || len(g.MissedLines) != 1 || g.MissedLines[0] != 3 {
		t.Fatalf("%+v", g)
	}
	if len(g.Missing) != 1 || g.Missing[0].Char != " " || g.Missing[0].Word != "number" || g.Missing[0].Letter != -1 || g.Missing[0].Line != 1 {
		t.Errorf("missing %+v", g.Missing)
	}
	// The page's fourth line is the text's fifth.
	for i, s := range take.Strokes {
		if s.Line == 3 && s.Text.Line != 4 {
			t.Fatalf("stroke %d stands in line %d of the text", i, s.Text.Line)
		}
	}
}
