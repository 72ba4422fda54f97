package diagnose

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"strings"
	"testing"
)

// What measure writes is what is read: writing it again gives the same bytes.
func TestReadTakeReadsWhatIsWritten(t *testing.T) {
	raw, err := os.ReadFile("testdata/take.json")
	if err != nil {
		t.Fatal(err)
	}
	take, err := ReadTake(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	again, err := json.Marshal(take)
	if err != nil {
		t.Fatal(err)
	}
	var want bytes.Buffer
	if err := json.Compact(&want, raw); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(again, want.Bytes()) {
		t.Errorf("read and written again it is\n%s\nnot\n%s", again, want.Bytes())
	}
}

func TestReadTakeLeftOutIsUnknown(t *testing.T) {
	take, err := ReadTake(strings.NewReader(`{"schema":"loosedog.take/1","lines":[{"line":0}],"strokes":[{"index":0,"kind":"type","line":0,"strike_s":1.5}]}`))
	if err != nil {
		t.Fatal(err)
	}
	s := take.Strokes[0]
	if s.StrikeS != 1.5 || s.TripS.Known() || s.LatencyMS.Known() || s.Confidence.Trip.Known() ||
		take.Summary.TravelMS.Median.Known() || take.Lines[0].BellS.Known() {
		t.Errorf("%+v", take)
	}
}

func TestReadTakeRefuses(t *testing.T) {
	stroke := func(s string) string {
		return `{"schema":"loosedog.take/1","lines":[{"line":0}],"strokes":[` + s + `]}`
	}
	for name, c := range map[string]struct{ in, says string }{
		"nothing":       {"", "empty"},
		"a WAV":         {"RIFF\x00\x00", "not JSON"},
		"another thing": {`{"name":"x"}`, "no schema"},
		"another one":   {`{"schema":"loosedog.comparison/1"}`, "loosedog.comparison/1"},
		"a newer one":   {`{"schema":"loosedog.take/2"}`, "loosedog.take/2"},
		"cut short":     {`{"schema":"loosedog.take/1","strokes":[`, "too early"},
		"two":           {`{"schema":"loosedog.take/1"}{}`, "after its end"},
		"a list":        {`[1]`, ""},
		"a word":        {`{"schema":"loosedog.take/1","strokes":[{"index":"one"}]}`, "index"},
		"kind":          {stroke(`{"index":0,"kind":"bell","line":0}`), "neither"},
		"order":         {stroke(`{"index":3,"kind":"type","line":0}`), "says it is stroke 3"},
		"line":          {stroke(`{"index":0,"kind":"type","line":7}`), "line 7"},
		"under zero":    {stroke(`{"index":0,"kind":"type","line":0,"travel_ms":-3}`), "under zero"},
		"far away":      {stroke(`{"index":0,"kind":"type","line":0,"strike_s":1e300}`), "no take has"},
		"position":      {stroke(`{"index":0,"kind":"type","line":0,"position":-1}`), "position -1"},
		"spacing":       {stroke(`{"index":0,"kind":"type","line":0,"spacing":"wide"}`), "spacing"},
	} {
		_, err := ReadTake(strings.NewReader(c.in))
		if !errors.Is(err, ErrNotTake) || !strings.Contains(err.Error(), c.says) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func FuzzReadTake(f *testing.F) {
	raw, err := os.ReadFile("testdata/take.json")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(raw)
	f.Add([]byte(`{"schema":"loosedog.take/1","lines":[{"line":0}],"strokes":[{"index":0,"kind":"type","line":0,"strike_s":1.5}]}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		take, err := ReadTake(bytes.NewReader(raw))
		if err != nil {
			return
		}
		// Whatever is believed can be written, and is then read as the same.
		one, err := json.Marshal(take)
		if err != nil {
			t.Fatal(err)
		}
		back, err := ReadTake(bytes.NewReader(one))
		if err != nil {
			t.Fatalf("%v\n%s", err, one)
		}
		two, err := json.Marshal(back)
		if err != nil || !bytes.Equal(one, two) {
			t.Fatalf("another take comes back: %s, %s", one, two)
		}
	})
}
