package report

import (
	"io"
	"strings"
	"testing"

	"loosedog/diagnose"
)

// An adjustment is never proposed without a caution, nor without a finding.
func TestCautionBesideEveryCheck(t *testing.T) {
	take := withFindings(passage(4, 40, 0.15))
	text := string(written(t, func(w io.Writer) error { return Text(w, take, TextOptions{}) }))
	lines := strings.Split(text, "\n")
	checks := 0
	for i, l := range lines {
		if !strings.HasPrefix(l, "     check ") {
			continue
		}
		checks++
		j := i + 1
		for strings.HasPrefix(lines[j], "               ") {
			j++
		}
		if !strings.HasPrefix(lines[j], "     caution ") {
			t.Errorf("after %q comes %q", l, lines[j])
		}
	}
	if checks != 2 {
		t.Errorf("%d checks, want the 2 that the findings bring", checks)
	}

	take.Findings = nil
	text = string(written(t, func(w io.Writer) error { return Text(w, take, TextOptions{}) }))
	if strings.Contains(text, "  check  ") || !strings.Contains(strings.Join(strings.Fields(text), " "), "no adjustment is proposed") {
		t.Errorf("without a finding:\n%s", text)
	}
}

// What is not usable gets neither figures nor advice.
func TestUnusableHasNoFigures(t *testing.T) {
	take := withFindings(unusable())
	take.Recording.Usable = false
	text := string(written(t, func(w io.Writer) error { return Text(w, take, TextOptions{}) }))
	for _, no := range []string{"Figures", "latency", "check  ", "Spacing", " ms"} {
		if strings.Contains(text, no) {
			t.Errorf("%q stands in the text of an unusable take:\n%s", no, text)
		}
	}
}

func TestPairsListedAtMost(t *testing.T) {
	take := passage(4, 40, 0.3)
	n := len(diagnose.Flagged(take))
	if n < 10 {
		t.Fatalf("only %d flagged pairs to test with", n)
	}
	for _, most := range []int{1, 5, n - 1, n, n + 1} {
		text := string(written(t, func(w io.Writer) error { return Text(w, take, TextOptions{Pairs: most}) }))
		rows := strings.Count(text, "  crowded\n") + strings.Count(text, "  piled\n") + strings.Count(text, "  crowded space\n")
		if rows != min(most, n) {
			t.Errorf("at most %d of %d: %d rows", most, n, rows)
		}
		if got := strings.Contains(text, " more\n"); got != (most < n) {
			t.Errorf("at most %d of %d: \"and k more\" stands there: %v", most, n, got)
		}
	}
}

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		in    string
		limit int
		want  []string
	}{
		{"", 10, []string{""}},
		{"one two three", 7, []string{"one two", "three"}},
		{"abcdefghij k", 4, []string{"abcd", "efgh", "ij k"}},
		{"錄音錄音", 5, []string{"錄音", "錄音"}}, // two columns a character: Unicode annex 11, wide
		{"a  b", 80, []string{"a b"}},
	} {
		got := wrap(c.in, c.limit)
		if strings.Join(got, "|") != strings.Join(c.want, "|") {
			t.Errorf("wrap(%q, %d) = %q, want %q", c.in, c.limit, got, c.want)
		}
	}
}

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"plain é 錄":        "plain é 錄",
		"a\tb\nc":          "a b c",
		"\x1b[2Jx":         "?[2Jx",
		"x\u202ey\u200b":   "x?y?",
		"bad\xff\xfeutf-8": "bad?utf-8",
	} {
		if got := clean(in); got != want {
			t.Errorf("clean(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestClock(t *testing.T) {
	for in, want := range map[float64]string{
		0: "0.0 s", 59.94: "59.9 s", 61.2: "1 min 1 s", 3599.6: "1 h 0 min", 7384: "2 h 3 min", -1: "an unknown time",
	} {
		if got := clock(in); got != want {
			t.Errorf("clock(%v) = %q, want %q", in, got, want)
		}
	}
}
