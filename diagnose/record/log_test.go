package record

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func at(s string) time.Time {
	layout := time.DateOnly
	if len(s) > 10 {
		layout += " 15:04"
	}
	t, err := time.ParseInLocation(layout, s, time.Local)
	if err != nil {
		panic(err)
	}
	return t
}

func TestReadLog(t *testing.T) {
	l, err := ReadLog(strings.NewReader("\ufeffShelf 7, sea green: bought at the fair\r\n" +
		"\r\n" +
		"2026-04-22  trip moved earlier\r\n" +
		"   by a turn of the screw\r\n" +
		"# a remark\r\n" +
		"2026-04-22 14:30: take after.wav\r\n" +
		"3.2.2026 - ribbon changed\r\n" +
		"1 March 2026, dusted\r\n" +
		"2026-02-30 no such day\r\n" +
		"goes on with nothing\r\n" +
		"2026-05-01\r\n" +
		"2026-06-01 take the ribbon out\r\n" +
		"2026-07-01 TAKE: \"odd name.m4a\""))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range l.Entries {
		got = append(got, fmt.Sprintf("%s|%s|%s|%d", e.Date.Format("2006-01-02 15:04"), e.Text, e.Take, e.Line))
	}
	want := []string{
		"2026-02-03 00:00|ribbon changed||7",
		"2026-03-01 00:00|dusted||8",
		"2026-04-22 00:00|trip moved earlier by a turn of the screw||3",
		"2026-04-22 14:30|take after.wav|after.wav|6",
		"2026-06-01 00:00|take the ribbon out||12",
		"2026-07-01 00:00|TAKE: \"odd name.m4a\"|odd name.m4a|13",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("entries\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if len(l.Odd) != 1 || !strings.Contains(l.Odd[0], "line 9") {
		t.Errorf("odd lines: %q", l.Odd)
	}
	if n := len(l.Done()); n != 4 {
		t.Errorf("%d things were done, want 4", n)
	}
	between := func(from, to string) int { return len(l.Between(at(from), at(to))) }
	for _, c := range []struct {
		from, to string
		want     int
	}{
		{"2026-02-03", "2026-03-01", 2}, // days without a time count as a whole
		{"2026-02-04", "2026-02-28", 0},
		{"2026-04-22 09:00", "2026-04-22 18:00", 1},
		{"2026-03-02 09:00", "2026-04-21 18:00", 0},
		{"2027-01-01", "2026-01-01", 0},
	} {
		if n := between(c.from, c.to); n != c.want {
			t.Errorf("between %s and %s: %d, want %d", c.from, c.to, n, c.want)
		}
	}
}

func TestAppend(t *testing.T) {
	for _, c := range []struct{ name, before, want string }{
		{"new", "", "# What was done to this machine: the date, then what, one entry a line.\n# Write here as you like; a line that begins with # is a remark.\n2026-11-25  rails cleaned\n"},
		{"whole lines", "2026-01-01 x\n", "2026-01-01 x\n2026-11-25  rails cleaned\n"},
		{"line left open", "2026-01-01 x", "2026-01-01 x\n2026-11-25  rails cleaned\n"},
		{"other line ends", "2026-01-01 x\r\n", "2026-01-01 x\r\n2026-11-25  rails cleaned\r\n"},
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, LogFile)
		if c.before != "" {
			if err := os.WriteFile(path, []byte(c.before), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		if err := Append(dir, at("2026-11-25 12:00"), false, " rails\ncleaned\t"); err != nil {
			t.Fatal(err)
		}
		if b, _ := os.ReadFile(path); string(b) != c.want {
			t.Errorf("%s: %q, want %q", c.name, b, c.want)
		}
	}
	dir := t.TempDir()
	for _, bad := range []string{"", " \n\x00", strings.Repeat("x", LongestEntry+1)} {
		if Append(dir, time.Now(), true, bad) == nil {
			t.Errorf("%.20q was noted", bad)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, LogFile)); err == nil {
		t.Error("a refused note left a file")
	}
	if err := os.Mkdir(filepath.Join(dir, LogFile), 0o777); err != nil {
		t.Fatal(err)
	}
	if Append(dir, time.Now(), true, "x") == nil {
		t.Error("a folder was written as a log")
	}
	if _, err := ReadLogFile(dir); err == nil {
		t.Error("a folder was read as a log")
	}
}

// Several who note at once lose nothing.
func TestAppendTogether(t *testing.T) {
	dir := t.TempDir()
	if err := Append(dir, at("2026-01-01"), false, "first"); err != nil {
		t.Fatal(err)
	}
	const n = 40
	var all sync.WaitGroup
	for i := range n {
		all.Add(1)
		go func() {
			defer all.Done()
			if err := Append(dir, at("2026-02-01"), false, fmt.Sprintf("done %d", i)); err != nil {
				t.Error(err)
			}
		}()
	}
	all.Wait()
	l, err := ReadLogFile(dir)
	if err != nil || len(l.Entries) != n+1 || len(l.Odd) != 0 {
		t.Fatalf("%d entries, odd %q, %v", len(l.Entries), l.Odd, err)
	}
}

// What is noted is read back as it was said, whatever stood there before.
func TestAppendIsReadBack(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, LogFile)
	rapid.Check(t, func(rt *rapid.T) {
		before := rapid.SliceOf(rapid.Byte()).Draw(rt, "before")
		if err := os.WriteFile(path, before, 0o666); err != nil {
			rt.Fatal(err)
		}
		said := rapid.StringMatching(`[a-z][ -~]{0,60}`).Draw(rt, "said")
		day := at("2000-01-01").AddDate(0, 0, rapid.IntRange(0, 40000).Draw(rt, "day"))
		if err := Append(dir, day, false, said); err != nil {
			rt.Fatal(err)
		}
		l, err := ReadLogFile(dir)
		if err != nil {
			rt.Fatal(err)
		}
		for _, e := range l.Entries {
			if e.Date.Equal(day) && e.Text == oneLine(said) {
				return
			}
		}
		rt.Fatalf("%q of %s is not among %v", said, day, l.Entries)
	})
}

func FuzzReadLog(f *testing.F) {
	f.Add([]byte("2026-04-22  trip moved earlier\n  more\n# x\n3.2.2026 take a.wav\n"))
	f.Add([]byte("\ufeff1 March 2026, x\r\r\n2026-02-30 y"))
	f.Fuzz(func(t *testing.T, b []byte) {
		l, err := ReadLog(bytes.NewReader(b))
		if err != nil {
			return
		}
		for i, e := range l.Entries {
			if e.Text == "" || strings.ContainsAny(e.Text, "\n\r\x00") || i > 0 && e.Date.Before(l.Entries[i-1].Date) {
				t.Fatalf("entry %d: %+v", i, e)
			}
		}
	})
}

func TestDateInName(t *testing.T) {
	for _, c := range []struct{ name, want string }{
		{"2026-03-14.wav", "2026-03-14"},
		{"Recording 2026-03-14 09.26.53.m4a", "2026-03-14 09:26"},
		{"REC_20260314_0926.wav", "2026-03-14 09:26"},
		{"20260314.wav", "2026-03-14"},
		{"shelf 7 (2026_03_14).wav", "2026-03-14"},
		{"2026-3-14.wav", ""},
		{"2026-02-30.wav", ""},
		{"120260314.wav", ""},
		{"2026-0314.wav", ""},
		{"take 7.wav", ""},
		{"2026-03-14 99-99.wav", "2026-03-14"},
	} {
		got, ok := dateInName(c.name)
		if ok != (c.want != "") || ok && !got.Equal(at(c.want)) {
			t.Errorf("%s: %v, %v, want %s", c.name, got, ok, c.want)
		}
	}
}
