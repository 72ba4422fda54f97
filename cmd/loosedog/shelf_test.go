package main

import (
	"bytes"
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"loosedog/audio"
	"loosedog/audio/synth"
	"loosedog/diagnose/compare"
	"loosedog/diagnose/mechanism"
	"loosedog/diagnose/record"
)

// The demo's shelf comes out in the order of what was simulated, and its years show
// what happened in them and nothing else. The truth is counted by letting every
// machine type many pages by the fixed hand.
func TestDemoShelf(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "machines")
	var out, errs bytes.Buffer
	if code := run(t.Context(), []string{"demo", "--shelf", "--out", dir}, nil, &out, &errs); code != exitMeasured || errs.Len() > 0 {
		t.Fatalf("exit code %d, %s", code, errs.String())
	}
	machines, problems, err := record.Machines(dir)
	if err != nil || len(problems) > 0 {
		t.Fatal(problems, err)
	}
	s := record.NewShelf(dir, machines, problems)
	truth := map[string]float64{}
	for _, l := range mechanism.Lending() {
		last := l.Takes[len(l.Takes)-1].Scene.Machine
		if truth[l.Folder], err = last.PerPage(referenceHand(), truthPages, compare.PageStrokes); err != nil {
			t.Fatal(err)
		}
	}
	if len(s.Machines) != len(truth) {
		t.Fatalf("%d machines, want %d", len(s.Machines), len(truth))
	}
	for i, r := range s.Machines {
		if r.Attention != i+1 || len(r.NotMeasured) > 0 {
			t.Errorf("%s: attention %d, not measured %v", r.Machine, r.Attention, r.NotMeasured)
		}
		if i > 0 && !(truth[r.Folder] < truth[s.Machines[i-1].Folder]) {
			t.Errorf("%s stands behind %s, but was simulated with %.0f letters a page against %.0f",
				r.Machine, s.Machines[i-1].Machine, truth[r.Folder], truth[s.Machines[i-1].Folder])
		}
		if measured := float64(r.Letters.Value); !(measured > 0.8*truth[r.Folder]-3 && measured < 1.2*truth[r.Folder]+3) {
			t.Errorf("%s: %.0f letters a page, simulated %.0f", r.Machine, measured, truth[r.Folder])
		}
	}
	// What was simulated to change, and between which takes, by measure.
	want := map[string]string{
		"shelf-3":  "travel 0 1, travel 1 2, travel 2 3, travel 3 4",
		"shelf-5":  "",
		"shelf-7":  "lead 1 2",
		"shelf-11": "travel 0 1, travel 1 2",
	}
	for _, m := range machines {
		if len(m.Takes) < 2 {
			continue
		}
		var got []string
		for _, c := range record.NewHistory(m).Changes {
			got = append(got, c.Measure+" "+string(rune('0'+c.Before))+" "+string(rune('0'+c.After)))
			if m.Folder != "shelf-3" && c.Shift.Value < 0 != (m.Folder == "shelf-11" && c.Before == 1) {
				t.Errorf("%s: %s shifted by %.1f", m.Folder, c.Measure, float64(c.Shift.Value))
			}
		}
		if s := strings.Join(got, ", "); s != want[m.Folder] {
			t.Errorf("%s: changes %q, want %q", m.Folder, s, want[m.Folder])
		}
	}
	// A second run makes and measures nothing, and says the same.
	before := results(t, dir)
	var again bytes.Buffer
	if code := run(t.Context(), []string{"demo", "--shelf", "--out", dir}, nil, &again, &errs); code != exitMeasured || again.String() != out.String() {
		t.Errorf("exit code %d, and another answer:\n%s", code, again.String())
	}
	for name, b := range results(t, dir) {
		if before[name] != b {
			t.Errorf("%s was written anew", name)
		}
	}
	// What the log says was done is known to compare.
	var both bytes.Buffer
	in := func(name string) string { return filepath.Join(dir, "shelf-7", name) }
	if code := run(t.Context(), []string{"compare", in("before.json"), in("after.json")}, nil, &both, &errs); code != exitMeasured ||
		!strings.Contains(both.String(), "Done     trip moved earlier, by a turn of the screw (by the log)") {
		t.Errorf("exit code %d\n%s%s", code, both.String(), errs.String())
	}
}

// results are the results under a folder with their times.
func results(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || filepath.Ext(path) != ".json" {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		b, err := os.ReadFile(path)
		all[path] = info.ModTime().String() + string(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// tinyTakes writes a shelf of two machines with short takes, and gives the results
// that a run leaves.
func tinyTakes(t *testing.T, dir string, takes int) map[string][]byte {
	t.Helper()
	rec := synth.Plain()
	rec.Rate = 16000
	for i := range takes {
		scene := &mechanism.Scenario{Name: "tiny", Machine: mechanism.Sound(), Hand: mechanism.Brisk(),
			Text: "the ferry is late\nso is the mail", Palette: synth.NewPalette(21), Recording: rec, Seed: uint64(i % 3)}
		at := filepath.Join(dir, "shelf-"+string(rune('1'+i%2)))
		if err := os.MkdirAll(at, 0o777); err != nil {
			t.Fatal(err)
		}
		_, samples, rate, err := scene.Record()
		if err == nil {
			err = audio.WriteWAV(filepath.Join(at, string(rune('a'+i))+".wav"), int(rate), 16, samples)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	var out, errs bytes.Buffer
	// Whether these few strokes can be measured is no matter here.
	if code := run(t.Context(), []string{"shelf", dir}, nil, &out, &errs); code != exitMeasured && code != exitUnusable {
		t.Fatalf("exit code %d, %s", code, errs.String())
	}
	return listed(t, dir)
}

// listed are the files under a folder but for takes and what a kill leaves behind.
func listed(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) == ".wav" || strings.HasPrefix(d.Name(), ".") {
			return err
		}
		all[path], err = os.ReadFile(path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// Killed at random points fifty times and run again: at no time is a result torn, and
// the last run leaves what an undisturbed one does.
func TestShelfKilled(t *testing.T) {
	dir := t.TempDir()
	const takes = 6
	want := tinyTakes(t, dir, takes)
	if len(want) != takes {
		t.Fatalf("%d results, want %d", len(want), takes)
	}
	wipe := func() {
		for path := range want {
			if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
				t.Fatal(err)
			}
		}
	}
	shelf := func() *exec.Cmd { return exec.Command("loosedog", "shelf", dir, "--quiet") }
	start := time.Now()
	wipe()
	_ = shelf().Run() // exit code 3 where nothing can be measured
	whole := time.Since(start)
	r := rand.New(rand.NewPCG(50, 1))
	wipe()
	killed, cut := 0, 0
	for killed < 50 {
		cmd := shelf()
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		done := make(chan struct{})
		go func() { cmd.Wait(); close(done) }()
		select {
		case <-time.After(time.Duration(r.Float64() * float64(whole))):
			_ = cmd.Process.Kill() // it may just have ended
		case <-done:
		}
		<-done
		killed++
		got := listed(t, dir)
		for path, b := range got {
			if !bytes.Equal(b, want[path]) {
				t.Fatalf("kill %d: %s is not whole or differs", killed, path)
			}
		}
		switch len(got) {
		case takes:
			wipe()
		case 0:
		default:
			cut++
		}
	}
	if cut == 0 {
		t.Error("no kill fell into the middle of the work")
	}
	_ = shelf().Run()
	got := listed(t, dir)
	for path, b := range want {
		if !bytes.Equal(b, got[path]) {
			t.Errorf("%s differs in the end", path)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d files in the end, want %d", len(got), len(want))
	}
	t.Logf("%d kills, %d of them with the work half done", killed, cut)
}
