package passage

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// MostChars is how many characters a text may have, spaces and line breaks
// included: some thirty pages, as much as an hour's typing.
const MostChars = 100_000

// mostBytes bounds what is read of a file: no text of MostChars is longer.
const mostBytes = 4*MostChars + 1<<16

// Text is a text as a typist sees it: characters in lines.
type Text struct {
	// Chars are in order. Between two lines stands one '\n'; there is none at the
	// start or the end.
	Chars []Char
	// Lines is how many lines have something on them.
	Lines int
}

// Char is one character of a text: what one stroke prints.
type Char struct {
	// Rune is the character; ' ' is a space, '\n' a line break.
	Rune rune
	// Line and Column are where it stands in the text, from 0; empty lines do not
	// count.
	Line, Column int
}

// What can be wrong with a text.
var (
	ErrNotText = errors.New("it is not plain text; save it as plain text (UTF-8)")
	ErrTooLong = fmt.Errorf("it has more than %d characters; give only the part that was typed", MostChars)
	ErrNoText  = errors.New("there is nothing to type in it")
)

// Read reads a text to its end, as [Parse] does.
func Read(r io.Reader) (*Text, error) {
	b, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return nil, err
	}
	if bytes.IndexByte(b, 0) >= 0 {
		return nil, ErrNotText
	}
	if len(b) > mostBytes {
		return nil, ErrTooLong
	}
	return Parse(string(b))
}

// Parse reads a text: UTF-8 with or without a byte order mark, lines ended in
// any way (a form feed ends one, too). A tab and any other blank is one space;
// runs of spaces stand as they are, for they are typed; spaces at a line's end and
// empty lines are left out. An accent belongs to its letter, and what has no width
// is left out.
func Parse(s string) (*Text, error) {
	s = strings.TrimPrefix(s, "\ufeff")
	if !utf8.ValidString(s) || strings.ContainsRune(s, 0) {
		return nil, ErrNotText
	}
	t := new(Text)
	column, blanks := 0, 0
	put := func(r rune) { t.Chars = append(t.Chars, Char{r, t.Lines, column}); column++ }
	end := func() {
		if column > 0 {
			t.Lines++
		}
		column, blanks = 0, 0
	}
	for _, r := range norm.NFC.String(s) {
		switch {
		case r == '\n' || r == '\r' || r == '\f' || r == '\v' || r == '\u0085' || unicode.In(r, unicode.Zl, unicode.Zp):
			end()
			continue
		case unicode.IsSpace(r):
			blanks++
			continue
		case unicode.IsControl(r):
			return nil, ErrNotText
		case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
			continue
		}
		if column == 0 && len(t.Chars) > 0 {
			last := t.Chars[len(t.Chars)-1]
			t.Chars = append(t.Chars, Char{'\n', last.Line, last.Column + 1})
		}
		for ; blanks > 0; blanks-- {
			put(' ')
		}
		put(r)
		if len(t.Chars) > MostChars {
			return nil, ErrTooLong
		}
	}
	end()
	if len(t.Chars) == 0 {
		return nil, ErrNoText
	}
	return t, nil
}

// String is the text as it was understood.
func (t *Text) String() string {
	var b strings.Builder
	for _, c := range t.Chars {
		b.WriteRune(c.Rune)
	}
	return b.String()
}

// Word is the word that character i belongs to and where in it (in characters)
// i stands; at -1 for the space or the line break behind it. Between two spaces
// there is no word: "", -1.
func (t *Text) Word(i int) (word string, at int) {
	if i < 0 || i >= len(t.Chars) {
		return "", -1
	}
	last := i
	if t.kind(i) != letter {
		last--
	}
	if last < 0 || t.kind(last) != letter {
		return "", -1
	}
	first := last
	for first > 0 && t.kind(first-1) == letter {
		first--
	}
	for last+1 < len(t.Chars) && t.kind(last+1) == letter {
		last++
	}
	var b strings.Builder
	for _, c := range t.Chars[first : last+1] {
		b.WriteRune(c.Rune)
	}
	if t.kind(i) != letter {
		return b.String(), -1
	}
	return b.String(), i - first
}

// kind is a character's part in the alignment.
func (t *Text) kind(i int) kind { return kindOf(t.Chars[i].Rune) }
