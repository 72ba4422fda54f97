package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loosedog/diagnose/mechanism"
)

// shortTake puts a simulated take of three lines with its truth into a folder.
func shortTake(t *testing.T, folder, name string) {
	t.Helper()
	s := mechanism.Demo()
	s.Text = strings.Join(strings.Split(mechanism.Quay, "\n")[:3], "\n")
	p, samples, rate, err := s.Record()
	if err != nil {
		t.Fatal(err)
	}
	stem := filepath.Join(folder, name)
	if err := writeWAV(stem+".wav", int(rate), 1, samples); err != nil {
		t.Fatal(err)
	}
	if err := p.WriteTruth(stem + truthSuffix); err != nil {
		t.Fatal(err)
	}
}

// TestFolderOfTakes scores a folder as make accuracy DIR=... does. Its takes are
// one and the same, scored at the same time: they must come out alike.
func TestFolderOfTakes(t *testing.T) {
	dir := t.TempDir()
	shortTake(t, dir, "one")
	for _, ending := range []string{".wav", truthSuffix} {
		b, err := os.ReadFile(filepath.Join(dir, "one"+ending))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{"two", "noisy"} {
			if err := os.WriteFile(filepath.Join(dir, name+ending), b, 0o666); err != nil {
				t.Fatal(err)
			}
		}
	}
	var out, log bytes.Buffer
	if err := run(t.Context(), []string{"-own=false", dir}, &out, &log); err != nil {
		t.Fatal(err)
	}
	rows := map[string]string{}
	for line := range strings.Lines(out.String()) {
		cells := strings.Split(line, "|")
		if len(cells) > 3 {
			key := strings.TrimSpace(cells[1])
			rows[key] += strings.Join(cells[2:], "|")
		}
	}
	if rows["one"] == "" || rows["one"] != rows["two"] {
		t.Errorf("the same take scored twice:\n%s\n%s", rows["one"], rows["two"])
	}
	for _, want := range []string{allClean, allRough, "noisy"} {
		if rows[want] == "" {
			t.Errorf("no row %q in\n%s", want, out.String())
		}
	}
}

func TestNothingToScore(t *testing.T) {
	for _, args := range [][]string{{"-own=false"}, {"-own=false", t.TempDir()}, {"-only", "no such take"}, {"-loud"}} {
		var out, log bytes.Buffer
		if err := run(t.Context(), args, &out, &log); err == nil || out.Len() > 0 {
			t.Errorf("%q: error %v, printed %q", args, err, out.String())
		}
	}
}

// TestOneBadTakeStops: an error names its take and ends the work.
func TestOneBadTakeStops(t *testing.T) {
	broken := errors.New("broken")
	jobs := []job{{name: "the bad one", take: func(context.Context, string) (string, *truth, error) { return "", nil, broken }}}
	if _, err := scoreAll(t.Context(), jobs); !errors.Is(err, broken) || !strings.Contains(err.Error(), "the bad one") {
		t.Errorf("got %v", err)
	}
}
