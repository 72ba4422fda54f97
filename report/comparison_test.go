package report

import (
	"bytes"
	"encoding/json"
	"io"
	"regexp"
	"strings"
	"testing"

	"loosedog/diagnose"
	"loosedog/diagnose/compare"
)

// adjusted are takes of a fixed rule from before and after an adjustment: the
// carriage travels a fifth faster, and the flicked strokes, every ninth, make a
// space now; the hand of the second is calmer.
func adjusted() (before, after []*diagnose.Take) {
	change := func(t *diagnose.Take, path string, flicked func(*diagnose.Stroke), travel float64) []*diagnose.Take {
		t.Recording.Path = path
		for i := range t.Strokes {
			s := &t.Strokes[i]
			s.Char = nil
			held := s.LatencyMS + diagnose.Number(7*(i*i%5)) - 12
			if i%9 == 4 {
				flicked(s)
				held = s.LatencyMS
			}
			if s.TravelMS.Known() {
				s.TravelMS *= diagnose.Number(travel)
				s.LatencyMS, s.ReadyMS = held, held+s.TravelMS
				s.ReleaseS, s.LandingS = s.StrikeS+held/1000, s.StrikeS+s.ReadyMS/1000
				s.SlackMS = s.IntervalMS - s.ReadyMS
			}
			if i > 0 && s.Line == t.Strokes[i-1].Line {
				judge(&t.Summary, s, t.Strokes[i-1])
			}
		}
		return []*diagnose.Take{t}
	}
	u := diagnose.Unknown()
	return change(passage(8, 60, 0.10), "shelf-7-before.wav", func(s *diagnose.Stroke) {
			s.MissedSpace, s.ReleaseS, s.LandingS, s.LatencyMS, s.TravelMS, s.ReadyMS, s.SlackMS = true, u, u, u, u, u, u
		}, 1), change(passage(8, 58, 0.02), "shelf-7-after.wav", func(s *diagnose.Stroke) {
			s.LatencyMS = 8 + diagnose.Number(s.Index%7)/5
		}, 0.8)
}

// comparisons are one of every kind, by name.
func comparisons(t testing.TB) (list map[string]*compare.Comparison, before, after []*diagnose.Take) {
	t.Helper()
	before, after = adjusted()
	opt := compare.Options{Resamples: 100, Done: "trip moved forward\n<b>half a turn</b> | \x1b[31m"}
	list = map[string]*compare.Comparison{
		"better":  compare.Takes(before, after, opt),
		"same":    compare.Takes(after, after, compare.Options{Resamples: 100}),
		"nothing": compare.Takes(nil, nil, compare.Options{}),
		"few":     compare.Takes(before, []*diagnose.Take{smallTake()}, opt),
		"empty":   {},
	}
	return list, before, after
}

func TestComparisonTextGolden(t *testing.T) {
	list, _, _ := comparisons(t)
	for _, name := range []string{"better", "same", "few"} {
		golden(t, "comparison_"+name+".txt", written(t, func(w io.Writer) error { return ComparisonText(w, list[name]) }))
	}
	golden(t, "comparison_note.md", written(t, func(w io.Writer) error {
		return ComparisonNote(w, list["better"], NoteOptions{Date: "2026-11-25", Machine: "shelf 7, sea green", Picture: "in a folder/note.png"})
	}))
	golden(t, "comparison.json", written(t, func(w io.Writer) error { return ComparisonJSON(w, list["few"]) }))
}

// No format shows markup or control characters from outside, no line is wider than
// the terminal, the cautions are in every note, and nothing unknown is a number.
func TestComparisonFormats(t *testing.T) {
	list, _, _ := comparisons(t)
	for name, c := range list {
		text := written(t, func(w io.Writer) error { return ComparisonText(w, c) })
		note := written(t, func(w io.Writer) error { return ComparisonNote(w, c, NoteOptions{}) })
		raw := written(t, func(w io.Writer) error { return ComparisonJSON(w, c) })
		for _, l := range strings.Split(string(text), "\n") {
			if columns(l) > textWidth {
				t.Errorf("%s: %d columns: %s", name, columns(l), l)
			}
		}
		for what, b := range map[string][]byte{"text": text, "note": note} {
			if bytes.ContainsAny(b, "\x1b") || bytes.Contains(b, []byte("NaN")) || bytes.Contains(b, []byte("%!")) {
				t.Errorf("%s: %s holds what it should not:\n%s", name, what, b)
			}
		}
		if regexp.MustCompile(`(^|[^\\])<b>`).Match(note) {
			t.Errorf("%s: the note holds markup", name)
		}
		for _, want := range []string{"mainspring", "service sheet", "One adjustment at a time"} {
			if !bytes.Contains(note, []byte(want)) {
				t.Errorf("%s: the note says nothing of %q", name, want)
			}
		}
		var back map[string]any
		if err := json.Unmarshal(raw, &back); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for key, v := range back {
			if v == nil {
				t.Errorf("%s: %s is null", name, key)
			}
		}
		if name != "empty" && back["schema"] != "loosedog.comparison/1" {
			t.Errorf("%s: schema %v", name, back["schema"])
		}
	}
}

func TestComparisonPicture(t *testing.T) {
	list, before, after := comparisons(t)
	for name, c := range list {
		raw := written(t, func(w io.Writer) error { return ComparisonPNG(w, c, before, after) })
		if b := decoded(t, raw).Bounds(); b.Dx() != 2000 || b.Dy() != 1400 {
			t.Errorf("%s: size %v", name, b)
		}
		if name == "better" {
			goldenPicture(t, "comparison.png", raw)
		}
	}
	// Takes that are not there, or hold nothing to draw.
	written(t, func(w io.Writer) error { return ComparisonPNG(w, list["better"], nil, nil) })
	written(t, func(w io.Writer) error {
		return ComparisonPNG(w, list["better"], []*diagnose.Take{deaf(passage(2, 30, 0.1), true)}, []*diagnose.Take{passage(2, 30, 0.1)})
	})
}

// In grey the two sides stay apart: what is open and pale before is dark after.
func TestComparisonInGrey(t *testing.T) {
	grey := func(c interface{ RGBA() (r, g, b, a uint32) }) float64 {
		r, g, b, _ := c.RGBA()
		return (0.299*float64(r) + 0.587*float64(g) + 0.114*float64(b)) / 65535
	}
	if a, b := grey(beforeFill), grey(afterInk); a-b < 0.4 {
		t.Errorf("before %.2f and after %.2f look alike in grey", a, b)
	}
}

func TestNoComparison(t *testing.T) {
	for name, write := range map[string]func(io.Writer) error{
		"text": func(w io.Writer) error { return ComparisonText(w, nil) },
		"json": func(w io.Writer) error { return ComparisonJSON(w, nil) },
		"note": func(w io.Writer) error { return ComparisonNote(w, nil, NoteOptions{}) },
		"png":  func(w io.Writer) error { return ComparisonPNG(w, nil, nil, nil) },
	} {
		var b bytes.Buffer
		if err := write(&b); err == nil || b.Len() > 0 {
			t.Errorf("%s of no comparison: error %v, %d bytes written", name, err, b.Len())
		}
	}
}
