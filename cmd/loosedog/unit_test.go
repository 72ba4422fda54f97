package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"loosedog/audio"
	"loosedog/diagnose"
	"loosedog/onset"
)

// TestUsageErrorsHaveHints: whoever types something wrong is told what to type.
func TestUsageErrorsHaveHints(t *testing.T) {
	dir := t.TempDir()
	take := filepath.Join(dir, "take.wav")
	if err := os.WriteFile(take, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"whistle"}, {"mesure"}, {"take.wav"}, {take}, {"help", "whistle"}, {"--loud"},
		{"measure"}, {"measure", "a.wav", "b.wav"}, {"measure", "-"}, {"measure", ""},
		{"measure", take, "--loud"}, {"measure", take, "--png"},
		{"measure", take, "--pitch", "11"}, {"measure", take, "--pitch", "ten"},
		{"measure", take, "--action", "sideways"}, {"measure", take, "--quiet", "--verbose"},
		{"measure", take, "--json", "-", "--csv", "-"}, {"measure", take, "--png", "-", "--labels", "-"},
		{"measure", take, "--json", take}, {"measure", take, "--json", filepath.Join(dir, "a"), "--csv", filepath.Join(dir, "a")},
		{"serve", "a", "b"}, {"serve", ""}, {"serve", "--addr", "8123"}, {"serve", "--loud"},
		{"demo", "here"}, {"version", "now"}, {"completion", "toast"},
	} {
		var out, errs bytes.Buffer
		code := run(t.Context(), args, strings.NewReader(""), &out, &errs)
		lines := strings.Split(strings.TrimSuffix(errs.String(), "\n"), "\n")
		if code != exitUsage || out.Len() > 0 || len(lines) != 2 ||
			!strings.HasPrefix(lines[0], "loosedog: error: ") || !strings.HasPrefix(lines[1], "loosedog: hint: ") {
			t.Errorf("%q: exit code %d, stdout %q, stderr %q; want 2, nothing, an error and a hint", args, code, out.String(), errs.String())
		}
	}
}

func TestFailureCodes(t *testing.T) {
	cancelled, cancel := context.WithCancel(t.Context())
	cancel()
	unread := fmt.Errorf("%q: broken: %w", "a.wav", audio.ErrUnreadable)
	for _, c := range []struct {
		name string
		ctx  context.Context
		err  error
		want int
	}{
		{"the file's fault", t.Context(), unread, exitUsage},
		{"anything else", t.Context(), errors.New("full disk"), exitInside},
		{"a failure keeps its code", t.Context(), fmt.Errorf("so: %w", unusable(errors.New("silence"))), exitUnusable},
		{"stopped", cancelled, unread, exitInside},
	} {
		if got := (&ui{err: new(bytes.Buffer)}).fail(failed(c.ctx, c.err)); got != c.want {
			t.Errorf("%s: exit code %d, want %d", c.name, got, c.want)
		}
	}
}

// TestStopped: an interruption ends in one line, exit code 1 and no file.
func TestStopped(t *testing.T) {
	dir := t.TempDir()
	take := filepath.Join(dir, "take.wav")
	b, err := wavOf("noise")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(take, b, 0o666); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var out, errs bytes.Buffer
	code := run(ctx, []string{"measure", take, "--json", filepath.Join(dir, "a.json"), "--png", filepath.Join(dir, "a.png")}, nil, &out, &errs)
	if code != exitInside || out.Len() > 0 || errs.String() != "loosedog: error: stopped; nothing was written\n" {
		t.Errorf("exit code %d, stdout %q, stderr %q", code, out.String(), errs.String())
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// TestPanicIsOneLine: a bug ends in one line and exit code 1, not in a trace.
func TestPanicIsOneLine(t *testing.T) {
	var errs bytes.Buffer
	code := run(t.Context(), []string{"version"}, nil, panicWriter{}, &errs)
	if code != exitInside || strings.Count(errs.String(), "\n") != 1 || !strings.Contains(errs.String(), "went wrong") {
		t.Errorf("exit code %d, stderr %q", code, errs.String())
	}
}

type panicWriter struct{}

func (panicWriter) Write([]byte) (int, error) { panic("the pen is dry") }

func TestProgress(t *testing.T) {
	now := time.Unix(0, 0)
	var b bytes.Buffer
	p := &progress{w: &b, now: func() time.Time { return now }, start: now}
	tell := p.phase("reading", 0.25)
	tell(50, 100)
	if b.Len() > 0 {
		t.Fatalf("drawn before %v have passed: %q", barAfter, b.String())
	}
	p.wipe()
	if b.Len() > 0 {
		t.Fatalf("wiped what was never drawn: %q", b.String())
	}
	now = now.Add(barAfter)
	tell(100, 100)
	if !strings.Contains(b.String(), "reading") || !strings.Contains(b.String(), " 25 %") {
		t.Errorf("after the first phase: %q", b.String())
	}
	b.Reset()
	tell(100, 100)
	if b.Len() > 0 {
		t.Errorf("drawn again at once: %q", b.String())
	}
	now = now.Add(barEvery)
	tell = p.phase("listening", 1)
	tell(1000, 100) // more than was announced
	if !strings.Contains(b.String(), "listening") || !strings.Contains(b.String(), "100 %") {
		t.Errorf("at the end: %q", b.String())
	}
	drawn := strings.TrimPrefix(b.String(), "\r")
	b.Reset()
	p.wipe()
	if wiped := strings.Trim(b.String(), "\r"); strings.TrimSpace(wiped) != "" || len(wiped) < len(drawn) {
		t.Errorf("wiped %d columns of %d: %q", len(wiped), len(drawn), b.String())
	}
	// A length that is not known, and no terminal at all.
	now = now.Add(barEvery)
	p.phase("reading", 1)(5, -1)
	new(progress).phase("reading", 1)(5, 10)
}

func TestNoBarWithoutTerminal(t *testing.T) {
	f, err := os.Create(filepath.Join(t.TempDir(), "log"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, p := range []*progress{newProgress(f, false), newProgress(new(bytes.Buffer), false)} {
		if p.w != nil {
			t.Errorf("draws into what is no terminal")
		}
	}
}

func TestWhyNotNamesTheReason(t *testing.T) {
	h := &heard{
		sounds: &onset.Take{Problems: []audio.Problem{{Code: "no-typing", Text: "No typing was heard. Record nearer."}}},
		take: &diagnose.Take{Recording: diagnose.Recording{Problems: []audio.Problem{
			{Code: "cut-short", Text: "The file ends early."}, {Code: "no-typing", Text: "No typing was heard. Record nearer."},
		}}},
	}
	var errs bytes.Buffer
	u := &ui{err: &errs}
	if code := u.fail(h.whyNot("a.wav")); code != exitUnusable {
		t.Errorf("exit code %d", code)
	}
	h.alsoWrong(u)
	want := "loosedog: error: \"a.wav\" cannot be measured: no typing was heard. Record nearer\n" +
		"loosedog: note: The file ends early\n"
	if errs.String() != want {
		t.Errorf("got %q, want %q", errs.String(), want)
	}
}

// What to change is named, not what would only help a sound recording.
func TestWhyNotNamesWhatSpoilsTheTake(t *testing.T) {
	noTyping := audio.Problem{Code: "no-typing", Text: "No typing was heard. Record nearer."}
	clipped := audio.Problem{Code: "clipped", Text: "Strokes are cut off; record at a lower level."}
	short := audio.Problem{Code: "too-short", Text: "The take lasts 1 s; record a line."}
	few := audio.Problem{Code: "too-few-strokes", Text: "Only 3 strikes were heard."}
	for _, c := range []struct {
		heard, recording []audio.Problem
		want             string
	}{
		{[]audio.Problem{noTyping}, []audio.Problem{{Code: "cut-short", Text: "x"}, clipped, noTyping}, "clipped"},
		{[]audio.Problem{noTyping}, []audio.Problem{clipped, short, noTyping}, "too-short"},
		{[]audio.Problem{few}, []audio.Problem{clipped, few}, "too-few-strokes"},
		{[]audio.Problem{noTyping}, []audio.Problem{{Code: "band-limited", Text: "x"}, noTyping}, "no-typing"},
		{nil, []audio.Problem{{Code: "cut-short", Text: "x"}, clipped}, "clipped"},
	} {
		h := &heard{sounds: &onset.Take{Problems: c.heard}, take: &diagnose.Take{Recording: diagnose.Recording{Problems: c.recording}}}
		if got, ok := h.fatal(); !ok || got.Code != c.want {
			t.Errorf("%v beside %v: %q is named, want %q", c.heard, c.recording, got.Code, c.want)
		}
	}
}
