package record

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// LogFile is what was done to a machine, in its folder: plain text.
const LogFile = "log.txt"

// Bounds of a log that is read, and of an entry that is written.
const (
	longestLog   = 4 << 20 // bytes
	LongestEntry = 2000    // letters
)

// Entry is one thing that was done, or one take that was made.
type Entry struct {
	Date time.Time // local
	Text string    // in one line
	Line int       // of the file, from 1
	// Take is the file that the entry dates, empty for all else: the text is "take"
	// and the file's name.
	Take string
}

// Log is a log that was read.
type Log struct {
	Entries []Entry // in order of date
	// Odd are lines that look like entries but whose date cannot be read.
	Odd []string
}

// Done are the entries that say what was done: all that date no take.
func (l *Log) Done() []Entry {
	return slices.DeleteFunc(slices.Clone(l.Entries), func(e Entry) bool { return e.Take != "" })
}

// Between are the entries of what was done between two takes: where one of the two
// times has no time of day, the same day counts.
func (l *Log) Between(from, to time.Time) []Entry {
	return slices.DeleteFunc(l.Done(), func(e Entry) bool { return !inOrder(from, e.Date) || !inOrder(e.Date, to) })
}

// inOrder tells whether a is not after b; midnight is a day without a time.
func inOrder(a, b time.Time) bool {
	if midnight(a) || midnight(b) {
		a, b = day(a), day(b)
	}
	return !a.After(b)
}

func day(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.Local)
}

func midnight(t time.Time) bool { return t.Equal(day(t)) }

// ReadLogFile reads the log of a machine's folder; an empty one where there is none.
func ReadLogFile(folder string) (*Log, error) {
	path := filepath.Join(folder, LogFile)
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return new(Log), nil
	}
	if err != nil {
		return nil, fmt.Errorf("cannot read the log %q: %w", path, bare(err))
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("cannot read the log %q: it is no plain file", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("cannot read the log %q: %w", path, bare(err))
	}
	defer f.Close()
	l, err := ReadLog(f)
	if err != nil {
		return nil, fmt.Errorf("cannot read the log %q: %w", path, bare(err))
	}
	return l, nil
}

// ReadLog reads a log. An entry is a line that begins with its date, 2026-11-25 or
// 25.11.2026 or 25 November 2026, where you like with a time of day, 14:30; lines
// without a date below it go on with it, lines that begin with # and those above the
// first date are remarks.
func ReadLog(r io.Reader) (*Log, error) {
	raw, err := io.ReadAll(io.LimitReader(r, longestLog+1))
	if err != nil {
		return nil, err
	}
	if len(raw) > longestLog {
		return nil, fmt.Errorf("it is longer than %d MB; move its oldest entries to another file", longestLog>>20)
	}
	l := new(Log)
	text := strings.ToValidUTF8(strings.TrimPrefix(string(raw), "\ufeff"), "\ufffd")
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	open := false // the last entry may go on
	for i, line := range strings.Split(text, "\n") {
		line = oneLine(line)
		if line == "" || line[0] == '#' {
			continue
		}
		date, rest, ok := leadingDate(line)
		switch {
		case ok:
			l.Entries = append(l.Entries, Entry{Date: date, Text: rest, Line: i + 1})
			open = true
		case looksDated(line):
			l.Odd = append(l.Odd, fmt.Sprintf("line %d begins with no date that can be read, such as 2026-11-25: %q", i+1, head(line, 60)))
			open = false
		case open:
			e := &l.Entries[len(l.Entries)-1]
			e.Text = strings.TrimSpace(e.Text + " " + line)
		}
	}
	for i := range l.Entries {
		e := &l.Entries[i]
		if word, name, ok := strings.Cut(e.Text, " "); ok && strings.EqualFold(strings.TrimSuffix(word, ":"), "take") {
			if name = strings.Trim(name, ` "'`); IsTake(name) {
				e.Take = name
			}
		}
	}
	l.Entries = slices.DeleteFunc(l.Entries, func(e Entry) bool { return e.Text == "" })
	slices.SortStableFunc(l.Entries, func(a, b Entry) int { return a.Date.Compare(b.Date) })
	return l, nil
}

// dateLayouts are the dates that a log may hold, by how many words they take.
var dateLayouts = []struct {
	words  int
	layout string
}{
	{1, time.DateOnly}, {1, "2006-01-02T15:04"}, {1, "2006-1-2"}, {1, "2.1.2006"},
	{3, "2 January 2006"}, {3, "2 Jan 2006"}, {3, "2. January 2006"}, {3, "2. Jan 2006"},
}

// leadingDate takes a date and, where there is one, a time of day from the front.
func leadingDate(line string) (t time.Time, rest string, ok bool) {
	words := strings.Fields(line)
	for _, l := range dateLayouts {
		if len(words) < l.words {
			continue
		}
		said := strings.TrimRight(strings.Join(words[:l.words], " "), ":,;")
		t, err := time.ParseInLocation(l.layout, said, time.Local)
		if err != nil || t.Year() < 1900 || t.Year() > 2200 {
			continue
		}
		words = words[l.words:]
		if len(words) > 0 {
			if clock, err := time.Parse("15:04", strings.TrimRight(words[0], ":,;")); err == nil {
				t = time.Date(t.Year(), t.Month(), t.Day(), clock.Hour(), clock.Minute(), 0, 0, time.Local)
				words = words[1:]
			}
		}
		for len(words) > 0 && (words[0] == "-" || words[0] == "\u2013" || words[0] == ":") {
			words = words[1:]
		}
		return t, strings.Join(words, " "), true
	}
	return t, "", false
}

// looksDated tells whether a line was probably meant to begin with a date: digits,
// a sign, digits, a sign, digits.
func looksDated(line string) bool {
	word, _, _ := strings.Cut(line, " ")
	groups, in := 0, false
	for _, r := range word {
		digit := r >= '0' && r <= '9'
		if digit && !in {
			groups++
		}
		if !digit && !strings.ContainsRune("-./:,", r) {
			return false
		}
		in = digit
	}
	return groups >= 3
}

// Append adds an entry to the log of a folder and makes the file where there is
// none. It is one write at the file's end, which keeps what somebody else adds at the
// same time; a line that was left open is closed first, with the line ends that the
// file has.
func Append(folder string, date time.Time, withTime bool, text string) error {
	text = oneLine(text)
	if text == "" {
		return errors.New("there is nothing to note")
	}
	if n := utf8.RuneCountInString(text); n > LongestEntry {
		return fmt.Errorf("the note has %d letters, more than %d; shorten it", n, LongestEntry)
	}
	path := filepath.Join(folder, LogFile)
	if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
		return fmt.Errorf("cannot write the log %q: it is no plain file", path)
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o666)
	if err != nil {
		return fmt.Errorf("cannot write the log %q: %w", path, bare(err))
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return fmt.Errorf("cannot write the log %q: %w", path, bare(err))
	}
	var b bytes.Buffer
	end := "\n"
	if n := info.Size(); n == 0 {
		b.WriteString("# What was done to this machine: the date, then what, one entry a line.\n# Write here as you like; a line that begins with # is a remark.\n")
	} else {
		tail := make([]byte, min(n, 4096))
		if _, err := f.ReadAt(tail, n-int64(len(tail))); err != nil && err != io.EOF {
			return fmt.Errorf("cannot read the log %q: %w", path, bare(err))
		}
		if bytes.Contains(tail, []byte("\r\n")) {
			end = "\r\n"
		}
		if tail[len(tail)-1] != '\n' {
			b.WriteString(end)
		}
	}
	layout := time.DateOnly
	if withTime {
		layout += " 15:04"
	}
	b.WriteString(date.Format(layout) + "  " + text + end)
	if _, err := f.Write(b.Bytes()); err != nil {
		return fmt.Errorf("cannot write the log %q: %w", path, bare(err))
	}
	if err := f.Sync(); err != nil {
		return fmt.Errorf("cannot write the log %q: %w", path, bare(err))
	}
	return nil
}

// oneLine makes one line of words without control characters.
func oneLine(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
	return strings.Join(strings.Fields(s), " ")
}

// head is the first n letters.
func head(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n]) + "..."
	}
	return s
}

// bare is the reason inside a file error, without the name it repeats.
func bare(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}
