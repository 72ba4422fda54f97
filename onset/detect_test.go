package onset_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"loosedog/audio/synth"
	"loosedog/diagnose/mechanism"
	"loosedog/onset"
)

// samples is a take in memory.
type samples struct {
	rate float64
	x    []float64
}

func (s *samples) SampleRate() float64 { return s.rate }

func (s *samples) Read(dst []float64) (int, error) {
	if len(s.x) == 0 {
		return 0, io.EOF
	}
	n := copy(dst, s.x)
	s.x = s.x[n:]
	return n, nil
}

func detect(t testing.TB, rate float64, x []float64, action string) *onset.Take {
	t.Helper()
	take, err := onset.Detect(context.Background(), &samples{rate, x}, nil, onset.Options{Action: action})
	if err != nil {
		t.Fatal(err)
	}
	return take
}

// firstLines of a text.
func firstLines(text string, n int) string {
	return strings.Join(strings.Split(text, "\n")[:n], "\n")
}

// made is a take of the simulator with its truth.
type made struct {
	*mechanism.Performance
	rate float64
	x    []float64
}

func makeTake(t testing.TB, m mechanism.Machine, h mechanism.Hand, text string, seed uint64, rec synth.Recording) made {
	t.Helper()
	s := mechanism.Scenario{Name: fmt.Sprint("seed ", seed), Machine: m, Hand: h, Text: text,
		Palette: synth.NewPalette(seed), Recording: rec, Seed: seed}
	p, x, rate, err := s.Record()
	if err != nil {
		t.Fatal(err)
	}
	return made{p, rate, x}
}

// plainTake is three lines on a sound machine in a plain recording; made once.
var plainTake = sync.OnceValue(func() made {
	return makeTake(new(testing.T), mechanism.Sound(), mechanism.Calm(), firstLines(mechanism.Shelf, 3), 3, synth.Plain())
})

// score matches heard times with true ones, each once and the closest first,
// within tolerance; it returns the F-measure, 2PR/(P+R), and heard minus true of
// the matches.
func score(truth, heard []float64, tolerance float64) (f float64, off []float64) {
	type match struct {
		i, j int
		d    float64
	}
	var all []match
	for i, a := range truth {
		for j, b := range heard {
			if d := b - a; math.Abs(d) <= tolerance {
				all = append(all, match{i, j, d})
			}
		}
	}
	slices.SortFunc(all, func(a, b match) int {
		switch {
		case math.Abs(a.d) < math.Abs(b.d):
			return -1
		case math.Abs(a.d) > math.Abs(b.d):
			return 1
		}
		return 0
	})
	left, right := map[int]bool{}, map[int]bool{}
	for _, m := range all {
		if !left[m.i] && !right[m.j] {
			left[m.i], right[m.j] = true, true
			off = append(off, m.d)
		}
	}
	if n := len(truth) + len(heard); n > 0 {
		f = 2 * float64(len(off)) / float64(n)
	}
	return f, off
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return (v[len(v)/2] + v[(len(v)-1)/2]) / 2
}

// kindsOf are the true times of a performance by kind.
func kindsOf(p *mechanism.Performance) map[string][]float64 {
	out := map[string][]float64{}
	add := func(kind string, at float64) {
		if !math.IsNaN(at) {
			out[kind] = append(out[kind], at)
		}
	}
	for _, k := range p.Strokes {
		if k.Space {
			add("thump", k.Strike)
		} else {
			add("strike", k.Strike)
			add("trip", k.Trip)
		}
		add("release", k.Release)
		add("landing", k.Landing)
	}
	return out
}

// kindsIn are the times of a take by kind.
func kindsIn(t *onset.Take) map[string][]float64 {
	out := map[string][]float64{}
	add := func(kind string, m onset.Mark) {
		if m.Heard() {
			out[kind] = append(out[kind], m.Time)
		}
	}
	for _, k := range t.Strokes {
		if k.Space {
			add("thump", k.Strike)
		} else {
			add("strike", k.Strike)
			add("trip", k.Trip)
		}
		add("release", k.Release)
		add("landing", k.Landing)
	}
	return out
}

// wellFormed checks what every Take promises.
func wellFormed(t testing.TB, take *onset.Take) {
	t.Helper()
	last := math.Inf(-1)
	for i, k := range take.Strokes {
		for name, m := range map[string]onset.Mark{"trip": k.Trip, "strike": k.Strike, "release": k.Release, "landing": k.Landing, "skip": k.Skip} {
			switch {
			case m.Heard():
				if !(m.Time >= 0 && m.Time <= take.Duration) || m.Confidence > 1 {
					t.Errorf("stroke %d: %s at %g s of %g, confidence %g", i, name, m.Time, take.Duration, m.Confidence)
				}
			case m.Confidence != 0 || !math.IsNaN(m.Time) || !math.IsNaN(m.Level):
				t.Errorf("stroke %d: %s was not heard but is %+v", i, name, m)
			}
		}
		if !(k.Strike.Time > last) {
			t.Errorf("stroke %d at %g s comes after one at %g s", i, k.Strike.Time, last)
		}
		last = k.Strike.Time
		if k.Trip.Time >= k.Strike.Time || k.Release.Time <= k.Strike.Time || k.Landing.Time <= k.Strike.Time || k.Landing.Time <= k.Release.Time {
			t.Errorf("stroke %d is out of order: %+v", i, k)
		}
		if (k.Shared || k.Missed) && (k.Release.Heard() || k.Landing.Heard()) || k.Shared && k.Missed {
			t.Errorf("stroke %d contradicts itself: %+v", i, k)
		}
	}
	at := 0
	for i, l := range take.Lines {
		if l.First != at || l.Count <= 0 || l.First+l.Count > len(take.Strokes) {
			t.Fatalf("line %d is %+v after %d strokes of %d", i, l, at, len(take.Strokes))
		}
		for _, k := range take.Strokes[l.First : l.First+l.Count] {
			if k.Line != i {
				t.Errorf("a stroke of line %d says %d", i, k.Line)
			}
		}
		if l.Start != take.Strokes[at].Strike.Time || l.End != take.Strokes[at+l.Count-1].Strike.Time {
			t.Errorf("line %d from %g to %g s", i, l.Start, l.End)
		}
		at += l.Count
	}
	if at != len(take.Strokes) {
		t.Errorf("the lines hold %d of %d strokes", at, len(take.Strokes))
	}
	if !take.Usable && len(take.Problems) == 0 {
		t.Error("not usable, and no word why")
	}
	for _, p := range take.Problems {
		if p.Code == "" || p.Text == "" {
			t.Errorf("a problem without words: %+v", p)
		}
	}
}

// described is a take as text, times to a microsecond.
func described(take *onset.Take) string {
	var b strings.Builder
	mark := func(m onset.Mark) string { return fmt.Sprintf("%.6f/%v", m.Time, m.Heard()) }
	for _, k := range take.Strokes {
		fmt.Fprintln(&b, k.Line, k.Space, k.Shared, k.Missed, mark(k.Trip), mark(k.Strike), mark(k.Release), mark(k.Landing), mark(k.Skip))
	}
	for _, l := range take.Lines {
		fmt.Fprintf(&b, "%d %d %.6f %.6f\n", l.First, l.Count, l.Bell, l.Return)
	}
	fmt.Fprintln(&b, take.Usable, take.Problems)
	return b.String()
}

func TestPlainTakes(t *testing.T) {
	brisk := makeTake(t, mechanism.Sound(), mechanism.Brisk(), firstLines(mechanism.Quay, 3), 14, synth.Plain())
	rebound := makeTake(t, mechanism.Sound().Rebounding(0.05), mechanism.Calm(), firstLines(mechanism.Shelf, 2), 25, synth.Plain())
	for name, m := range map[string]made{"calm": plainTake(), "brisk": brisk, "rebounding": rebound} {
		t.Run(name, func(t *testing.T) {
			take := detect(t, m.rate, m.x, "")
			wellFormed(t, take)
			if !take.Usable {
				t.Errorf("not usable: %v", take.Problems)
			}
			want, got := kindsOf(m.Performance), kindsIn(take)
			for _, c := range []struct {
				kind         string
				tolerance, f float64
				medianAtMost float64
			}{
				{"strike", 0.002, 0.98, 0.0002},
				{"thump", 0.003, 0.9, 0.0005},
				{"landing", 0.003, 0.9, 0.0005},
				{"release", 0.003, 0.85, 0.0005},
				{"trip", 0.002, 0.85, 0.0005},
			} {
				f, off := score(want[c.kind], got[c.kind], c.tolerance)
				t.Logf("%s: F %.3f, median error %+.3f ms", c.kind, f, median(off)*1e3)
				if f < c.f {
					t.Errorf("%s: F %.3f, want %.2f", c.kind, f, c.f)
				}
				if e := median(off); !(math.Abs(e) <= c.medianAtMost) {
					t.Errorf("%s: median error %+.3f ms", c.kind, e*1e3)
				}
			}
			if len(take.Lines) != len(m.Lines) {
				t.Fatalf("%d lines, want %d", len(take.Lines), len(m.Lines))
			}
			for i, l := range m.Lines {
				h := take.Lines[i]
				if !math.IsNaN(l.ReturnStart) && !(math.Abs(h.Return-l.ReturnStart) < 0.15) {
					t.Errorf("line %d: return at %.2f s, want %.2f", i, h.Return, l.ReturnStart)
				}
				if !math.IsNaN(l.Bell) && !(math.Abs(h.Bell-l.Bell) < 0.1) {
					t.Errorf("line %d: bell at %.2f s, want %.2f", i, h.Bell, l.Bell)
				}
				if d := h.Count - l.Count; d < -2 || d > 2 {
					t.Errorf("line %d: %d strokes, want %d", i, h.Count, l.Count)
				}
			}
		})
	}
}

var _ = errors.New
var _ = rand.New

func TestZZNoSpaces(t *testing.T) {
	for seed := range uint64(6) {
		for name, text := range map[string]string{"n": strings.Repeat("n", 60) + "\n" + strings.Repeat("n", 60), "az": strings.Repeat("az", 30) + "\n" + strings.Repeat("az", 30), "abc": strings.Repeat("abcdefghijklmnopqrst", 3) + "\n" + strings.Repeat("abcdefghijklmnopqrst", 3)} {
			m := makeTake(t, mechanism.Sound(), mechanism.Calm(), text, seed, synth.Plain())
			take := detect(t, m.rate, m.x, "")
			want, got := kindsOf(m.Performance), kindsIn(take)
			f, _ := score(want["strike"], got["strike"], 0.002)
			l, _ := score(want["landing"], got["landing"], 0.003)
			t.Log(name, seed, f, l, len(want["strike"]), len(got["strike"]), len(got["thump"]), take.Usable, take.Problems)
		}
	}
}
