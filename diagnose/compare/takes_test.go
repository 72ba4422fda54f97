package compare

import (
	"encoding/json"
	"fmt"
	"go/parser"
	"go/token"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/diagnose/mechanism/ears"
)

// heard is a page typed on a machine, as ears that err hear it.
func heard(t testing.TB, m mechanism.Machine, h mechanism.Hand, e ears.Ears, seed uint64) *diagnose.Take {
	t.Helper()
	p, err := mechanism.Simulate(m, h, mechanism.Shelf, seed)
	if err != nil {
		t.Fatal(err)
	}
	take := diagnose.Measure(fmt.Sprintf("take %d", seed), e.Hear(p, seed), nil, diagnose.Options{Action: diagnose.Action(m.Action)})
	take.Asked = &diagnose.Asked{Action: string(m.Action), Pitch: 10}
	return take
}

func page(t testing.TB, m mechanism.Machine, h mechanism.Hand, seed uint64) *diagnose.Take {
	return heard(t, m, h, ears.Draw(seed), seed)
}

func compared(before, after *diagnose.Take) *Comparison {
	return Takes([]*diagnose.Take{before}, []*diagnose.Take{after}, Options{Resamples: 120})
}

func explain(c *Comparison) string {
	var b strings.Builder
	for _, s := range c.Because {
		b.WriteString("\n  " + s)
	}
	for _, r := range c.Remarks {
		b.WriteString("\n  (" + r.Code + ") " + r.Text)
	}
	return b.String()
}

// The big tables are those of cmd/accuracy; these are a few of each, on seeds that
// it does not use.
func TestVerdicts(t *testing.T) {
	sound := mechanism.Sound()
	for _, c := range []struct {
		name          string
		before, after mechanism.Machine
		typed, then   mechanism.Hand
		want          string
	}{
		{"earlier trip", sound.LateTrip(0.002), sound, mechanism.Staccato(0.12), mechanism.Staccato(0.12), Better},
		{"earlier trip, calmer hand", sound.LateTrip(0.002), sound, mechanism.Staccato(0.12), mechanism.Calm(), Better},
		{"more pull", sound, sound.WeakPull(1.4, 1.4), mechanism.Brisk(), mechanism.Brisk(), Better},
		{"less pull, calmer hand", sound, sound.WeakPull(0.7, 0.7), mechanism.Hurried(), mechanism.Calm(), Worse},
		{"calmer hand alone", sound, sound, mechanism.Hurried(), mechanism.Calm(), NoDifference},
		{"nothing at all", sound, sound, mechanism.Brisk(), mechanism.Brisk(), NoDifference},
	} {
		for seed := uint64(500); seed < 502; seed++ {
			k := compared(page(t, c.before, c.typed, 2*seed), page(t, c.after, c.then, 2*seed+1))
			if k.Verdict != c.want {
				t.Errorf("%s, seed %d: %s, want %s%s", c.name, seed, k.Verdict, c.want, explain(k))
			}
		}
	}
}

// Before and after change places: shifts turn round, better becomes worse.
func TestMirror(t *testing.T) {
	a := page(t, mechanism.Sound(), mechanism.Brisk(), 600)
	b := page(t, mechanism.Sound().WeakPull(1.4, 1.4), mechanism.Brisk(), 601)
	there, back := compared(a, b), compared(b, a)
	if there.Verdict != Better || back.Verdict != Worse {
		t.Errorf("%s and back %s", there.Verdict, back.Verdict)
	}
	for i, m := range there.Measures {
		n := back.Measures[i]
		if m.Name != n.Name || math.Abs(float64(m.Shift.Value+n.Shift.Value)) > 1e-9 || math.Abs(float64(m.P-n.P)) > 1e-9 {
			t.Errorf("%s shifts by %g, back by %g", m.Name, m.Shift.Value, n.Shift.Value)
		}
	}
	for i, e := range there.Typing {
		if f := back.Typing[i]; math.Abs(float64(e.Difference.Value+f.Difference.Value)) > 1e-9 {
			t.Errorf("%s: %g letters, back %g", e.Hand, e.Difference.Value, f.Difference.Value)
		}
	}
}

// Machine's and hand's parts add up to the replayed difference.
func TestPartsAddUp(t *testing.T) {
	c := compared(page(t, mechanism.Sound().LateTrip(0.002), mechanism.Staccato(0.12), 610), page(t, mechanism.Sound(), mechanism.Calm(), 611))
	sum := c.Raw.Machine.Value + c.Raw.Hand.Value
	if want := c.After.Replayed.Value - c.Before.Replayed.Value; math.Abs(float64(sum-want)) > 1e-9 {
		t.Errorf("%g and %g make %g, want %g", c.Raw.Machine.Value, c.Raw.Hand.Value, sum, want)
	}
	if c.Raw.Machine.High >= 0 || c.Raw.Hand.High >= 0 {
		t.Errorf("a better machine and a calmer hand: %+v", c.Raw)
	}
}

// A take set against itself shows nothing.
func TestSameTake(t *testing.T) {
	a := page(t, mechanism.Sound(), mechanism.Brisk(), 620)
	c := compared(a, a)
	if c.Verdict != NoDifference {
		t.Errorf("%s%s", c.Verdict, explain(c))
	}
	for _, m := range append(slices.Clone(c.Measures), c.Hand...) {
		if m.Shift.Value != 0 || m.P < 0.99 || m.Change != "" {
			t.Errorf("%s: %+v", m.Name, m)
		}
	}
	for _, e := range c.Typing {
		if e.Difference.Value != 0 {
			t.Errorf("%s: %+v", e.Hand, e)
		}
	}
}

// The phone lies elsewhere: leads get shorter and latencies longer by the same time,
// and neither is taken for the machine's.
func TestPhoneMoved(t *testing.T) {
	e := ears.Draw(630)
	a := heard(t, mechanism.Sound(), mechanism.Staccato(0.2), e, 630)
	e.Later = 0.0008
	b := heard(t, mechanism.Sound(), mechanism.Staccato(0.2), e, 631)
	c := compared(a, b)
	if c.Verdict != NoDifference || !c.said("phone-moved") {
		t.Errorf("%s%s", c.Verdict, explain(c))
	}
	if m := c.measure("lead"); m == nil || m.Change != "" || !(m.Corrected < alpha) {
		t.Errorf("lead: %+v", m)
	}
}

func TestNotComparable(t *testing.T) {
	good := func() *diagnose.Take { return page(t, mechanism.Sound(), mechanism.Brisk(), 640) }
	change := func(do func(*diagnose.Take)) *diagnose.Take {
		k := page(t, mechanism.Sound(), mechanism.Brisk(), 641)
		do(k)
		return k
	}
	for code, after := range map[string]*diagnose.Take{
		"other-pitch":  change(func(k *diagnose.Take) { k.Asked.Pitch = 12 }),
		"other-action": change(func(k *diagnose.Take) { k.Asked.Action = "half" }),
		"not-usable":   change(func(k *diagnose.Take) { k.Recording.Usable = false }),
		"few-lines": change(func(k *diagnose.Take) {
			k.Strokes = k.Strokes[:slices.IndexFunc(k.Strokes, func(s diagnose.Stroke) bool { return s.Line == 4 })]
		}),
		"clicks-in-one-only": change(func(k *diagnose.Take) {
			for i := range k.Strokes {
				s := &k.Strokes[i]
				s.LandingS, s.ReadyMS, s.TravelMS = diagnose.Unknown(), diagnose.Unknown(), diagnose.Unknown()
			}
		}),
	} {
		c := compared(good(), after)
		if c.Verdict != CannotTell || !c.said(code) || !c.Stopped() || len(c.Record) == 0 || len(c.Because) == 0 {
			t.Errorf("%s: %s%s", code, c.Verdict, explain(c))
		}
	}
	a, b := good(), good()
	a.Machine, b.Machine = &diagnose.Machine{Number: "7"}, &diagnose.Machine{Number: "3"}
	if c := compared(a, b); !c.said("other-machine") {
		t.Errorf("two machines: %s", explain(c))
	}
	for _, c := range []*Comparison{Takes(nil, nil, Options{}), Takes([]*diagnose.Take{nil}, []*diagnose.Take{good()}, Options{})} {
		if c.Verdict != CannotTell || !c.Stopped() {
			t.Errorf("%s%s", c.Verdict, explain(c))
		}
	}
}

// Only the landing is heard: the takes are compared by their ready times.
func TestLandingsOnly(t *testing.T) {
	deaf := func(k *diagnose.Take) *diagnose.Take {
		for i := range k.Strokes {
			s := &k.Strokes[i]
			s.ReleaseS, s.LatencyMS, s.TravelMS = diagnose.Unknown(), diagnose.Unknown(), diagnose.Unknown()
		}
		return k
	}
	late := mechanism.Sound().LateTrip(0.002)
	c := compared(deaf(page(t, late, mechanism.Staccato(0.12), 650)), deaf(page(t, mechanism.Sound(), mechanism.Staccato(0.12), 651)))
	if c.Verdict != Better || c.measure("travel") != nil {
		t.Errorf("%s%s", c.Verdict, explain(c))
	}
	c = compared(deaf(page(t, late, mechanism.Staccato(0.12), 652)), page(t, mechanism.Sound(), mechanism.Staccato(0.12), 653))
	if c.Verdict != Better || !c.said("apart-in-one-only") {
		t.Errorf("%s%s", c.Verdict, explain(c))
	}
}

// Flicked strokes on one page only, where they made no space: nobody knows what they
// would do now.
func TestFlickedInOneOnly(t *testing.T) {
	none := mechanism.Calm()
	none.Flicked = 0
	c := compared(page(t, mechanism.Sound().LateTrip(0.002), mechanism.Staccato(0.12), 660), page(t, mechanism.Sound(), none, 661))
	if c.Verdict != CannotTell || !c.said("flicked-in-one-only") || len(c.Record) == 0 {
		t.Errorf("%s%s", c.Verdict, explain(c))
	}
}

// Several takes a side count their lines together.
func TestSeveralTakes(t *testing.T) {
	sound := mechanism.Sound()
	before := []*diagnose.Take{page(t, sound, mechanism.Brisk(), 670), page(t, sound, mechanism.Calm(), 671)}
	after := []*diagnose.Take{page(t, sound.WeakPull(1.2, 1.2), mechanism.Calm(), 672)}
	c := Takes(before, after, Options{Resamples: 200})
	if c.Before.Lines != 16 || len(c.Before.Takes) != 2 || c.Verdict != Better {
		t.Errorf("%d lines of %d takes, %s%s", c.Before.Lines, len(c.Before.Takes), c.Verdict, explain(c))
	}
}

// With the text, a letter whose bar was freed shows against the others.
func TestLetters(t *testing.T) {
	chars := func(k *diagnose.Take) *diagnose.Take {
		text := strings.ReplaceAll(mechanism.Shelf, "\n", "")
		if len(text) != len(k.Strokes) {
			t.Fatalf("%d strokes, %d characters", len(k.Strokes), len(text))
		}
		for i := range k.Strokes {
			c := text[i : i+1]
			k.Strokes[i].Char = &c
		}
		return k
	}
	e := ears.Draw(680)
	e.DeafToStrikes = 0
	stuck := mechanism.Sound().SluggishBar("e", 0.025, 0.3)
	c := compared(chars(heard(t, stuck, mechanism.Calm(), e, 680)), chars(heard(t, mechanism.Sound(), mechanism.Calm(), e, 681)))
	found := map[string]bool{}
	for _, m := range c.Letters {
		if m.Change != "" {
			found[m.Where] = true
		}
	}
	if !found["e"] || len(found) > 2 {
		t.Errorf("letters that changed: %v of %d measures", found, len(c.Letters))
	}
}

// A machine that binds in one place is freed there: only that part changes much.
func TestPositions(t *testing.T) {
	c := compared(page(t, mechanism.Sound().Binds(34, 8, 2.5), mechanism.Calm(), 690), page(t, mechanism.Sound(), mechanism.Calm(), 691))
	worst, by := "", 0.0
	for _, m := range c.Positions {
		if s := float64(m.Shift.Value); s < by {
			worst, by = m.Where, s
		}
	}
	if worst != "positions 30 to 39" || by > -3 {
		t.Errorf("%s by %.1f ms", worst, by)
	}
}

// Replaying a machine's own take on what it shows gives its own crowded and piled
// letters back, within the interval.
func TestReplayGivesBackWhatWasCounted(t *testing.T) {
	within, n := 0, 0
	var off, all float64
	for _, k := range mechanism.Conditions()[:20] {
		for seed := uint64(700); seed < 702; seed++ {
			s := k.Make(seed)
			p, err := s.Perform()
			if err != nil {
				t.Fatal(err)
			}
			action := diagnose.Action(p.Machine.Action)
			take := diagnose.Measure("x", ears.Draw(seed).Hear(p, seed), nil, diagnose.Options{Action: action})
			if len(linesOf([]*diagnose.Take{take})) < fewestLines {
				continue
			}
			c := Takes([]*diagnose.Take{take}, []*diagnose.Take{take}, Options{Action: action, Resamples: 50})
			r := c.Before.Replayed
			n++
			if c.Before.Counted >= r.Low-0.5 && c.Before.Counted <= r.High+0.5 {
				within++
			} else {
				t.Logf("%s: counted %.1f, replayed %.1f (%.1f to %.1f)", s.Name, c.Before.Counted, r.Value, r.Low, r.High)
			}
			off += math.Abs(float64(r.Value - c.Before.Counted))
			all += float64(c.Before.Counted)
		}
	}
	if n < 15 || float64(within) < 0.9*float64(n) {
		t.Errorf("%d of %d within the interval", within, n)
	}
	if all < 100 || off > 0.12*all {
		t.Errorf("off by %.0f letters of %.0f", off, all)
	}
}

func TestAtReference(t *testing.T) {
	sound := AtReference(page(t, mechanism.Sound(), mechanism.Calm(), 720), "")
	hurried := AtReference(page(t, mechanism.Sound(), mechanism.Hurried(), 721), "")
	weak := AtReference(page(t, mechanism.Sound().WeakPull(0.6, 0.4), mechanism.Calm(), 722), "")
	if math.Abs(float64(sound.Median-hurried.Median)) > 6 {
		t.Errorf("the hand changes the machine's figure: %.1f and %.1f", sound.Median, hurried.Median)
	}
	if !(weak.Low > sound.High) {
		t.Errorf("weak pull %.1f (%.1f to %.1f), sound %.1f (%.1f to %.1f)", weak.Median, weak.Low, weak.High, sound.Median, sound.Low, sound.High)
	}
	for _, f := range []diagnose.Figure{sound, hurried, weak} {
		if !(f.Low <= f.Median && f.Median <= f.High) {
			t.Errorf("%+v", f)
		}
	}
	if f := AtReference(nil, ""); f.Median.Known() {
		t.Errorf("%+v of no take", f)
	}
	if f := AtReference(&diagnose.Take{}, ""); f.Median.Known() {
		t.Errorf("%+v of an unusable take", f)
	}
}

// A sluggish escapement's delay is put into the figure: it comes near what the
// machine itself spoils under the reference hand.
func TestAtReferenceOfASluggishEscapement(t *testing.T) {
	h := mechanism.Hand{Rate: Reference.Rate, Spread: Reference.Spread, Shortest: Reference.Shortest,
		Hold: Reference.Hold, HoldSpread: Reference.HoldSpread, Flicked: Reference.Flicked,
		Speed: mechanism.Calm().Speed, SpeedSpread: 0.16, MinSpeed: 2, MaxSpeed: 4.2}
	for seed, delay := range map[uint64]float64{731: 0.006, 732: 0.010, 734: 0.015} {
		m := mechanism.Sound().SluggishEscapement(delay, 0)
		want, err := m.PerPage(h, 20, PageStrokes)
		if err != nil {
			t.Fatal(err)
		}
		f := AtReference(page(t, m, mechanism.Staccato(0.3), seed), "")
		if math.Abs(float64(f.Median)-want) > 0.3*want || !(f.Low-0.1*diagnose.Number(want) <= diagnose.Number(want) && diagnose.Number(want) <= f.High+0.1*diagnose.Number(want)) {
			t.Errorf("%.0f ms: %.0f letters a page (%.0f to %.0f), makes %.0f", 1000*delay, f.Median, f.Low, f.High, want)
		}
	}
}

// Longer travel, more hold or shorter intervals never give fewer bad letters.
func TestReplayIsMonotone(t *testing.T) {
	lines := Brisk.lines()
	base := func() *machine {
		m := &machine{travel: &profile{typical: []float64{0.034}, scatter: []float64{-0.001, 0, 0.001}}}
		for k := range m.linkage {
			m.linkage[k].lead, m.linkage[k].free = []float64{0.003}, []float64{0.008}
		}
		return m
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := base(), base()
		extra := rapid.Float64Range(0, 0.03).Draw(t, "extra")
		switch rapid.IntRange(0, 2).Draw(t, "what") {
		case 0:
			b.travel.typical[0] += extra
		case 1:
			b.linkage[letter].free[0] += extra
			b.linkage[bar].free[0] += extra
		case 2:
			b.linkage[letter].miss = extra
		}
		if x, y := a.perPage(lines, nil), b.perPage(lines, nil); y < x {
			t.Fatalf("%.1f letters became %.1f", x, y)
		}
	})
}

// By hand: 100 ms apart, finger 30 ms, machine 10 ms, travel 40 ms: ready after 80.
// At 70 ms apart each is crowded; at 35 ms apart the bars overlap and all pile; a
// flicked stroke that misses piles the next.
func TestReplayByHand(t *testing.T) {
	m := &machine{travel: &profile{typical: []float64{0.040}, scatter: []float64{0}}}
	m.linkage[letter].lead, m.linkage[letter].free = []float64{0.003}, []float64{0.010}
	typed := func(interval float64) []stroke {
		line := make([]stroke, 5)
		for i := range line {
			line[i] = stroke{interval: interval, hold: 0.030}
		}
		return line
	}
	for _, c := range []struct {
		interval float64
		want     int
	}{{0.100, 0}, {0.081, 0}, {0.070, 4}, {0.045, 4}, {0.035, 4}} {
		if got := m.replay(typed(c.interval)); got != c.want {
			t.Errorf("%.0f ms apart: %d bad, want %d", 1000*c.interval, got, c.want)
		}
	}
	m.linkage[letter].miss = 0.5
	line := typed(0.2)
	line[1].flicked, line[1].hold, line[1].luck = true, 0, 0.3
	line[3].flicked, line[3].hold, line[3].luck = true, 0, 0.7
	if got := m.replay(line); got != 1 {
		t.Errorf("%d piled after one miss", got)
	}
	// A release that comes while the carriage still moves starts the next move at its
	// landing, so the letters after it come too early one by one.
	m.linkage[letter].miss = 0
	m.travel.typical[0] = 0.090
	if got := m.replay(typed(0.085)); got != 4 {
		t.Errorf("%d, want 4", got)
	}
}

func TestFlickedGroup(t *testing.T) {
	var v []float64
	for i := range 40 {
		v = append(v, 0.030+0.001*float64(i))
	}
	if n := flicked(v); n != 0 {
		t.Errorf("%d flicked where all are held", n)
	}
	group := []float64{0.007, 0.0075, 0.008, 0.0085}
	if n := flicked(append(slices.Clone(group), v...)); n != 4 {
		t.Errorf("%d flicked, want 4", n)
	}
	// Ten more and a stray in the gap.
	var more []float64
	for i := range 20 {
		more = append(more, 0.007+0.0001*float64(i))
	}
	more = append(more, 0.018)
	if n := flicked(append(more, v...)); n != 20 {
		t.Errorf("%d flicked, want 20", n)
	}
}

// Whatever is measured of whatever take, a comparison can be made of it and written.
func TestAnyTakes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		take := func(name string) *diagnose.Take {
			k := &diagnose.Take{Schema: diagnose.Schema}
			k.Recording.Usable = true
			n := rapid.IntRange(0, 120).Draw(t, name)
			number := func(i int, what string, least, most float64) diagnose.Number {
				if rapid.IntRange(0, 3).Draw(t, what) == 0 {
					return diagnose.Unknown()
				}
				return diagnose.Number(rapid.Float64Range(least, most).Draw(t, what))
			}
			for i := range n {
				s := diagnose.Stroke{Index: i, Kind: diagnose.KindType, Line: i / 12, Position: i % 12,
					TripS: number(i, "trip", 0, 10), StrikeS: number(i, "strike", 0, 10), ReleaseS: number(i, "release", 0, 10), LandingS: number(i, "landing", 0, 10),
					IntervalMS: number(i, "interval", 0, 500), LatencyMS: number(i, "latency", 0, 100), TravelMS: number(i, "travel", 0, 100), ReadyMS: number(i, "ready", 0, 200),
					MissedSpace: rapid.Bool().Draw(t, "missed")}
				k.Strokes = append(k.Strokes, s)
			}
			return k
		}
		c := Takes([]*diagnose.Take{take("before")}, []*diagnose.Take{take("after")}, Options{Resamples: 5})
		if _, err := json.Marshal(c); err != nil {
			t.Fatal(err)
		}
		if !slices.Contains([]string{Better, Worse, NoDifference, CannotTell}, c.Verdict) {
			t.Fatalf("verdict %q", c.Verdict)
		}
	})
}

// The bell tells real missed spaces from misheard ones.
func TestBell(t *testing.T) {
	h := mechanism.Staccato(0.08)
	real := mechanism.Sound().LateTrip(0.002)
	real.BellAt = 45 // so that it rings although spaces are missed
	sound := mechanism.Sound()
	sound.BellAt = 45
	misheard := func(k *diagnose.Take, share float64) *diagnose.Take {
		for i := range k.Strokes {
			// More on some lines than on others.
			if s := &k.Strokes[i]; float64(i%20) < 20*share*float64(s.Line%4) {
				s.MissedSpace = true
			}
		}
		return recount(k)
	}
	for seed := uint64(800); seed < 803; seed++ {
		a, b := page(t, real, h, 2*seed), page(t, sound, h, 2*seed+1)
		if belied([2][]*diagnose.Take{{a}, {b}}) {
			t.Errorf("seed %d: real missed spaces are not believed", seed)
		}
		a = misheard(page(t, sound, h, 2*seed), 0.1)
		if !belied([2][]*diagnose.Take{{a}, {b}}) {
			t.Errorf("seed %d: misheard missed spaces are believed", seed)
		}
		if c := compared(a, b); c.Verdict != NoDifference || !c.said("misses-belied") {
			t.Errorf("seed %d: %s%s", seed, c.Verdict, explain(c))
		}
	}
}

// recount counts positions anew after strokes were made to miss their spaces.
func recount(k *diagnose.Take) *diagnose.Take {
	at := 0
	for i := range k.Strokes {
		s := &k.Strokes[i]
		if i == 0 || s.Line != k.Strokes[i-1].Line {
			at = 0
		}
		if s.Position = at; !s.MissedSpace {
			at++
		}
	}
	return k
}

// A hand that strikes harder is no machine that trips later.
func TestTouch(t *testing.T) {
	hard := mechanism.Calm()
	hard.Speed, hard.MaxSpeed = 4, 6
	c := compared(page(t, mechanism.Sound(), mechanism.Calm(), 820), page(t, mechanism.Sound(), hard, 821))
	if m := c.measure("lead"); c.Verdict != NoDifference || m == nil || !(m.Corrected < alpha) || m.Change != "" {
		t.Errorf("%s%s", c.Verdict, explain(c))
	}
}

// A take with as many lines as a hostile file can have is still compared.
func TestManyLines(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	many := func(lines, each int) *diagnose.Take {
		k := &diagnose.Take{}
		k.Recording.Usable = true
		for i := range lines * each {
			k.Strokes = append(k.Strokes, diagnose.Stroke{Index: i, Kind: diagnose.KindType, Line: i / each, Position: i % each,
				TripS: 0, StrikeS: 0.003, IntervalMS: 150, LatencyMS: diagnose.Number(30 + i%17), TravelMS: diagnose.Number(30 + i%5), ReadyMS: diagnose.Number(60 + i%22),
				MissedSpace: i%11 == 0})
		}
		return k
	}
	for _, k := range []*diagnose.Take{many(5000, 3), many(6, 4000)} {
		if c := compared(k, many(8, 60)); c.Verdict == "" {
			t.Error("no verdict")
		}
	}
}

// The replay is checked by the simulated mechanism, so it must not use it.
func TestReplayStandsAlone(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, i := range f.Imports {
			if path := strings.Trim(i.Path.Value, `"`); strings.HasPrefix(path, "loosedog/") && path != "loosedog/diagnose" {
				t.Errorf("%s imports %s", name, path)
			}
		}
	}
}

// Short lines against long ones: travel is compared where both were.
func TestShortLines(t *testing.T) {
	long := page(t, mechanism.Sound(), mechanism.Brisk(), 830)
	short := page(t, mechanism.Sound(), mechanism.Brisk(), 831)
	short.Strokes = slices.DeleteFunc(short.Strokes, func(s diagnose.Stroke) bool { return s.Position > 15 })
	c := compared(long, short)
	if c.Verdict != NoDifference && c.Verdict != CannotTell || !c.said("short-lines") {
		t.Errorf("%s%s", c.Verdict, explain(c))
	}
	if m := c.measure("travel"); m == nil || m.Change != "" {
		t.Errorf("travel: %+v", m)
	}
}
