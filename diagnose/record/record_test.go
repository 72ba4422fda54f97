package record

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/diagnose/mechanism/ears"
)

// The tests measure by events: a take's file holds the name of a machine and a seed,
// and measuring it types a page on that machine. Nothing of it is sound.
var machinesByName = map[string]mechanism.Machine{
	"sound": mechanism.Sound(),
	"late":  mechanism.Sound().LateTrip(0.002),
	"weak":  mechanism.Sound().WeakPull(0.5, 0.45),
}

func measureByEvents(_ context.Context, path string, opt diagnose.Options) (*diagnose.Take, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var name string
	var seed uint64
	if _, err := fmt.Sscanf(string(b), "%s %d", &name, &seed); err != nil {
		return nil, errors.New("it is no recording")
	}
	switch name {
	case "crash":
		panic("a bug")
	case "silent":
		t := &diagnose.Take{Schema: diagnose.Schema}
		t.Recording.Problems = append(t.Recording.Problems, struct {
			Code string `json:"code"`
			Text string `json:"text"`
		}{"no-typing", "No typing was heard in it."})
		return t, nil
	}
	m, ok := machinesByName[name]
	if !ok {
		return nil, errors.New("it is no recording")
	}
	p, err := mechanism.Simulate(m, mechanism.Staccato(0.12), mechanism.Quay, seed)
	if err != nil {
		return nil, err
	}
	return diagnose.Measure(path, ears.Perfect().Hear(p, seed), nil, opt), nil
}

// writeJSON is the least that keeps a result: whole, by rename.
func writeJSON(path string, t *diagnose.Take) error {
	b, err := json.Marshal(t)
	if err != nil {
		return err
	}
	part := path + ".part"
	if err := os.WriteFile(part, b, 0o666); err != nil {
		return err
	}
	return os.Rename(part, path)
}

func byEvents() Work { return Work{Measure: measureByEvents, Write: writeJSON} }

// folder makes a machine's folder of files; a take's time is that of its name's date.
func folder(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "shelf-7")
	for name, text := range files {
		put(t, dir, name, text)
	}
	return dir
}

func put(t testing.TB, dir, name, text string) {
	t.Helper()
	if err := os.MkdirAll(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	made := at("2026-01-01 12:00")
	if err := os.Chtimes(path, made, made); err != nil {
		t.Fatal(err)
	}
}

// bring opens a folder and brings it up to date.
func bring(t testing.TB, dir string, w Work) (*Machine, Done) {
	t.Helper()
	m, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	done, err := w.Bring(t.Context(), []*Machine{m})
	if err != nil {
		t.Fatal(err)
	}
	return m, done
}

// What is measured again, and what is not.
func TestMeasuredOnce(t *testing.T) {
	dir := folder(t, map[string]string{"2026-03-01.wav": "sound 1", "2026-04-01.wav": "weak 2", LogFile: "2026-03-15  dusted\n"})
	count := func(want int, why string) {
		t.Helper()
		m, done := bring(t, dir, byEvents())
		if done.Measured != want || done.Left != 0 {
			t.Errorf("%s: %d measured, want %d; %d left", why, done.Measured, want, done.Left)
		}
		for _, k := range m.Takes {
			if !k.Usable() {
				t.Errorf("%s: %s has no figures: %s", why, k.File, k.Why)
			}
		}
	}
	count(2, "at first")
	count(0, "again")
	later := at("2026-01-02")
	if err := os.Chtimes(filepath.Join(dir, "2026-03-01.wav"), later, later); err != nil {
		t.Fatal(err)
	}
	count(1, "a recording with another time")
	put(t, dir, "2026-04-01.wav", "weak 22")
	count(1, "a recording of another length")
	put(t, dir, MachineFile, "name = \"sea green\"\nlast_done = \"dusted\"\n")
	count(2, "a new machine file")
	put(t, dir, MachineFile, "name = \"lime green\"\nlast_done = \"cleaned\"\n")
	count(0, "other words in the machine file")
	put(t, dir, MachineFile, "name = \"lime green\"\npitch = 12\n")
	count(2, "another pitch in the machine file")
	put(t, dir, MachineFile, "name = \"lime green\"\npitch = 13\n")
	count(0, "a machine file that cannot be used")
	put(t, dir, MachineFile, "name = \"lime green\"\npitch = 12\n")
	count(0, "mended")
	// A result of another way of measuring.
	path := filepath.Join(dir, "2026-03-01.json")
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	other := bytes.Replace(b, fmt.Appendf(nil, `"version":%d`, diagnose.MeasuringVersion), []byte(`"version":0`), 1)
	if bytes.Equal(other, b) {
		t.Fatal("no version was found")
	}
	for why, text := range map[string][]byte{
		"another version":         other,
		"a result that was cut":   b[:len(b)/2],
		"an empty result":         nil,
		"a result without a head": []byte(`{"schema":"loosedog.take/1","recording":{},"strokes":[],"lines":[]}`),
	} {
		if err := os.WriteFile(path, text, 0o666); err != nil {
			t.Fatal(err)
		}
		count(1, why)
		if again, _ := os.ReadFile(path); !bytes.Equal(again, b) {
			t.Errorf("%s: another result than at first", why)
		}
	}
}

// Every odd thing is told with its reason, and the rest goes on.
func TestOddFolder(t *testing.T) {
	dir := folder(t, map[string]string{
		"good.wav": "sound 1", "broken.wav": "noise", "crash.wav": "crash 1", "silent.wav": "silent 1",
		"same.wav": "sound 2", "same.flac": "sound 3",
		"foreign.wav": "sound 4", "foreign.json": `{"schema": "of something else"}`,
		"notes.md": "x", ".hidden.wav": "sound 5", "-x --y.wav": "sound 6", "tab\there.wav": "sound 7", "\xff\xfe.wav": "sound 8",
		MachineFile: "colour = \"sea green\"", LogFile: "2026-13-01 x\n2026-01-02 dusted\n",
	})
	if err := os.Mkdir(filepath.Join(dir, "folder.wav"), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("nowhere", filepath.Join(dir, "link.wav")); err != nil {
		t.Fatal(err)
	}
	m, _ := bring(t, dir, byEvents())
	want := map[string]string{
		"good.wav": "", "same.wav": "", "-x --y.wav": "", "tab\there.wav": "", "\xff\xfe.wav": "",
		"broken.wav": "no recording", "crash.wav": "loosedog itself", "silent.wav": "No typing",
		"same.flac": "same.json", "foreign.wav": "not loosedog's", "link.wav": "cannot be read",
	}
	if len(m.Takes) != len(want) {
		t.Errorf("%d takes, want %d", len(m.Takes), len(want))
	}
	for _, k := range m.Takes {
		why, ok := want[k.File]
		got := k.without().Why
		if !ok || k.Usable() != (why == "") || !strings.Contains(got, why) || strings.ContainsAny(got, "\n") {
			t.Errorf("%q: usable %v, %q", k.File, k.Usable(), got)
		}
	}
	if b, _ := os.ReadFile(filepath.Join(dir, "foreign.json")); !strings.Contains(string(b), "something else") {
		t.Error("a foreign file was written over")
	}
	s := NewShelf("shelf", []*Machine{m}, nil)
	r := s.Machines[0]
	if r.Machine != "sea green" || r.Measured != 5 || len(r.NotMeasured) != 6 || len(r.Problems) != 1 || r.LastDone != "dusted" {
		t.Errorf("%+v", r)
	}
	for _, p := range []string{t.TempDir(), filepath.Join(dir, "good.wav"), "nowhere"} {
		machines, _, err := Machines(p)
		if (err == nil) != (len(machines) == 0 && p != "nowhere" && filepath.Ext(p) == "") {
			t.Errorf("%s: %d machines, %v", p, len(machines), err)
		}
	}
}

// A result that lies there with corrections by hand is measured anew with them.
func TestCarriesCorrections(t *testing.T) {
	dir := folder(t, map[string]string{"a.wav": "sound 1"})
	bring(t, dir, byEvents())
	path := filepath.Join(dir, "a.json")
	old, err := ReadResult(path)
	if err != nil {
		t.Fatal(err)
	}
	old.Kept = nil
	old.Asked = &diagnose.Asked{Action: "half", Pitch: 12, Text: "said"}
	old.PageCount = &diagnose.PageCount{Counted: 9}
	old.Corrections = []diagnose.Correction{{Event: diagnose.EventTrip, StrokeS: old.Strokes[3].StrikeS, ToS: diagnose.Unknown()}}
	if err := writeJSON(path, old); err != nil {
		t.Fatal(err)
	}
	w := byEvents()
	var got diagnose.Options
	w.Measure = func(ctx context.Context, path string, opt diagnose.Options) (*diagnose.Take, error) {
		got = opt
		return measureByEvents(ctx, path, opt)
	}
	bring(t, dir, w)
	if got.Action != diagnose.HalfSpace || got.Pitch != 12 || got.Text != "said" || got.PageCount == nil || *got.PageCount != 9 || len(got.Corrections) != 1 {
		t.Errorf("measured anew with %+v", got)
	}
	put(t, dir, MachineFile, "pitch = 10\naction = \"full\"\n")
	bring(t, dir, w)
	if got.Action != diagnose.FullSpace || got.Pitch != 10 || got.Text != "said" {
		t.Errorf("the machine file did not count: %+v", got)
	}
}

// On read-only media nothing is kept, and everything is told all the same.
func TestCannotKeep(t *testing.T) {
	dir := folder(t, map[string]string{"a.wav": "sound 1", "b.wav": "weak 2"})
	w := byEvents()
	w.Write = func(string, *diagnose.Take) error { return errors.New("read-only file system") }
	m, done := bring(t, dir, w)
	if done.Measured != 2 || len(done.Unkept) != 1 || !m.Takes[0].Usable() || !m.Takes[1].Usable() {
		t.Errorf("%+v", done)
	}
}

// Stopped in the middle, what is done is kept and the next run does the rest.
func TestStopped(t *testing.T) {
	files := map[string]string{}
	for i := range 12 {
		files[fmt.Sprintf("%02d.wav", i)] = fmt.Sprintf("sound %d", i)
	}
	dir := folder(t, files)
	ctx, stop := context.WithCancel(t.Context())
	w := byEvents()
	w.Tell = func(done, all int) {
		if done == 4 {
			stop()
		}
	}
	m, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	done, err := w.Bring(ctx, []*Machine{m})
	if !errors.Is(err, context.Canceled) || done.Left+done.Measured != 12 || done.Measured < 4 || done.Left == 0 {
		t.Fatalf("%+v, %v", done, err)
	}
	if _, then := bring(t, dir, byEvents()); then.Measured != done.Left {
		t.Errorf("%d measured then, want %d", then.Measured, done.Left)
	}
}

// Two runs at once end with the results of one.
func TestTogether(t *testing.T) {
	files := map[string]string{}
	for i := range 10 {
		files[fmt.Sprintf("%02d.wav", i)] = fmt.Sprintf("weak %d", i)
	}
	alone, both := folder(t, files), folder(t, files)
	bring(t, alone, byEvents())
	var runs sync.WaitGroup
	var parts atomic.Int64
	w := byEvents()
	w.Write = func(path string, k *diagnose.Take) error {
		// A part of its own, as report.WriteFile has.
		b, err := json.Marshal(k)
		part := fmt.Sprintf("%s.%d.part", path, parts.Add(1))
		return errors.Join(err, os.WriteFile(part, b, 0o666), os.Rename(part, path))
	}
	for range 2 {
		runs.Add(1)
		go func() {
			defer runs.Done()
			m, err := Open(both)
			if err == nil {
				_, err = w.Bring(t.Context(), []*Machine{m})
			}
			if err != nil {
				t.Error(err)
			}
		}()
	}
	runs.Wait()
	for name := range files {
		name = ResultFile(name)
		a, _ := os.ReadFile(filepath.Join(alone, name))
		b, _ := os.ReadFile(filepath.Join(both, name))
		if len(a) == 0 || !bytes.Equal(a, b) {
			t.Errorf("%s differs", name)
		}
	}
}

func TestSweep(t *testing.T) {
	dir := folder(t, map[string]string{".a.json.12-0.part": "x", ".b.json.13-0.part": "x", ".other.part": "x", ".out.14-0.part": "x", ".out.wav.part": "x", "a.wav": "sound 1"})
	now := time.Now()
	if err := os.Chtimes(filepath.Join(dir, ".b.json.13-0.part"), now, now); err != nil {
		t.Fatal(err)
	}
	sweep(dir, now)
	for name, stays := range map[string]bool{".a.json.12-0.part": false, ".b.json.13-0.part": true, ".other.part": true, ".out.14-0.part": false, ".out.wav.part": true, "a.wav": true} {
		if _, err := os.Stat(filepath.Join(dir, name)); (err == nil) != stays {
			t.Errorf("%s: stays %v", name, err == nil)
		}
	}
}

func TestDates(t *testing.T) {
	dir := folder(t, map[string]string{
		"spring.wav": "sound 1", "2026-02-03.wav": "sound 2", "tagged 2020-01-01.wav": "sound 3", "plain.wav": "sound 4",
		LogFile: "2026-03-20 take spring.wav\n",
	})
	w := byEvents()
	w.TimeTag = func(_ context.Context, path string) (time.Time, bool) {
		return at("2026-05-05 10:00"), strings.Contains(path, "tagged")
	}
	for range 2 { // measured, then read back
		m, _ := bring(t, dir, w)
		var got []string
		for _, k := range m.Takes {
			got = append(got, k.File+" "+k.Date.Format(time.DateOnly)+" "+k.DateFrom)
		}
		want := "plain.wav 2026-01-01 file time; 2026-02-03.wav 2026-02-03 name; spring.wav 2026-03-20 log; tagged 2020-01-01.wav 2026-05-05 time tag"
		if s := strings.Join(got, "; "); s != want {
			t.Errorf("%s\nwant %s", s, want)
		}
	}
}

// The shelf's order, and what a history and a comparison make of the log.
func TestShelfAndHistory(t *testing.T) {
	shelf := t.TempDir()
	for name, files := range map[string]map[string]string{
		"1": {"2026-01-01.wav": "sound 1", "2026-06-01.wav": "weak 2", MachineFile: "number = 1\ncolour = \"brick\""},
		"2": {"2026-01-01.wav": "sound 3", "2026-06-01.wav": "sound 4"},
		"3": {"2026-01-01.wav": "silent 1"},
		"4": {LogFile: "2026-01-01 bought\n"},
		"5": {"2026-01-01.wav": "late 5", "2026-02-01.wav": "late 6", "2026-03-01.wav": "sound 7", "2026-04-01.wav": "sound 8",
			LogFile: "2026-02-14  trip moved earlier\n2026-03-20 dusted\n"},
		"empty": {"readme.md": "x"},
	} {
		for file, text := range files {
			put(t, filepath.Join(shelf, name), file, text)
		}
	}
	machines, problems, err := Machines(shelf)
	if err != nil || len(problems) > 0 || len(machines) != 5 {
		t.Fatalf("%d machines, %q, %v", len(machines), problems, err)
	}
	if _, err := byEvents().Bring(t.Context(), machines); err != nil {
		t.Fatal(err)
	}
	s := NewShelf(shelf, machines, problems)
	if r := s.Machines[0]; r.Machine != "1, brick" || r.Attention != 1 || !r.Changed || !(r.TravelChange.Value > 5) {
		t.Errorf("first is %+v", r)
	}
	for i, r := range s.Machines {
		if usable := r.Measured > 0; usable != (r.Attention == i+1) || i > 2 == usable {
			t.Errorf("row %d: %s, attention %d", i, r.Machine, r.Attention)
		}
		if r.Machine == "2" && (r.Changed || !r.TravelChange.Value.Known()) {
			t.Errorf("a travel that did not change: %+v", r.TravelChange)
		}
	}
	h := NewHistory(machines[4])
	if len(h.Takes) != 4 || len(h.Changes) != 1 {
		t.Fatalf("%d takes, changes %+v", len(h.Takes), h.Changes)
	}
	if c := h.Changes[0]; c.Measure != "lead" || c.Before != 1 || c.After != 2 || len(c.Done) != 1 || c.Done[0] != "2026-02-14: trip moved earlier" {
		t.Errorf("%+v", c)
	}
	if h := NewHistory(machines[3]); len(h.Takes) != 0 || len(h.Done) != 1 || len(h.Changes) != 0 {
		t.Errorf("%+v", h)
	}
	in := func(names ...string) (out []string) {
		for _, n := range names {
			out = append(out, filepath.Join(shelf, "5", n))
		}
		return out
	}
	for _, c := range []struct {
		before, after []string
		want          string
	}{
		{in("2026-01-01.wav", "2026-02-01.json"), in("2026-03-01.wav"), "trip moved earlier"},
		{in("2026-02-01.wav"), in("2026-04-01.wav"), "trip moved earlier; dusted"},
		{in("2026-04-01.wav"), in("2026-01-01.wav"), ""},
		{in("2026-01-01.wav"), []string{filepath.Join(shelf, "1", "2026-06-01.wav")}, ""},
		{in("2026-01-01.wav"), in("missing.wav"), ""},
		{nil, nil, ""},
		{nil, in("2026-01-01.wav"), ""},
	} {
		if got := DoneBetween(c.before, c.after); got != c.want {
			t.Errorf("between %v and %v: %q, want %q", c.before, c.after, got, c.want)
		}
	}
}

// A folder of a thousand takes that are all measured is looked through without
// reading their strokes.
func TestThousand(t *testing.T) {
	if testing.Short() {
		t.Skip("nothing runs at once in it, and it is long")
	}
	dir := folder(t, map[string]string{"0000.wav": "sound 1"})
	bring(t, dir, byEvents())
	result, err := os.ReadFile(filepath.Join(dir, "0000.json"))
	if err != nil {
		t.Fatal(err)
	}
	// Behind its head the result is not read.
	cut := bytes.Index(result, []byte(`"recording"`))
	short := append(bytes.Clone(result[:cut]), []byte(`"recording":{}}`)...)
	const n = 1000
	for i := 1; i < n; i++ {
		put(t, dir, fmt.Sprintf("%04d.wav", i), "sound 1")
		put(t, dir, fmt.Sprintf("%04d.json", i), string(short))
	}
	m, done := bring(t, dir, byEvents())
	if done.Measured != 0 || len(m.Takes) != n {
		t.Errorf("%d takes, %d measured", len(m.Takes), done.Measured)
	}
	if r := NewShelf("", []*Machine{m}, nil).Machines[0]; r.Measured != n {
		t.Errorf("%d with figures", r.Measured)
	}
}
