package report

import (
	"bytes"
	"encoding/json"
	"io"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"loosedog/diagnose"
)

// withText gives a take a text that fits, whatever its words are.
func withText(t *rapid.T, take *diagnose.Take) {
	number := func(name string) diagnose.Number {
		if rapid.Bool().Draw(t, name+" known") {
			return diagnose.Number(rapid.Float64Range(0, 1).Draw(t, name))
		}
		return diagnose.Unknown()
	}
	words := rapid.StringOfN(rapid.RuneFrom([]rune("abc[]=\t\u202e\u00e9\u4e00 ")), 0, 60, -1)
	take.Passage = &diagnose.Passage{Fits: rapid.Bool().Draw(t, "fits"), Quality: number("quality"), Matched: number("matched"), Extra: rapid.IntRange(0, 3).Draw(t, "extra")}
	for i := range rapid.IntRange(0, 9).Draw(t, "missed lines") {
		take.Passage.MissedLines = append(take.Passage.MissedLines, i)
	}
	for i := range take.Strokes {
		if !rapid.Bool().Draw(t, "placed") {
			continue
		}
		char := "e"
		take.Strokes[i].Char = &char
		take.Strokes[i].Text = &diagnose.StrokePlace{
			TextPlace: diagnose.TextPlace{Char: char, Word: words.Draw(t, "word"), Letter: rapid.IntRange(-1, 9).Draw(t, "letter")}, How: "typed"}
	}
	for _, p := range diagnose.Flagged(take) {
		take.Passage.Pairs = append(take.Passage.Pairs, diagnose.PaperPair{First: p.First, Second: p.Second,
			Line: 1, Column: rapid.IntRange(1, 99).Draw(t, "column"), Word: words.Draw(t, "marked"), ShortBy: p.ShortBy, ShortMM: p.ShortBy * 2.54})
	}
	low, high, agree := 0, rapid.IntRange(0, 5).Draw(t, "high"), rapid.Bool().Draw(t, "agree")
	take.PageCount = &diagnose.PageCount{Counted: rapid.IntRange(0, 5).Draw(t, "counted"), Low: &low, High: &high, Agree: &agree}
}

// A take with a text is written in every format, too: the text within 80 columns
// and safe, the table with rows of one length, the JSON without null lists.
func TestAnyTakeWithText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		take := anyTake.Draw(t, "take")
		withText(t, take)
		for _, l := range strings.Split(output(t, func(w io.Writer) error { return Text(w, take, TextOptions{}) }), "\n") {
			if columns(l) > textWidth || clean(l) != l {
				t.Fatalf("too wide or unsafe: %q", l)
			}
		}
		rows := strings.Count(output(t, func(w io.Writer) error { return CSV(w, take) }), "\n")
		if rows < len(take.Strokes)+1 {
			t.Fatalf("%d rows for %d strokes", rows, len(take.Strokes))
		}
		b := output(t, func(w io.Writer) error { return JSON(w, take) })
		var back diagnose.Take
		d := json.NewDecoder(bytes.NewReader([]byte(b)))
		d.DisallowUnknownFields()
		if err := d.Decode(&back); err != nil {
			t.Fatal(err)
		}
		for _, list := range []string{`"missing": null`, `"missed_lines": null`, `"pairs": null`} {
			if strings.Contains(b, list) {
				t.Fatalf("the JSON has %s", list)
			}
		}
	})
}

func TestMarkedWordsAreShortenedAroundTheMark(t *testing.T) {
	for _, c := range []struct{ word, want string }{
		{"h[ou]se", "h[ou]se"},
		{"[ h]ouse", "[ h]ouse"},
		{"incomprehensib[il]ities", "…ehensib[il]ities"},
		{"[in]comprehensibilities", "[in]comprehensib…"},
		{"incomprehensibiliti[es]", "…ehensibiliti[es]"},
		{strings.Repeat("[", 40), strings.Repeat("[", 40)[:0]},
	} {
		got := aroundMark(c.word, wordColumns)
		if c.want == "" {
			if columns(got) > wordColumns {
				t.Errorf("%q is %d wide", got, columns(got))
			}
			continue
		}
		if got != c.want {
			t.Errorf("%q: %q, want %q", c.word, got, c.want)
		}
	}
}
