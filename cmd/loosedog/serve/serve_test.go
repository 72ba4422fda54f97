package serve

import (
	"context"
	"encoding/json"
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"loosedog/diagnose"
)

// A take comes in, is measured, looked at and taken away; the folder holds plain
// files.
func TestTakeThroughAndThrough(t *testing.T) {
	s := serving(t, DefaultLimits, nil)
	if code, text := s.put("harbour.wav", wav(3)); code != 201 {
		t.Fatalf("%d %s", code, text)
	}
	if _, _, text := s.ask("GET", "/api/folder", nil, nil); !strings.Contains(text, `"measured":false`) || !strings.Contains(text, `"sheet":"type this"`) {
		t.Errorf("listed before it is measured: %s", text)
	}
	if code, _, text := s.ask("GET", "/api/takes/harbour.wav", nil, nil); code != 200 || !strings.Contains(text, `"measured":false`) {
		t.Errorf("before it is measured: %d %s", code, text)
	}
	ask := `{"action":"half","pitch":12,"text":"the ferry","corrections":[{"event":"landing","stroke_s":1.2,"to_s":1.3}]}`
	code, _, text := s.ask("POST", "/api/takes/harbour.wav/measure", []byte(ask), nil)
	if code != 200 || !strings.HasSuffix(text, `{"name":"harbour.wav"}`+"\n") || !strings.Contains(text, `"part":"reading"`) {
		t.Fatalf("%d %q", code, text)
	}
	if got := s.files(); !slices.Equal(got, []string{"harbour.json", "harbour.wav"}) {
		t.Errorf("the folder holds %q", got)
	}
	for range 2 { // read, then remembered
		if _, _, text := s.ask("GET", "/api/folder", nil, nil); !strings.Contains(text, `"measured":true,"usable":true,"words":"3 strokes; crowded 1`) {
			t.Errorf("listed: %s", text)
		}
	}
	var kept diagnose.Take
	b, err := os.ReadFile(filepath.Join(s.folder, "harbour.json"))
	if err != nil || json.Unmarshal(b, &kept) != nil {
		t.Fatal(err)
	}
	if kept.Recording.Path != "harbour.wav" || kept.Asked == nil || kept.Asked.Text != "the ferry" || len(kept.Corrections) != 1 {
		t.Errorf("kept: %+v %+v", kept.Recording, kept.Asked)
	}
	code, _, text = s.ask("GET", "/api/takes/harbour.wav", nil, nil)
	if code != 200 || !strings.Contains(text, `"headline":"1 letter crowded`) || !strings.Contains(text, `"per_s":`) {
		t.Errorf("looked at: %d %.200s", code, text)
	}
	code, _, text = s.ask("GET", "/api/takes/harbour.wav/sound?pair=1&from=1.1&to=1.5", nil, nil)
	if code != 200 || !strings.Contains(text, `"pcm":"`) || !strings.Contains(text, `"rate_hz":8000`) {
		t.Errorf("its sound: %d %.100s", code, text)
	}
	for _, bad := range []string{"from=1&to=0", "from=0&to=9", "from=x&to=1", "from=NaN&to=1", "from=0&to=Inf", "from=-1&to=1", ""} {
		if code, _, text := s.ask("GET", "/api/takes/harbour.wav/sound?pair=0&"+bad, nil, nil); code != 400 {
			t.Errorf("%s: %d %s", bad, code, text)
		}
	}
	for kind, want := range map[string]string{
		"picture": "\x89PNG", "note": "# harbour.wav", "table": "index,kind", "data": `{`, "labels": "0.996000", "page": "<!doctype html>",
	} {
		code, h, text := s.ask("GET", "/api/takes/harbour.wav/save/"+kind, nil, nil)
		if code != 200 || !strings.HasPrefix(text, want) || !strings.Contains(h.Get("Content-Disposition"), "harbour.") {
			t.Errorf("%s: %d %v %.60q", kind, code, h, text)
		}
	}
	if code, _, _ := s.ask("GET", "/api/takes/harbour.wav/save/poem", nil, nil); code != 404 {
		t.Errorf("an output that is none: %d", code)
	}
}

// Nothing is written over without being asked, and what is not ours stays.
func TestNothingIsOverwritten(t *testing.T) {
	s := serving(t, DefaultLimits, nil)
	s.put("a.wav", wav(1))
	s.ask("POST", "/api/takes/a.wav/measure", []byte("{}"), nil)
	code, text := s.put("a.wav", wav(2))
	if code != 409 || !strings.Contains(text, `"free":"a 2.wav"`) {
		t.Fatalf("a name that is taken: %d %s", code, text)
	}
	if b, _ := os.ReadFile(filepath.Join(s.folder, "a.wav")); len(b) != len(wav(1)) {
		t.Error("the take was written over")
	}
	if code, _, text := s.ask("PUT", "/api/takes/a.wav?replace=1", wav(2), nil); code != 201 {
		t.Errorf("asked to replace: %d %s", code, text)
	}
	if got := s.files(); !slices.Equal(got, []string{"a.wav"}) {
		t.Errorf("the old take's result is still there: %q", got)
	}
	for name, body := range map[string]string{"other program's": `{"schema":"other/1"}`, "no JSON": "hello", "a list": `[]`,
		"lists that do not fit": `{"schema":"loosedog.take/1","strokes":[{"index":7}]}`} {
		s.write("b.wav", wav(1))
		s.write("b.json", []byte(body))
		if code, _, text := s.ask("POST", "/api/takes/b.wav/measure", []byte("{}"), nil); code != 409 {
			t.Errorf("%s: %d %s", name, code, text)
		} else if e := s.errorOf(text); !strings.Contains(e, "b.json") {
			t.Errorf("%s: %s", name, e)
		}
		if code, _, _ := s.ask("PUT", "/api/takes/b.wav?replace=1", wav(2), nil); code != 409 {
			t.Errorf("%s: a take was put beside it: %d", name, code)
		}
		if b, _ := os.ReadFile(filepath.Join(s.folder, "b.json")); string(b) != body {
			t.Errorf("%s was changed", name)
		}
	}
	// A recording does not slip in beside a file that would be its result.
	s.write("c.json", []byte("hello"))
	if code, _ := s.put("c.wav", wav(1)); code != 409 {
		t.Errorf("beside a file that would be its result: %d", code)
	}
}

// Two takes of one name with different endings would share a result: the name
// offered for the second works.
func TestKeepBothEndings(t *testing.T) {
	s := serving(t, DefaultLimits, nil)
	s.write("a.m4a", []byte("lossy"))
	code, text := s.put("a.wav", wav(1))
	var got struct{ Taken, Free string }
	if err := json.Unmarshal([]byte(text), &got); code != 409 || err != nil || got.Taken != "a.wav" || got.Free != "a 2.wav" {
		t.Fatalf("beside a take of that name: %d %s", code, text)
	}
	if code, text := s.put(url.PathEscape(got.Free), wav(1)); code != 201 {
		t.Errorf("under the name that was offered: %d %s", code, text)
	}
	if got := s.files(); !slices.Equal(got, []string{"a 2.wav", "a.m4a"}) {
		t.Errorf("the folder holds %q", got)
	}
}

// A result that two takes share is shown as that of the take which it names, and
// the other says why it has none.
func TestOneResultOneTake(t *testing.T) {
	s := serving(t, DefaultLimits, nil)
	s.put("a.wav", wav(3))
	s.ask("POST", "/api/takes/a.wav/measure", []byte("{}"), nil)
	s.write("a.m4a", []byte("lossy"))
	for range 2 { // read, then remembered
		_, _, text := s.ask("GET", "/api/folder", nil, nil)
		var got struct{ Takes []entry }
		if err := json.Unmarshal([]byte(text), &got); err != nil || len(got.Takes) != 2 {
			t.Fatalf("%v: %s", err, text)
		}
		for _, e := range got.Takes {
			if e.Measured != (e.Name == "a.wav") {
				t.Errorf("listed: %+v", e)
			}
		}
	}
	if code, _, text := s.ask("GET", "/api/takes/a.wav", nil, nil); code != 200 || !strings.Contains(text, `"measured":true`) {
		t.Errorf("the take that it names: %d %.200s", code, text)
	}
	if code, _, text := s.ask("GET", "/api/takes/a.m4a", nil, nil); code != 200 || !strings.Contains(text, `"measured":false`) || !strings.Contains(text, "would share one result") {
		t.Errorf("the other: %d %.200s", code, text)
	}
	// One that names neither is the first's.
	if got := owner("/elsewhere/b.wav", []string{"a.wav", "a.m4a"}); got != "a.m4a" {
		t.Errorf("it is %q's", got)
	}
}

// A measurement that fails says why and keeps what was there.
func TestMeasureFails(t *testing.T) {
	s := serving(t, DefaultLimits, func(context.Context, string, Ask, func(string, float64)) (*diagnose.Take, error) {
		return nil, errors.New("the disk is full")
	})
	s.write("a.wav", wav(1))
	old, _ := json.Marshal(lineTake())
	s.write("a.json", old)
	_, _, text := s.ask("POST", "/api/takes/a.wav/measure", []byte("{}"), nil)
	if !strings.Contains(text, `{"error":"the disk is full"}`) {
		t.Errorf("said %q", text)
	}
	if b, _ := os.ReadFile(filepath.Join(s.folder, "a.json")); string(b) != string(old) {
		t.Error("the old result is gone")
	}
	for _, bad := range []string{`{"action":"sideways"}`, `{"pitch":11}`, `{"corrections":7}`, `nonsense`, ``} {
		if code, _, text := s.ask("POST", "/api/takes/a.wav/measure", []byte(bad), nil); code != 400 {
			t.Errorf("%s: %d %s", bad, code, text)
		}
	}
}

func TestNewNameIsAName(t *testing.T) {
	for in, want := range map[string]string{
		"shelf 7, sea green.wav": "shelf 7, sea green.wav", "take.m4a": "take.wav", "a.b.c": "a.b.c.wav", "/etc/passwd": "passwd.wav",
		`C:\My takes\one.mp3`: "one.wav", "..": "take.wav", "NUL": "take NUL.wav", "com1.x.wav": "take com1.x.wav", "<b>": "b.wav", "": "take.wav",
	} {
		if got := newName(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		name := newName(rapid.String().Draw(t, "name"))
		if err := takeName(name); err != nil || filepath.Ext(name) != ".wav" || newName(name) != name {
			t.Fatalf("%q: %v", name, err)
		}
	})
}

func TestFolderThatIsNone(t *testing.T) {
	if _, err := New(Options{Folder: filepath.Join(t.TempDir(), "none")}); err == nil {
		t.Error("a folder that is not there was opened")
	}
}

// Takes of the folder are compared, and only those.
func TestCompare(t *testing.T) {
	s := serving(t, DefaultLimits, nil)
	for _, name := range []string{"before.wav", "after.wav"} {
		s.put(name, wav(3))
		s.ask("POST", "/api/takes/"+name+"/measure", []byte(`{"action":"full"}`), nil)
	}
	s.write("unmeasured.wav", wav(1))
	code, _, text := s.ask("GET", "/api/compare?before=before.wav&after=after.wav&done=cleaned", nil, nil)
	var got struct {
		Comparison struct{ Verdict, Done string }
		Text       string
		Cautions   []string
	}
	if err := json.Unmarshal([]byte(text), &got); code != 200 || err != nil {
		t.Fatalf("%d %s", code, text)
	}
	// Three strokes say nothing.
	if got.Comparison.Verdict != "cannot tell" || got.Comparison.Done != "cleaned" || got.Text == "" || len(got.Cautions) == 0 {
		t.Errorf("%+v", got)
	}
	for kind, want := range map[string]string{"picture": "\x89PNG", "note": "", "data": "{"} {
		code, h, text := s.ask("GET", "/api/compare/"+kind+"?before=before.wav&after=after.wav", nil, nil)
		if code != 200 || !strings.HasPrefix(text, want) || !strings.Contains(h.Get("Content-Disposition"), "before against after.") {
			t.Errorf("%s: %d %v", kind, code, h)
		}
	}
	for q, want := range map[string]int{
		"": 400, "before=before.wav": 400, "before=before.wav&after=before.wav": 400, "before=before.wav&after=none.wav": 404,
		"before=before.wav&after=unmeasured.wav": 404, "before=..%2Fx.wav&after=after.wav": 400,
		"before=before.wav&after=after.wav&done=" + strings.Repeat("x", 600): 400,
		"before=before.wav" + strings.Repeat("&after=after.wav", 13):         400,
	} {
		code, _, text := s.ask("GET", "/api/compare?"+q, nil, nil)
		if code != want {
			t.Errorf("%.60s: %d %s", q, code, text)
		}
		s.errorOf(text)
	}
	if got := s.files(); len(got) != 5 {
		t.Errorf("comparing left %q", got)
	}
}

// The machine file of the folder is read for every measurement; one that cannot
// be used stops it with its reason.
func TestMachineFile(t *testing.T) {
	var said *diagnose.Machine
	s := serving(t, DefaultLimits, func(_ context.Context, _ string, ask Ask, _ func(string, float64)) (*diagnose.Take, error) {
		said = ask.Machine
		return lineTake(), nil
	})
	s.write("a.wav", wav(1))
	s.write("machine.toml", []byte("name = \"sea green\"\npitch = 12\nteeth = 14\n"))
	if code, _, text := s.ask("POST", "/api/takes/a.wav/measure", []byte("{}"), nil); code != 200 || said == nil || said.Teeth != 14 {
		t.Errorf("%d %s %+v", code, text, said)
	}
	var kept diagnose.Take
	if b, err := os.ReadFile(filepath.Join(s.folder, "a.json")); err != nil || json.Unmarshal(b, &kept) != nil || kept.Asked == nil || kept.Asked.Pitch != 12 || kept.Asked.Action != "full" {
		t.Errorf("kept as asked: %+v", kept.Asked)
	}
	if _, _, text := s.ask("GET", "/api/folder", nil, nil); !strings.Contains(text, `"name":"sea green"`) {
		t.Errorf("the page is not told: %s", text)
	}
	s.write("machine.toml", []byte("wheels = 4"))
	code, _, text := s.ask("POST", "/api/takes/a.wav/measure", []byte("{}"), nil)
	if e := s.errorOf(text); code != 409 || !strings.Contains(e, "machine.toml") {
		t.Errorf("%d %s", code, e)
	}
	if code, _, text := s.ask("GET", "/api/folder", nil, nil); code != 200 || !strings.Contains(text, "wheels") {
		t.Errorf("the page is not told: %d %s", code, text)
	}
}
