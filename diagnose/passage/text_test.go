package passage

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"
)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		name, in, want string
		lines          int
	}{
		{"plain", "one\ntwo", "one\ntwo", 2},
		{"ends of lines", "one\r\ntwo\rthree\vfour\ffive\u2028six\u0085seven\n", "one\ntwo\nthree\nfour\nfive\nsix\nseven", 7},
		{"byte order mark", "\ufeffone", "one", 1},
		{"empty lines", "\n\n one\n\n\ntwo \n\n", " one\ntwo", 2},
		{"tabs and other blanks are spaces", "a\tb\u00a0c\u3000d", "a b c d", 1},
		{"runs of spaces stand", "a     b", "a     b", 1},
		{"spaces at the end go", "a   \nb\t", "a\nb", 2},
		{"an accent belongs to its letter", "cafe\u0301", "caf\u00e9", 1},
		{"an accent without a letter of its own", "x\u0323\u0301y", "x\u0323\u0301y", 1},
		{"no width", "co\u00adop\u200berate", "cooperate", 1},
		{"form feed between pages", "end\f\nstart", "end\nstart", 2},
	} {
		got, err := Parse(c.in)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		// Marks that no single letter holds are left out of the row of characters.
		want := strings.NewReplacer("\u0323", "", "\u0301", "").Replace(c.want)
		if got.String() != want || got.Lines != c.lines {
			t.Errorf("%s: %q on %d lines, want %q on %d", c.name, got.String(), got.Lines, want, c.lines)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		name, in string
		want     error
	}{
		{"nothing", "", ErrNoText},
		{"blanks", " \t\r\n\f", ErrNoText},
		{"only what has no width", "\u200b\u00ad", ErrNoText},
		{"a zero byte", "abc\x00def", ErrNotText},
		{"a control character", "abc\x1b[31mdef", ErrNotText},
		{"another encoding", "caf\xe9", ErrNotText},
		{"too long", strings.Repeat("word ", MostChars/5+1) + "word", ErrTooLong},
	} {
		got, err := Parse(c.in)
		if !errors.Is(err, c.want) || got != nil {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	// A file that is no text says so before it says that it is long.
	if _, err := Read(strings.NewReader(strings.Repeat("RIFF\x00\x01", MostChars))); !errors.Is(err, ErrNotText) {
		t.Errorf("a recording: %v", err)
	}
	if _, err := Read(strings.NewReader(strings.Repeat("long ", MostChars))); !errors.Is(err, ErrTooLong) {
		t.Errorf("a long text: %v", err)
	}
}

func TestWord(t *testing.T) {
	text, err := Parse("the  tide\nturns")
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []struct {
		word string
		at   int
	}{{"the", 0}, {"the", 1}, {"the", 2}, {"the", -1}, {"", -1}, {"tide", 0}, {"tide", 1}, {"tide", 2}, {"tide", 3}, {"tide", -1}, {"turns", 0}} {
		if word, at := text.Word(i); word != want.word || at != want.at {
			t.Errorf("character %d: %q, %d, want %q, %d", i, word, at, want.word, want.at)
		}
	}
	for _, i := range []int{-1, len(text.Chars), 1 << 40} {
		if word, at := text.Word(i); word != "" || at != -1 {
			t.Errorf("character %d: %q, %d", i, word, at)
		}
	}
}

// FuzzParse: whatever the file holds, what comes out is a text of printing
// characters, spaces within lines and line breaks between them, and reading it
// again changes nothing.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"", "one two", "a\r\nb\tc\f", "\ufeffcafe\u0301  x", "\xff", "\x00", " \n \n", "\u202e\u0300", "\u1100\u1161\u11a8", strings.Repeat("ab ", 400)} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		text, err := Parse(string(b))
		if err != nil {
			if text != nil {
				t.Fatal("a text beside an error")
			}
			return
		}
		s := text.String()
		if !utf8.ValidString(s) || len(text.Chars) == 0 || len(text.Chars) > MostChars {
			t.Fatalf("%d characters: %q", len(text.Chars), s)
		}
		line, column := 0, 0
		for i, c := range text.Chars {
			if c.Line != line || c.Column != column {
				t.Fatalf("character %d %q is said to be at %d, %d; it is at %d, %d", i, c.Rune, c.Line, c.Column, line, column)
			}
			column++
			if c.Rune == '\n' {
				line, column = line+1, 0
			}
			edge := i == 0 || i == len(text.Chars)-1
			if c.Rune == '\n' && (edge || text.Chars[i+1].Rune == '\n' || text.Chars[i-1].Rune == ' ') {
				t.Fatalf("a line break at an edge, or after a space: %q", s)
			}
			text.Word(i)
		}
		if text.Lines != line+1 {
			t.Fatalf("%d lines are said to be, there are %d", text.Lines, line+1)
		}
		again, err := Parse(s)
		if err != nil || again.String() != s {
			t.Fatalf("read again: %v, %q, first %q", err, again, s)
		}
	})
}
