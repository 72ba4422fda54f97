package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"

	"loosedog/audio"
	"loosedog/diagnose"
)

// number is any measurement: often unknown, mostly sensible, now and then wild.
func number(lo, hi float64) *rapid.Generator[diagnose.Number] {
	return rapid.Custom(func(t *rapid.T) diagnose.Number {
		switch rapid.IntRange(0, 19).Draw(t, "sort") {
		case 0, 1, 2:
			return diagnose.Unknown()
		case 3:
			return num(rapid.Float64().Draw(t, "wild"))
		case 4:
			return num(rapid.SampledFrom([]float64{0, -1, 1e300, -1e300, math.Inf(1), math.Inf(-1), math.MaxFloat64, math.SmallestNonzeroFloat64}).Draw(t, "edge"))
		default:
			return num(rapid.Float64Range(lo, hi).Draw(t, "x"))
		}
	})
}

func figures(t *rapid.T, name string) diagnose.Figure {
	g := number(0, 200)
	return diagnose.Figure{
		Median: g.Draw(t, name), P95: g.Draw(t, name+" p95"),
		Low: g.Draw(t, name+" low"), High: g.Draw(t, name+" high"),
	}
}

// anyTake is any take at all: nulls everywhere, times in disorder, strange
// strings.
var anyTake = rapid.Custom(func(t *rapid.T) *diagnose.Take {
	take := blankTake(rapid.String().Draw(t, "path"))
	take.Recording.Usable = rapid.IntRange(0, 5).Draw(t, "usable") > 0
	take.Recording.DurationS = rapid.Float64Range(0, 1e4).Draw(t, "duration")
	take.Recording.StrikeToNoiseDB = number(0, 60).Draw(t, "snr")
	take.Recording.ClippedShare = number(0, 1).Draw(t, "clipped")
	for range rapid.IntRange(0, 3).Draw(t, "problems") {
		take.Recording.Problems = append(take.Recording.Problems, audio.Problem{Code: "x", Text: rapid.String().Draw(t, "problem")})
	}
	texts := rapid.Ptr(rapid.SampledFrom([]string{"e", "=", "\x00", "錄", "", "crowded", "piled", "clear", "a b", "\u202e"}), true)
	line := 0
	for i := range rapid.IntRange(0, 30).Draw(t, "strokes") {
		if rapid.IntRange(0, 9).Draw(t, "new line") == 0 {
			line++
		}
		seconds, ms := number(0, 20), number(0, 400)
		take.Strokes = append(take.Strokes, diagnose.Stroke{
			Index: i, Kind: rapid.SampledFrom([]string{diagnose.KindType, diagnose.KindSpace, ""}).Draw(t, "kind"),
			Line: line, Position: rapid.IntRange(-3, 90).Draw(t, "position"), Char: texts.Draw(t, "char"),
			TripS: seconds.Draw(t, "trip"), StrikeS: seconds.Draw(t, "strike"),
			ReleaseS: seconds.Draw(t, "release"), LandingS: seconds.Draw(t, "landing"),
			Spacing: texts.Draw(t, "spacing"), ShortBy: number(0, 1).Draw(t, "short"),
			MissedSpace: rapid.Bool().Draw(t, "missed"), Skipped: rapid.Bool().Draw(t, "skipped"),
			IntervalMS: ms.Draw(t, "interval"), LatencyMS: ms.Draw(t, "latency"), TravelMS: ms.Draw(t, "travel"),
			ReadyMS: ms.Draw(t, "ready"), SlackMS: number(-100, 300).Draw(t, "slack"),
		})
	}
	for i := range line + 1 {
		take.Lines = append(take.Lines, diagnose.Line{
			Line: i, StartS: number(0, 20).Draw(t, "start"), EndS: number(0, 20).Draw(t, "end"),
			BellS: number(0, 20).Draw(t, "bell"), ReturnS: number(0, 20).Draw(t, "return"),
		})
	}
	take.Summary.Strokes, take.Summary.Lines = len(take.Strokes), len(take.Lines)
	take.Summary.RatePerS = number(0, 20).Draw(t, "rate")
	take.Summary.LeadMS, take.Summary.LatencyMS = figures(t, "lead"), figures(t, "latency")
	take.Summary.MachineLatencyMS, take.Summary.TravelMS = figures(t, "machine"), figures(t, "travel figure")
	take.Summary.ReadyMS = figures(t, "ready figure")
	for range rapid.IntRange(0, 2).Draw(t, "findings") {
		take.Findings = append(take.Findings, diagnose.Finding{
			Fault: rapid.String().Draw(t, "fault"), Share: "machine", Strength: rapid.String().Draw(t, "strength"),
			Where: rapid.SliceOfN(rapid.IntRange(-5, 40), 0, 9).Draw(t, "where"),
			Check: rapid.String().Draw(t, "check"), Caution: rapid.String().Draw(t, "caution"),
			Evidence: []diagnose.Evidence{{Measure: rapid.String().Draw(t, "measure"), Value: number(0, 9).Draw(t, "value")}},
		})
	}
	return take
})

func output(t *rapid.T, write func(io.Writer) error) string {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// Every take can be written as text of at most 80 columns, without a control
// character.
func TestAnyText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		take := anyTake.Draw(t, "take")
		for _, l := range strings.Split(output(t, func(w io.Writer) error { return Text(w, take, TextOptions{}) }), "\n") {
			if columns(l) > textWidth {
				t.Fatalf("%d columns: %q", columns(l), l)
			}
			if clean(l) != l {
				t.Fatalf("unsafe for a terminal: %q", l)
			}
		}
	})
}

// The table has a header and one row a stroke, all equally long; a number that
// is not known is an empty cell and every other one reads back.
func TestAnyCSV(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		take := anyTake.Draw(t, "take")
		rows, err := csv.NewReader(strings.NewReader(output(t, func(w io.Writer) error { return CSV(w, take) }))).ReadAll()
		if err != nil {
			t.Fatal(err) // the reader refuses rows of unequal length
		}
		if len(rows) != len(take.Strokes)+1 {
			t.Fatalf("%d rows for %d strokes", len(rows), len(take.Strokes))
		}
		for i, s := range take.Strokes {
			for column, n := range map[int]diagnose.Number{6: s.StrikeS, 14: s.ShortBy, 19: s.TravelMS, 21: s.SlackMS} {
				cell := rows[i+1][column]
				if (cell != "") != n.Known() {
					t.Fatalf("%s is %v and stands as %q", csvHeader[column], n, cell)
				}
				if x, err := strconv.ParseFloat(cell, 64); cell != "" && (err != nil || math.Abs(x-float64(n)) > 0.0005+1e-9*math.Abs(x)) {
					t.Fatalf("%s is %v and stands as %q", csvHeader[column], n, cell)
				}
			}
			for _, cell := range []string{rows[i+1][4], rows[i+1][13]} {
				if cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\r\n") {
					t.Fatalf("%q may start a formula", cell)
				}
			}
		}
	})
}

// The label track has three columns, starts not after ends, in order of time,
// and one mark for each event that was heard.
func TestAnyLabels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		take := anyTake.Draw(t, "take")
		want := 0
		for _, s := range take.Strokes {
			for _, n := range []diagnose.Number{s.TripS, s.StrikeS, s.ReleaseS, s.LandingS} {
				if n.Known() && n >= 0 {
					want++
				}
			}
		}
		for _, l := range take.Lines {
			for _, n := range []diagnose.Number{l.BellS, l.ReturnS} {
				if n.Known() && n >= 0 {
					want++
				}
			}
		}
		text := output(t, func(w io.Writer) error { return Labels(w, take) })
		last, got := 0.0, 0
		for _, l := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
			if l == "" {
				continue
			}
			got++
			f := strings.Split(l, "\t")
			if len(f) != 3 || f[2] == "" || clean(f[2]) != f[2] {
				t.Fatalf("%q", l)
			}
			start, err1 := strconv.ParseFloat(f[0], 64)
			end, err2 := strconv.ParseFloat(f[1], 64)
			if err1 != nil || err2 != nil || start > end || start < last {
				t.Fatalf("%q after %v", l, last)
			}
			last = start
		}
		if got != want {
			t.Fatalf("%d marks for %d events", got, want)
		}
	})
}

// Every take's JSON is whole and reads back as the same JSON.
func TestAnyJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		take := anyTake.Draw(t, "take")
		raw := output(t, func(w io.Writer) error { return JSON(w, take) })
		var back diagnose.Take
		if err := json.Unmarshal([]byte(raw), &back); err != nil {
			t.Fatal(err)
		}
		if again := output(t, func(w io.Writer) error { return JSON(w, &back) }); again != raw {
			t.Fatal("reading and writing again changes it")
		}
	})
}

// Every take gives a picture, with sound and without. Pictures take a quarter
// of a second each, so only some are drawn.
func TestAnyPicture(t *testing.T) {
	left := 24
	rapid.Check(t, func(t *rapid.T) {
		take := anyTake.Draw(t, "take")
		start, end, ok := PictureSpan(take)
		if ok && !(start >= 0 && end > start && end-start <= longestPic+1e-6) {
			t.Fatalf("the picture wants %v to %v", start, end)
		}
		if left--; left < 0 {
			return
		}
		var clip Waveform
		if ok && rapid.Bool().Draw(t, "sound") {
			clip = Waveform{Start: start, SampleRate: 8000, Samples: rapid.SliceOfN(rapid.Float64(), 1, 500).Draw(t, "samples")}
		}
		drawPicture(take, clip)
	})
}

// Labels that are moved apart keep their order, do not overlap, and stay within
// their bounds when there is room.
func TestAnySpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 8).Draw(t, "n")
		var middles, widths []vg.Length
		at, total := 0.0, 0.0
		for range n {
			at += rapid.Float64Range(0, 40).Draw(t, "step")
			w := rapid.Float64Range(1, 60).Draw(t, "width")
			total += w
			middles, widths = append(middles, vg.Length(at)), append(widths, vg.Length(w))
		}
		const lo, hi = -10, 620
		out := spread(middles, widths, lo, hi)
		for i := range out {
			if i > 0 && out[i]-widths[i]/2 < out[i-1]+widths[i-1]/2-1e-6 {
				t.Fatalf("%v overlap with widths %v", out, widths)
			}
			if total < hi-lo && (out[i]-widths[i]/2 < lo-1e-6 || out[i]+widths[i]/2 > hi+1e-6) {
				t.Fatalf("%v leave the bounds with widths %v", out, widths)
			}
		}
	})
}

// Numbers never stand on one another or on a mark, and stay in the frame.
func TestAnyPlacement(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		frame := vg.Rectangle{Max: vg.Point{X: 300, Y: 200}}
		p := &placer{within: frame}
		x, y := rapid.Float64Range(0, 300), rapid.Float64Range(0, 200)
		var marks []vg.Point
		for range rapid.IntRange(1, 40).Draw(t, "marks") {
			m := vg.Point{X: vg.Length(x.Draw(t, "x")), Y: vg.Length(y.Draw(t, "y"))}
			marks = append(marks, m)
			p.taken = append(p.taken, around(m, 7, 7))
		}
		fixed := len(p.taken)
		for _, m := range marks[:min(12, len(marks))] {
			p.near(m, 12, 9)
		}
		for i, box := range p.taken[fixed:] {
			if !inside(box, frame) {
				t.Fatalf("%v is outside", box)
			}
			for _, other := range p.taken[:fixed+i] {
				if overlap(box, other) {
					t.Fatalf("%v stands on %v", box, other)
				}
			}
		}
	})
}
