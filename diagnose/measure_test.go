package diagnose

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loosedog/audio"
	"loosedog/onset"
)

var update = flag.Bool("update", false, "write the golden files anew")

func TestTimesOfAStroke(t *testing.T) {
	// Lead 3, latency 50, travel 35, so ready 85; interval 100, so slack 15.
	m := Measure("a.wav", take(even(2, 1000, 100, 3, 50, 35)), nil, Options{})
	s := m.Strokes[0]
	for _, c := range []struct {
		name string
		got  Number
		want float64
	}{
		{"trip", s.TripS, 0.997}, {"strike", s.StrikeS, 1}, {"release", s.ReleaseS, 1.05}, {"landing", s.LandingS, 1.085},
		{"lead", s.LeadMS(), 3}, {"latency", s.LatencyMS, 50}, {"travel", s.TravelMS, 35},
		{"ready", s.ReadyMS, 85}, {"interval", s.IntervalMS, 100}, {"slack", s.SlackMS, 15},
		{"last interval", m.Strokes[1].IntervalMS, no}, {"last slack", m.Strokes[1].SlackMS, no},
		{"last ready", m.Strokes[1].ReadyMS, 85},
	} {
		if !near(float64(c.got), c.want, 1e-9) {
			t.Errorf("%s is %g, want %g", c.name, float64(c.got), c.want)
		}
	}
}

func TestUnheardEventsStayUnknown(t *testing.T) {
	m := Measure("a.wav", take([]onset.Stroke{
		letter(no, 1000, no, 1085),     // only the landing
		letter(1197, 1200, 1250, no),   // only the release
		letter(1397, 1400, 1390, 1480), // a release before its strike is none
		letter(1597, 1600, 1650, 1640), // nor can it land before its release
		letter(1797, 1800, 1850, 1885),
	}), nil, Options{})
	type known struct{ lead, latency, travel, ready, slack bool }
	for i, want := range []known{
		{false, false, false, true, true},
		{true, true, false, false, false},
		{true, false, true, true, true},
		{true, true, false, true, true},
		{true, true, true, true, false},
	} {
		s := m.Strokes[i]
		got := known{s.LeadMS().Known(), s.LatencyMS.Known(), s.TravelMS.Known(), s.ReadyMS.Known(), s.SlackMS.Known()}
		if got != want {
			t.Errorf("stroke %d: known %+v, want %+v", i, got, want)
		}
	}
	if c := m.Strokes[0].Confidence; c.Trip.Known() || c.Release.Known() || c.Landing != 1 {
		t.Errorf("confidence %+v: null where the event is absent", c)
	}
}

func TestIntervalsStayOnTheirLine(t *testing.T) {
	m := Measure("a.wav", take(even(2, 1000, 200, 3, 50, 35), even(2, 3000, 200, 3, 50, 35)), nil, Options{})
	if m.Strokes[1].IntervalMS.Known() {
		t.Error("an interval across the carriage return")
	}
	if spacingOf(m, 2) != "" || m.Strokes[2].Position != 0 {
		t.Error("the first letter of a line has none before it, and stands at 0")
	}
}

// Words a minute, of 5 strokes: an even interval of 12 000/wpm milliseconds. The
// speeds are those of published records and of the keystroke-level model (Card,
// Moran and Newell 1980: 135 wpm .08 s, 90 wpm .12, 55 wpm .20, 40 wpm .28,
// rounded there); 147 wpm is the hour's record on a manual machine (New York
// Times, 23 October 1923), 81.6 ms.
func TestRateOfKnownSpeeds(t *testing.T) {
	for _, c := range []struct{ wpm, interval, tol float64 }{
		{147, 81.6, 0.05}, {159, 75.5, 0.05}, {142, 84.5, 0.05}, {216, 55.6, 0.05},
		{40, 300, 1e-9}, {60, 200, 1e-9}, {120, 100, 1e-9}, {180, 66.7, 0.05},
		{135, 80, 10}, {90, 120, 15}, {55, 200, 20}, {40, 280, 21},
	} {
		interval := 12000 / c.wpm
		if !near(interval, c.interval, c.tol) {
			t.Fatalf("12000/%g is not %g ms", c.wpm, c.interval)
		}
		m := Measure("a.wav", take(even(40, 500, interval, 1, 10, 30)), nil, Options{})
		if got := float64(m.Summary.RatePerS); !near(got, c.wpm/12, 1e-6) {
			t.Errorf("%g wpm: %g strokes a second, want %g", c.wpm, got, c.wpm/12)
		}
		if got := float64(m.Strokes[7].IntervalMS); !near(got, interval, 1e-6) {
			t.Errorf("%g wpm: interval %g ms, want %g", c.wpm, got, interval)
		}
	}
}

func TestRateLeavesPausesOut(t *testing.T) {
	l := append(even(20, 1000, 200, 3, 50, 35), even(20, 9000, 200, 3, 50, 35)...)
	m := Measure("a.wav", take(l), nil, Options{})
	if got := float64(m.Summary.RatePerS); !near(got, 5, 1e-9) {
		t.Errorf("rate %g with a pause of 4 s, want 5", got)
	}
}

func TestSummaryOfEvenTyping(t *testing.T) {
	m := Measure("a.wav", take(even(40, 1000, 200, 3, 50, 35)), nil, Options{})
	for name, c := range map[string]struct {
		got  Figure
		want float64
	}{
		"lead": {m.Summary.LeadMS, 3}, "latency": {m.Summary.LatencyMS, 50},
		"travel": {m.Summary.TravelMS, 35}, "ready": {m.Summary.ReadyMS, 85},
	} {
		for _, v := range []Number{c.got.Median, c.got.P95, c.got.Low, c.got.High} {
			if !near(float64(v), c.want, 1e-6) {
				t.Errorf("%s is %+v, want %g all over", name, c.got, c.want)
				break
			}
		}
	}
	if s := m.Summary; s.Strokes != 40 || s.Lines != 1 || s.Crowded+s.Piled+s.Skipped+s.MissedSpaces != 0 {
		t.Errorf("counts: %+v", s)
	}
}

// The space bar's thump is no strike: what is measured from it stays out of the
// figures of the type bars, while its travel is the same carriage's.
func TestSummaryKeepsTheSpaceBarApart(t *testing.T) {
	l := even(20, 1000, 200, 3, 50, 35)
	for i := range 20 {
		s := 1000 + 200*float64(20+i)
		l = append(l, bar(s-15, s, s+90, s+90+35))
	}
	m := Measure("a.wav", take(l), nil, Options{}).Summary
	if !near(float64(m.LeadMS.P95), 3, 1e-6) || !near(float64(m.LatencyMS.P95), 50, 1e-6) || !near(float64(m.ReadyMS.P95), 85, 1e-6) {
		t.Errorf("the space bar is in the figures: %+v", m)
	}
	few := Measure("a.wav", take(append(even(3, 1000, 200, 3, 50, 35), l[20:]...)), nil, Options{}).Summary
	if few.LatencyMS.Median.Known() || !near(float64(few.TravelMS.Median), 35, 1e-6) {
		t.Errorf("latency %+v, travel %+v; want unknown and 35", few.LatencyMS, few.TravelMS)
	}
}

func TestTooFewValuesAreSaid(t *testing.T) {
	m := Measure("a.wav", take(even(5, 1000, 200, 3, 50, 35)), nil, Options{})
	if m.Summary.TravelMS.Median.Known() {
		t.Error("a median of 5 values")
	}
	if len(m.Recording.Problems) != 1 || !strings.Contains(m.Recording.Problems[0].Text, "travel (5 of 6 strokes)") {
		t.Errorf("problems %v do not say why travel is unknown", m.Recording.Problems)
	}
	m = Measure("a.wav", take(even(6, 1000, 200, 3, 50, 35)), nil, Options{})
	if f := m.Summary.TravelMS; !f.Median.Known() || f.P95.Known() {
		t.Errorf("of 6 values the median is known, the 95th percentile is not: %+v", f)
	}
}

func TestUnusableTake(t *testing.T) {
	heard := take(even(40, 1000, 200, 3, 50, 35))
	heard.Usable = false
	heard.Problems = []audio.Problem{{Code: "buried", Text: "the clicks are buried"}}
	q := &audio.Quality{
		Format: audio.Format{SampleRate: 44100, Channels: 2}, Duration: 9, ClippedShare: no,
		Problems: []audio.Problem{{Code: "clipped", Text: "clipped"}, {Code: "buried", Text: "the clicks are buried"}},
	}
	m := Measure("b.wav", heard, q, Options{})
	if m.Recording.Usable || len(m.Strokes) != 40 || m.Summary.Strokes != 40 {
		t.Error("the sure strokes stay, the take is not usable")
	}
	if m.Summary.TravelMS.Median.Known() || m.Summary.RatePerS.Known() || m.Summary.MachineLatencyMS.Median.Known() {
		t.Errorf("figures of an unusable take: %+v", m.Summary)
	}
	if p := m.Recording.Problems; len(p) != 2 {
		t.Errorf("problems %v, want each once", p)
	}
	if r := m.Recording; r.SampleRateHz != 44100 || r.Channels != 2 || r.DurationS != 9 || r.ClippedShare.Known() {
		t.Errorf("recording %+v", r)
	}
}

func TestNothingHeard(t *testing.T) {
	for name, heard := range map[string]*onset.Take{"nil": nil, "empty": {}} {
		m := Measure("", heard, nil, Options{})
		if m.Recording.Usable || m.Recording.StrikeToNoiseDB.Known() {
			t.Errorf("%s: %+v", name, m.Recording)
		}
		b, err := json.Marshal(m)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, field := range []string{`"strokes":[]`, `"lines":[]`, `"findings":[]`, `"problems":[]`, `"median":null`} {
			if !bytes.Contains(b, []byte(field)) {
				t.Errorf("%s: no %s in %s", name, field, b)
			}
		}
	}
}

// A small take with one of everything, as JSON. The golden file's names are
// those that the program promises.
func TestGoldenJSON(t *testing.T) {
	first := even(7, 1000, 200, 3, 50, 36)
	first = append(first,
		letter(2297, 2300, 2350, 2386), // the next is struck on the move
		letter(2365, 2368, 2420, 2456),
		missed(2598, 2600),
		letter(2797, 2800, 2850, 2886), // piled
		shared(2997, 3000),
		bar(3035, 3050, 3090, 3126),
	)
	first[2].Skip = at(1522)
	heard := take(first, even(2, 6000, 250, 3, 50, 36))
	heard.Lines[0].Bell, heard.Lines[0].Return = 3.2, 4.1
	heard.Learnt.StrikeToNoise = 41.5
	heard.Problems = []audio.Problem{{Code: "reverberant", Text: "the room rings; lay the phone on the machine"}}
	q := &audio.Quality{Format: audio.Format{SampleRate: 48000, Channels: 1}, Duration: 8.5, ClippedShare: 0.0001}
	got, err := json.MarshalIndent(Measure("shelf-07-green.wav", heard, q, Options{}), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	got = append(got, '\n')
	golden := filepath.Join("testdata", "take.json")
	if *update {
		if err := os.WriteFile(golden, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("JSON differs from %s (run with -update after checking):\n%s", golden, got)
	}
}

func TestNumberJSON(t *testing.T) {
	for _, c := range []struct {
		n    Number
		want string
	}{
		{Unknown(), "null"}, {Number(math.Inf(-1)), "null"}, {0, "0"}, {Number(math.Copysign(0, -1)), "0"},
		{1.2224034490496782, "1.222403"}, {83.00000000000018, "83"}, {-0.00000001234567, "-1.23457e-8"}, {3600.1234564, "3600.123456"},
	} {
		b, err := json.Marshal(c.n)
		if err != nil || string(b) != c.want {
			t.Errorf("%v is %s (%v), want %s", float64(c.n), b, err, c.want)
		}
	}
	var n Number
	if err := json.Unmarshal([]byte(`"x"`), &n); err == nil {
		t.Error("a word was read as a number")
	}
}

// Flags win over sounds: a stroke that made no space of its own has no times of
// one, even if a sound was given to it.
func TestFlagsWinOverSounds(t *testing.T) {
	one := letter(997, 1000, 1050, 1085)
	one.Shared = true
	two := letter(1197, 1200, 1250, 1285)
	two.Missed = true
	m := Measure("a.wav", take([]onset.Stroke{one, two, letter(1397, 1400, 1450, 1485)}), nil, Options{})
	for i, s := range m.Strokes[:2] {
		if s.ReadyMS.Known() || s.LatencyMS.Known() || s.TravelMS.Known() || s.SlackMS.Known() {
			t.Errorf("stroke %d made no space and has times of one: %+v", i, s)
		}
		if !s.IntervalMS.Known() || spacingOf(m, i+1) != SpacingPiled {
			t.Errorf("stroke %d: interval %g, next %q", i, s.IntervalMS, spacingOf(m, i+1))
		}
	}
}
