package onset_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"loosedog/audio"
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
	take, err := onset.Detect(context.Background(), &samples{rate, x}, nil, onset.Options{})
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

// plainTake is three lines of a calm hand on a sound machine in a plain recording; made once.
var plainTake = sync.OnceValue(func() made {
	return makeTake(new(testing.T), mechanism.Sound(), mechanism.Calm(), firstLines(mechanism.Quay, 3), 24, synth.Plain())
})

// shortTake is one line, for what must be heard many times over.
var shortTake = sync.OnceValue(func() made {
	return makeTake(new(testing.T), mechanism.Sound(), mechanism.Calm(), firstLines(mechanism.Shelf, 1), 3, synth.Plain())
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
	brisk := makeTake(t, mechanism.Sound(), mechanism.Brisk(), firstLines(mechanism.Quay, 3), 22, synth.Plain())
	rebound := makeTake(t, mechanism.Sound().Rebounding(0.05), mechanism.Calm(), firstLines(mechanism.Quay, 3), 24, synth.Plain())
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
				{"thump", 0.003, 0.85, 0.0005},
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
				if d := h.Count - l.Count; d < -2 || d > 2 {
					t.Errorf("line %d: %d strokes, want %d", i, h.Count, l.Count)
				}
			}
		})
	}
}

// A line of one letter, as it is typed to look at the spacing, holds no space bar
// to compare with; its strikes are strikes all the same.
func TestOneLetter(t *testing.T) {
	line := strings.Repeat("n", 60)
	for seed := uint64(3); seed < 6; seed++ {
		m := makeTake(t, mechanism.Sound(), mechanism.Calm(), line+"\n"+line, seed, synth.Plain())
		take := detect(t, m.rate, m.x, "")
		wellFormed(t, take)
		want, got := kindsOf(m.Performance), kindsIn(take)
		f, _ := score(want["strike"], got["strike"], 0.002)
		l, _ := score(want["landing"], got["landing"], 0.003)
		t.Logf("seed %d: strikes F %.3f, landings F %.3f, usable %v", seed, f, l, take.Usable)
		if f < 0.98 {
			t.Errorf("seed %d: strikes F %.3f", seed, f)
		}
	}
}

// On some machines the space bar is louder than the types.
func TestSpaceBarLouderThanTypes(t *testing.T) {
	s := mechanism.Scenario{Name: "loud bar", Machine: mechanism.Sound(), Hand: mechanism.Calm(), Text: firstLines(mechanism.Quay, 4),
		Palette: synth.NewPalette(24), Recording: synth.Plain(), Seed: 24}
	s.Palette.Level[synth.Thump] = 8
	p, x, rate, err := s.Record()
	if err != nil {
		t.Fatal(err)
	}
	take := detect(t, rate, x, "")
	wellFormed(t, take)
	want, got := kindsOf(p), kindsIn(take)
	for kind, least := range map[string]float64{"strike": 0.95, "thump": 0.85, "landing": 0.9} {
		if f, _ := score(want[kind], got[kind], 0.003); f < least {
			t.Errorf("%s: F %.3f (usable %v, %v)", kind, f, take.Usable, take.Problems)
		}
	}
}

// A recorder that could not keep up is told of, and when.
func TestHolesAreTold(t *testing.T) {
	m := plainTake()
	take := detect(t, m.rate, m.x, "")
	told := func(take *onset.Take) string {
		for _, p := range take.Problems {
			if p.Code == "holes" {
				return p.Text
			}
		}
		return ""
	}
	if text := told(take); text != "" {
		t.Errorf("in a whole take: %s", text)
	}
	x := slices.Clone(m.x)
	for _, line := range take.Lines[:2] {
		at := int((line.Start + 0.4*(line.End-line.Start)) * m.rate)
		clear(x[at : at+int(0.08*m.rate)])
	}
	first := take.Lines[0].Start + 0.4*(take.Lines[0].End-take.Lines[0].Start)
	if text, want := told(detect(t, m.rate, x, "")), fmt.Sprintf("2 while it was typed, the first after %.1f s", first); !strings.Contains(text, want) {
		t.Errorf("told %q, want %q", text, want)
	}
}

func TestDetectIsDeterministic(t *testing.T) {
	m := plainTake()
	want := described(detect(t, m.rate, m.x, ""))
	if got := described(detect(t, m.rate, m.x, "")); got != want {
		t.Error("the same take is heard in two ways")
	}
}

// How loud a take is recorded makes no difference, as long as the survey says
// so.
func TestGainMakesNoDifference(t *testing.T) {
	m := plainTake()
	peak := 0.0
	for _, v := range m.x {
		peak = max(peak, math.Abs(v))
	}
	heard := func(gain float64) string {
		x := make([]float64, len(m.x))
		for i, v := range m.x {
			x[i] = gain * v
		}
		q := &audio.Quality{Peak: 20 * math.Log10(gain*peak)}
		take, err := onset.Detect(context.Background(), &samples{m.rate, x}, q, onset.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return described(take)
	}
	want := strings.Split(heard(1), "\n")
	for _, gain := range []float64{0.5, 0.1, 0.01} {
		got := strings.Split(heard(gain), "\n")
		if len(got) != len(want) {
			t.Errorf("gain %g: %d strokes and lines, want %d", gain, len(got), len(want))
		}
		for i := range min(len(got), len(want)) {
			if got[i] != want[i] {
				t.Errorf("gain %g: %s, want %s", gain, got[i], want[i])
				break
			}
		}
	}
}

func TestDetectTellsOfErrors(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	m := shortTake()
	if _, err := onset.Detect(ctx, &samples{m.rate, m.x}, nil, onset.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	var told int64
	opt := onset.Options{Progress: func(n int64) { told = n }}
	if _, err := onset.Detect(context.Background(), &samples{m.rate, m.x}, nil, opt); err != nil || told != int64(len(m.x)) {
		t.Errorf("progress ended at %d of %d samples: %v", told, len(m.x), err)
	}
}

// chords are a held chord of sawtooths that changes every step seconds.
func chords(rate, seconds, step float64) []float64 {
	x := make([]float64, int(rate*seconds))
	roots := []float64{220, 174.6, 261.6, 196}
	for i := range x {
		t := float64(i) / rate
		root := roots[int(t/step)%len(roots)]
		in := math.Mod(t, step)
		a := 0.1 * min(1, in/0.02, (step-in)/0.05)
		for _, ratio := range []float64{1, 1.25, 1.5} {
			p := t * root * ratio
			x[i] += a * (2*(p-math.Floor(p)) - 1)
		}
	}
	return x
}

func noise(rate, seconds, sigma float64) []float64 {
	r := rand.New(rand.NewPCG(70, 70))
	x := make([]float64, int(rate*seconds))
	for i := range x {
		x[i] = sigma * r.NormFloat64()
	}
	return x
}

func sine(rate, seconds, freq, amp float64) []float64 {
	x := make([]float64, int(rate*seconds))
	for i := range x {
		x[i] = amp * math.Sin(2*math.Pi*freq*float64(i)/rate)
	}
	return x
}

// drums are noise that falls to 1/e in 60 ms, every step seconds, over a held
// tone.
func drums(rate, seconds, step float64) []float64 {
	x := sine(rate, seconds, 330, 0.1)
	r := rand.New(rand.NewPCG(71, 71))
	for i := range x {
		x[i] += 0.3 * math.Exp(-math.Mod(float64(i)/rate, step)/0.06) * r.NormFloat64()
	}
	return x
}

// What is no typing has no strokes and a word why.
func TestNoTyping(t *testing.T) {
	const rate = 44100
	for name, x := range map[string][]float64{
		"nothing at all":  nil,
		"one sample":      {0.5},
		"two samples":     {0.5, -0.5},
		"digital silence": make([]float64, 10*rate),
		"hiss":            noise(rate, 20, 0.001),
		"white noise":     noise(rate, 20, 0.2),
		"a sine":          sine(rate, 20, 440, 0.5),
		"a low sine":      sine(rate, 20, 50, 0.5),
		"a full sine":     sine(rate, 20, 1000, 1),
		"chords":          chords(rate, 30, 0.5),
		"fast chords":     chords(rate, 30, 0.2),
		"drums":           drums(rate, 30, 0.25),
		"a few clicks":    clicks(rate, 10, []float64{1, 2.2, 3.7, 6}),
	} {
		t.Run(name, func(t *testing.T) {
			take := detect(t, rate, x, "")
			wellFormed(t, take)
			if len(take.Strokes) > 0 || take.Usable {
				t.Errorf("%d strokes, usable: %v", len(take.Strokes), take.Usable)
			}
		})
	}
}

// clicks are bursts of noise of some milliseconds at the given times.
func clicks(rate, seconds float64, at []float64) []float64 {
	x := noise(rate, seconds, 0.0001)
	r := rand.New(rand.NewPCG(72, 72))
	for _, t0 := range at {
		for i := int(t0 * rate); i < int((t0+0.05)*rate); i++ {
			x[i] += 0.3 * math.Exp(-(float64(i)/rate-t0)/0.005) * r.NormFloat64()
		}
	}
	return x
}

// Values that no recorder makes do no harm.
func TestBrokenSamples(t *testing.T) {
	m := shortTake()
	for name, v := range map[string]float64{"NaN": math.NaN(), "infinite": math.Inf(1), "huge": 1e300, "tiny": 5e-324} {
		for _, every := range []int{1, 1000} {
			x := slices.Clone(m.x)
			for i := every - 1; i < len(x); i += every {
				x[i] = v
			}
			take := detect(t, m.rate, x, "")
			wellFormed(t, take)
			if t.Failed() {
				t.Fatalf("with every %d. sample %s", every, name)
			}
		}
	}
}

// A take may have any rate and be cut anywhere.
func TestCutTakes(t *testing.T) {
	m := plainTake()
	for _, seconds := range []float64{0.01, 0.5, 1, 2, 3, 5} {
		x := m.x[int(5.03*m.rate):int((5.03+seconds)*m.rate)]
		wellFormed(t, detect(t, m.rate, x, ""))
	}
	for _, rate := range []float64{1, 100, 8000, 16000, 192000, 1e6} {
		wellFormed(t, detect(t, rate, m.x[:5*int(m.rate)], ""))
	}
}

// Any 16-bit samples are heard without harm.
func FuzzDetect(f *testing.F) {
	f.Add([]byte{}, uint16(8000))
	f.Add([]byte{1, 2, 3, 4}, uint16(44100))
	f.Add(bytes.Repeat([]byte{0xff, 0x7f, 0x00, 0x80}, 3000), uint16(48000))
	m := plainTake()
	typed := make([]byte, 0, int(3*m.rate))
	for i := int(3 * m.rate); i < int(4.5*m.rate); i++ {
		typed = binary.LittleEndian.AppendUint16(typed, uint16(int16(32767*m.x[i])))
	}
	f.Add(typed, uint16(48000))
	f.Add(typed, uint16(8000))
	f.Fuzz(func(t *testing.T, b []byte, rate uint16) {
		r := max(float64(rate), 8000)
		n := min(len(b)/2, int(2*r))
		x := make([]float64, n)
		for i := range x {
			x[i] = float64(int16(binary.LittleEndian.Uint16(b[2*i:]))) / 32768
		}
		wellFormed(t, detect(t, r, x, ""))
	})
}

// Levers pressed in a pause, as loud as strikes, are not typed strokes.
func TestLeversAreNoStrokes(t *testing.T) {
	h := mechanism.Calm()
	h.Habits = mechanism.Habits{Margins: 1, Between: 1}
	s := mechanism.Scenario{Machine: mechanism.Sound(), Hand: h, Text: firstLines(mechanism.Quay, 4),
		Palette: synth.NewPalette(21), Recording: synth.Plain(), Seed: 21}
	s.Palette.Level[synth.Margin], s.Palette.Level[synth.Bail] = -1, -1
	p, x, rate, err := s.Record()
	if err != nil {
		t.Fatal(err)
	}
	take := detect(t, rate, x, "")
	wellFormed(t, take)
	truth, heard := kindsOf(p), kindsIn(take)
	if f, _ := score(truth["strike"], heard["strike"], 0.002); f < 0.97 {
		t.Errorf("strikes F %.3f with levers pressed", f)
	}
	// Fifteen where nothing is passed over.
	taken := 0
	for _, o := range p.Operations {
		for _, sound := range o.Sounds {
			for _, st := range take.Strokes {
				if math.Abs(st.Strike.Time-sound.Time) < 0.006 {
					taken++
				}
			}
		}
	}
	if len(p.Operations) < 4 || taken > 5 {
		t.Errorf("%d sounds of %d levers pressed are taken for strokes", taken, len(p.Operations))
	}
}
