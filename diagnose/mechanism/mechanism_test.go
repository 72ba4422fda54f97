package mechanism

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"loosedog/audio/synth"
)

func perform(t interface{ Fatal(...any) }, m Machine, h Hand, text string, seed uint64) *Performance {
	p, err := Simulate(m, h, text, seed)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// exact is a sound machine and a steady hand without chance in the carriage.
func exact() Machine {
	m := Sound()
	m.Uneven, m.ReturnSpread = 0, 0
	return m
}

// Worked out from t = sqrt(2 m d / F), constant pull, no friction, in ms for pica /
// elite; masses and pulls are assumed. The travel checked is the simulator's own,
// landing minus start.
func TestTravelTable(t *testing.T) {
	pulls := []float64{2.2, 3.3, 4.45, 6.7}
	for _, row := range []struct {
		mass        float64
		pica, elite []float64
	}{
		{1.0, []float64{48.1, 39.2, 33.8, 27.5}, []float64{43.9, 35.8, 30.8, 25.1}},
		{1.5, []float64{58.9, 48.1, 41.4, 33.7}, []float64{53.7, 43.9, 37.8, 30.8}},
		{2.0, []float64{68.0, 55.5, 47.8, 38.9}, []float64{62.0, 50.7, 43.6, 35.5}},
	} {
		for i, f := range pulls {
			for pitch, want := range map[float64]float64{Pica: row.pica[i], Elite: row.elite[i]} {
				m := exact()
				m.Mass, m.PullStart, m.PullEnd, m.Drag, m.Pitch = row.mass, f, f, 0, pitch
				p := perform(t, m, Calm(), "harbour", 1)
				for _, k := range p.Strokes {
					if got := 1000 * (k.Landing - k.Start); math.Abs(got-want) > 0.051 {
						t.Errorf("%g kg, %g N, pitch %g: travel %.2f ms, want %.1f", row.mass, f, pitch, got, want)
					}
				}
			}
		}
	}
	// The same formula: m = 1.2 kg, F - D = 5 N, p = 2.54 mm: 34.9 ms.
	m := exact()
	m.Mass, m.PullStart, m.Drag = 1.2, 6, 1
	if got := 1000 * m.Travel(0, 1); math.Abs(got-34.9) > 0.05 {
		t.Errorf("travel %.2f ms, want 34.9", got)
	}
}

// Ratios of that formula that need no mass: elite/pica 0.913; pull -20 % gives
// +11.8 %, -50 % gives +41.4 %; a half-space leg alone is 0.707 of a whole.
func TestTravelRatios(t *testing.T) {
	m := exact()
	m.Drag, m.PullEnd = 0, m.PullStart
	base := m.Travel(0, 1)
	elite := m.With("", Elite)
	less, half := m, m
	less.PullStart *= 0.8
	half.PullStart *= 0.5
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"elite to pica", elite.Travel(0, 1) / base, 0.913},
		{"pull -20 %", less.Travel(0, 1) / base, 1.118},
		{"pull -50 %", half.Travel(0, 1) / base, 1.414},
		{"half-space leg", m.Travel(0, 0.5) / base, 0.707},
	} {
		if math.Abs(c.got-c.want) > 0.0006 {
			t.Errorf("%s: %.4f, want %.3f", c.what, c.got, c.want)
		}
	}
	// And as it is simulated: both legs of a half-space machine.
	hs := m.With(HalfSpace, 0)
	for _, k := range perform(t, hs, Calm(), "lend me a lamp", 2).Strokes {
		first, second := k.HalfLanding-k.Trip, k.Landing-k.Release
		if math.Abs(first/base-0.7071) > 1e-3 || math.Abs(second/base-0.7071) > 1e-3 {
			t.Errorf("legs are %.4f and %.4f of a whole travel, want 0.707", first/base, second/base)
		}
	}
}

// 1/travel^2 is proportional to net pull: it falls along the line as the pull
// does: t = sqrt(2 m d / F).
func TestTravelFollowsPull(t *testing.T) {
	m := exact()
	m.PullStart, m.PullEnd, m.Drag, m.Columns = 5, 3, 1, 50
	p := perform(t, m, Calm(), strings.Repeat("quay ", 10), 3)
	zero := p.Strokes[0].Travel
	for _, k := range p.Strokes {
		net := 4 - 2*float64(k.Position)/50
		if got := zero * zero / (k.Travel * k.Travel); math.Abs(got-net/4) > 1e-9 {
			t.Errorf("position %d: 1/travel^2 is %.4f of the start's, net pull %.4f", k.Position, got, net/4)
		}
	}
}

// typed is two letters with everything set by hand.
func typed(m Machine, strikes, hold []float64) []Stroke {
	s := &simulation{m: m, r: rand.New(rand.NewPCG(1, 1))}
	var all []Stroke
	for i, at := range strikes {
		all = append(all, Stroke{Char: rune('a' + i), Strike: at, Trip: at - 0.003, BarBack: at + hold[i], Label: Clear,
			Release: none(), Start: none(), HalfLanding: none(), Landing: none(), SkipLanding: none(),
			Travel: none(), ShortBy: none(), Tooth: -1})
	}
	s.work(all)
	return all
}

// A letter struck u after the release of a travel T stands at (u/T)^2 of a space:
// the way covered under a constant pull.
func TestCrowdedBy(t *testing.T) {
	m := exact()
	travel := m.Travel(0, 1)
	for _, share := range []float64{0.15, 0.25, 0.5, 0.75, 0.99} {
		all := typed(m, []float64{1, 1.050 + share*travel}, []float64{0.050, 0.050})
		k := all[1]
		if want := 1 - share*share; k.Label != Crowded || math.Abs(k.ShortBy-want) > 1e-9 {
			t.Errorf("struck at %.2f of the travel: %s, short by %.4f, want %.4f", share, k.Label, k.ShortBy, want)
		}
	}
	all := typed(m, []float64{1, 1.050 + 1.001*travel}, []float64{0.050, 0.050})
	if all[1].Label != Clear || happened(all[1].ShortBy) {
		t.Errorf("struck after the landing: %s, short by %g", all[1].Label, all[1].ShortBy)
	}
	// On a half-space machine half the space lies behind already.
	hs := m.With(HalfSpace, 0)
	leg := hs.Travel(0, 0.5)
	all = typed(hs, []float64{1, 1.050 + 0.5*leg}, []float64{0.050, 0.050})
	if want := 0.5 * (1 - 0.25); math.Abs(all[1].ShortBy-want) > 1e-6 {
		t.Errorf("half-space: short by %.4f, want %.4f", all[1].ShortBy, want)
	}
}

// Tripped for less than the dog's time: no space, the next letter piles.
func TestTripTooBriefMakesNoSpace(t *testing.T) {
	m := exact()
	m.DogTime = 0.0040
	for _, c := range []struct {
		back   float64 // after the strike; tripped 3 ms longer
		missed bool
	}{{0.0005, true}, {0.00099, true}, {0.00101, false}, {0.010, false}} {
		all := typed(m, []float64{1, 1.3}, []float64{c.back, 0.05})
		if all[0].Missed != c.missed || happened(all[0].Release) == c.missed || happened(all[0].Landing) == c.missed {
			t.Errorf("tripped for %.2f ms: missed %v", 1000*(0.003+c.back), all[0].Missed)
		}
		label, position := Clear, 1
		if c.missed {
			label, position = Piled, 0
		}
		if all[1].Label != label || all[1].Position != position {
			t.Errorf("the next letter is %s at %d, want %s at %d", all[1].Label, all[1].Position, label, position)
		}
	}
}

// A second bar that trips before the first has released shares its release; the
// second letter piles and the carriage moves one space for both.
func TestOverlapSharesOneRelease(t *testing.T) {
	all := typed(exact(), []float64{1, 1.040, 1.5}, []float64{0.050, 0.030, 0.050})
	a, b, c := all[0], all[1], all[2]
	if !a.Shared || happened(a.Release) || happened(a.Landing) {
		t.Errorf("the first has a release of its own: %+v", a)
	}
	if b.Shared || b.Release != b.BarBack || b.Label != Piled || b.Position != 0 {
		t.Errorf("the second: %+v", b)
	}
	if c.Position != 1 || c.Label != Clear {
		t.Errorf("the third stands at %d, %s", c.Position, c.Label)
	}
	// The longer of the two holds the escapement.
	all = typed(exact(), []float64{1, 1.040}, []float64{0.090, 0.020})
	if all[1].Release != all[0].BarBack {
		t.Errorf("released at %g, the first bar was back at %g", all[1].Release, all[0].BarBack)
	}
	// Down-stroke: the first makes the space, the second finds it made, the
	// third would pile if struck while both are held.
	all = typed(exact().With(DownStroke, 0), []float64{1, 1.045, 1.060}, []float64{0.060, 0.060, 0.060})
	if all[0].Shared || !all[1].Shared || all[1].Label != Clear || all[2].Label != Piled {
		t.Errorf("down-stroke: %s %s %s", all[0].Label, all[1].Label, all[2].Label)
	}
}

// A skip lands twice, a travel apart, and moves two spaces.
func TestSkip(t *testing.T) {
	m := exact().ChippedRack(2, 1)
	all := typed(m, []float64{1, 1.2, 1.4}, []float64{0.05, 0.05, 0.05})
	k := all[1]
	if gap := k.SkipLanding - k.Landing; math.Abs(gap-m.Travel(2, 1)) > 1e-9 {
		t.Errorf("second landing %.2f ms after the first, want a travel, %.2f", 1000*gap, 1000*m.Travel(2, 1))
	}
	if all[2].Position != 3 || happened(all[0].SkipLanding) {
		t.Errorf("third letter at %d, want 3", all[2].Position)
	}
}

// Each fault shows in the measure that its physics says, and nowhere else.
func TestFaults(t *testing.T) {
	base := exact()
	calm := Calm()
	calm.Flicked = 0
	ref := perform(t, base, calm, Quay, 5)
	pairs := func(p *Performance, f func(was, is *Stroke)) {
		if len(p.Strokes) != len(ref.Strokes) {
			t.Fatal("another number of strokes")
		}
		for i := range p.Strokes {
			f(&ref.Strokes[i], &p.Strokes[i])
		}
	}
	near := func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }

	pairs(perform(t, base.LateTrip(0.002), calm, Quay, 5), func(was, is *Stroke) {
		if !is.Space && !near(is.Lead(), was.Lead()*2/9.5) {
			t.Fatalf("late trip: lead %.2f ms, was %.2f", 1000*is.Lead(), 1000*was.Lead())
		}
	})
	pairs(perform(t, base.Binds(20, 4, 2.5), calm, Quay, 5), func(was, is *Stroke) {
		bound := is.Position >= 18 && is.Position <= 22
		if bound != (is.Travel > was.Travel+0.005) || !bound && !near(is.Travel, was.Travel) {
			t.Fatalf("binding at %d: travel %.1f ms, was %.1f", is.Position, 1000*is.Travel, 1000*was.Travel)
		}
	})
	odd := 0
	pairs(perform(t, base.WornAt(3, 0.006, 6), calm, Quay, 5), func(was, is *Stroke) {
		if longer := near(is.Travel, was.Travel+0.006); longer != (is.Tooth == 3) {
			t.Fatalf("worn tooth: tooth %d, travel %+.1f ms", is.Tooth, 1000*(is.Travel-was.Travel))
		} else if longer {
			odd++
		}
	})
	if want := len(ref.Strokes) / base.Teeth; odd < want || odd > want+1 {
		t.Errorf("%d odd travels of %d, want every %d-th", odd, len(ref.Strokes), base.Teeth)
	}
	pairs(perform(t, base.SluggishBar("e", 0.03, 0), calm, Quay, 5), func(was, is *Stroke) {
		if later := near(is.Latency(), was.Latency()+0.03); later != (is.Char == 'e') && !near(is.Strike-was.Strike, 0) {
			t.Fatalf("sluggish bar: %q latency %.1f ms, was %.1f", is.Char, 1000*is.Latency(), 1000*was.Latency())
		}
	})
	pairs(perform(t, base.TiltedBar(-0.008), calm, Quay, 5), func(was, is *Stroke) {
		if want := was.Lead() * (9.5 - 8*(is.Key-0.5)) / 9.5; !is.Space && !near(is.Lead(), want) {
			t.Fatalf("tilted bar: key %.2f lead %.2f ms, want %.2f", is.Key, 1000*is.Lead(), 1000*want)
		}
	})
	late := perform(t, base.SluggishEscapement(0.02, 20), calm, Quay, 5)
	early, end := 0.0, 0.0
	pairs(late, func(was, is *Stroke) {
		if d := is.Release - is.BarBack; d < 0 {
			t.Fatalf("released %.2f ms before the bar was back", -1000*d)
		} else if is.Line == 0 && happened(d) {
			early += d
		} else if is.Line == 4 && happened(d) {
			end += d
		}
	})
	if early < 2*end {
		t.Errorf("sluggish escapement: delays add up to %.3f s in line 1 and %.3f s in line 5, should shrink with warmth", early, end)
	}
	flicks := Staccato(0.5)
	missed := perform(t, base.LateSpaceBar(0.001, 0.001), flicks, Quay, 5)
	n := 0
	for _, k := range missed.Strokes {
		if k.Missed && !k.Space {
			t.Fatal("late space bar: a letter missed its space")
		} else if k.Missed {
			n++
		}
	}
	if n < 5 {
		t.Errorf("late space bar: %d missed spaces", n)
	}
	ring := 0
	for _, s := range perform(t, base.UnsteadyDesk(3), calm, Quay, 5).Sounds() {
		if s.Kind == synth.Desk {
			ring++
		}
	}
	if ring == 0 {
		t.Error("unsteady desk: no ring")
	}
	weak := base.WeakPull(0.7, 0.3)
	if got := weak.Pull(68) / base.Pull(68); math.Abs(got-0.3) > 1e-9 {
		t.Errorf("weak pull leaves %.2f of the net pull at the end, want 0.3", got)
	}
}

// A sound machine under a calm hand does nothing wrong; a late trip under
// flicked strokes misses spaces and only there.
func TestWhoIsToBlame(t *testing.T) {
	for seed := range uint64(20) {
		p, err := Ordinary("sound", Calm(), seed).Perform()
		if err != nil {
			t.Fatal(err)
		}
		if bad := len(p.Strokes) - p.Count(Clear); bad > 3 {
			t.Errorf("seed %d: a sound machine and a calm hand crowd %d letters", seed, bad)
		}
		for _, k := range p.Strokes {
			if k.Missed {
				t.Errorf("seed %d: a sound machine missed a space", seed)
			}
		}
	}
	p, err := Demo().Perform()
	if err != nil {
		t.Fatal(err)
	}
	missed := 0
	for _, k := range p.Strokes {
		if k.Missed {
			missed++
			if !k.Flicked {
				t.Error("the demo missed a space after a stroke that was not flicked")
			}
		}
	}
	if missed < 10 || p.Count(Crowded) < 3 {
		t.Errorf("the demo shows %d missed spaces and %d crowded letters, too few to be worth showing", missed, p.Count(Crowded))
	}
}

// Mean interval = 12000/wpm ms, a word being five strokes (40 -> 300, 60 -> 200,
// 90 -> 133.3, 120 -> 100), and opposite hands 30 to 60 ms faster (Salthouse
// 1984).
func TestIntervals(t *testing.T) {
	for _, logistic := range []bool{false, true} {
		for wpm, want := range map[float64]float64{40: 300, 60: 200, 90: 133.3, 120: 100} {
			h := Hand{Rate: PerMinute(wpm), Spread: 0.2, Alternation: 0.045, Speed: 3, MinSpeed: 2, MaxSpeed: 4,
				Hold: 0.02, HoldSpread: 0.1, LogLogistic: logistic}
			if wpm > 100 {
				h.Alternation = 0.030
			}
			var same, other []float64
			sum, n := 0.0, 0
			for seed := range uint64(12) {
				p := perform(t, exact(), h, Shelf, seed)
				for i := 1; i < len(p.Strokes); i++ {
					a, b := p.Strokes[i-1], p.Strokes[i]
					if a.Line != b.Line {
						continue
					}
					gap := 1000 * (b.Strike - a.Strike)
					sum += gap
					n++
					if alternate(a.Char, b.Char) {
						other = append(other, gap)
					} else {
						same = append(same, gap)
					}
				}
			}
			if got := sum / float64(n); math.Abs(got-want) > 0.03*want {
				t.Errorf("%g words a minute: mean interval %.1f ms, want %.1f", wpm, got, want)
			}
			if d := mean(same) - mean(other); math.Abs(d-1000*h.Alternation) > 5 {
				t.Errorf("%g words a minute: opposite hands %.1f ms faster, want %.0f", wpm, d, 1000*h.Alternation)
			}
		}
	}
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// For every seed and condition: the events of a stroke come in order, positions
// are counted landings, there is one landing for each space, and labels follow
// from the times.
func TestPerformanceHoldsTogether(t *testing.T) {
	conditions := append(Conditions(), Spoiled()...)
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(conditions).Draw(t, "condition")
		seed := rapid.Uint64().Draw(t, "seed")
		p, err := c.Make(seed).Perform()
		if err != nil {
			t.Fatal(err)
		}
		landings, line, lastLanding := 0, 0, math.Inf(-1)
		for i := range p.Strokes {
			k := &p.Strokes[i]
			if k.Line != line {
				landings, line = 0, k.Line
				lastLanding = math.Inf(-1)
			}
			order := []float64{k.Lever, k.Linkage, k.Trip, k.Strike, k.BarBack}
			if k.Lever > k.Linkage { // both before the trip, in either order
				order = []float64{k.Linkage, k.Trip, k.Strike, k.BarBack}
			}
			if happened(k.Landing) {
				order = append(order, k.Release, k.Landing)
				if p.Machine.Action == DownStroke {
					order = []float64{k.Trip, k.Strike, k.Release}
				}
				if happened(k.SkipLanding) && p.Machine.Action != DownStroke {
					order = append(order, k.SkipLanding)
				}
			}
			if !slices.IsSorted(order) {
				t.Fatalf("stroke %d: %v out of order", i, order)
			}
			if k.BarRest < k.BarBack || k.KeyUp < k.BarBack {
				t.Fatalf("stroke %d: at rest before it was back", i)
			}
			if i > 0 && !(k.Strike > p.Strokes[i-1].Strike) {
				t.Fatalf("stroke %d struck before the one before it", i)
			}
			if happened(k.Landing) == (k.Missed || k.Shared) || happened(k.Landing) != happened(k.Release) {
				t.Fatalf("stroke %d: landing %g, missed %v, shared %v", i, k.Landing, k.Missed, k.Shared)
			}
			if p.Machine.Action != DownStroke && k.Position != landings {
				t.Fatalf("stroke %d stands at %d after %d landings", i, k.Position, landings)
			}
			for _, at := range []float64{k.Landing, k.SkipLanding} {
				if happened(at) {
					if !(at > lastLanding) {
						t.Fatalf("stroke %d lands at %g, not after %g", i, at, lastLanding)
					}
					lastLanding = at
					landings++
				}
			}
			if (k.Label == Crowded) != happened(k.ShortBy) || k.Label == Crowded && !(k.ShortBy > 0 && k.ShortBy < 1) {
				t.Fatalf("stroke %d: %s, short by %g", i, k.Label, k.ShortBy)
			}
		}
		again, _ := c.Make(seed).Perform()
		for i, k := range again.Strokes {
			was := p.Strokes[i]
			if k.Strike != was.Strike || k.Trip != was.Trip || k.KeyUp != was.KeyUp || k.Label != was.Label ||
				math.Float64bits(k.Landing) != math.Float64bits(was.Landing) {
				t.Fatalf("stroke %d: the same seed did something else", i)
			}
		}
		sounds := p.Sounds()
		count := 0
		for _, s := range sounds {
			if !(s.Time >= 0 && s.Time < p.Duration) || math.IsNaN(s.Strength) {
				t.Fatalf("sound out of the take: %+v", s)
			}
			if s.Kind == synth.Strike || s.Kind == synth.Thump {
				count++
			}
		}
		if count != len(p.Strokes) {
			t.Fatalf("%d strikes and thumps for %d strokes", count, len(p.Strokes))
		}
	})
}

// Every condition can be heard: finite samples within full scale, the right
// length, not silent. Short text, so that all of them are tried.
func TestConditionsRender(t *testing.T) {
	for _, c := range append(Conditions(), Spoiled()...) {
		s := c.Make(11)
		s.Text, s.Recording.Duration = "jug\nq y", 2
		_, x, rate, err := s.Record()
		if err != nil {
			t.Errorf("%s: %v", c.Name, err)
			continue
		}
		if want := int(math.Ceil(2*rate)) * max(s.Recording.Channels, 1); len(x) != want {
			t.Errorf("%s: %d samples, want %d", c.Name, len(x), want)
		}
		top := 0.0
		for _, v := range x {
			top = max(top, math.Abs(v))
			if !(math.Abs(v) <= 1) {
				t.Errorf("%s: a sample is %g", c.Name, v)
				break
			}
		}
		if top < 0.002 {
			t.Errorf("%s: peaks at %g", c.Name, top)
		}
	}
}

// Different seeds draw different machines, hands, palettes and rooms.
func TestSeedsDraw(t *testing.T) {
	c := Conditions()[0]
	a, b := c.Make(1), c.Make(2)
	if fmt.Sprint(a.Machine) == fmt.Sprint(b.Machine) || fmt.Sprint(a.Hand) == fmt.Sprint(b.Hand) ||
		a.Recording == b.Recording || fmt.Sprint(a.Palette) == fmt.Sprint(b.Palette) {
		t.Error("two seeds drew the same")
	}
}

func TestTruthFile(t *testing.T) {
	m := exact().LateTrip(0.0015)
	m.DogTime = 0.004
	p := perform(t, m, Staccato(0.3), Quay, 3)
	path := filepath.Join(t.TempDir(), "take.truth.json")
	if err := p.WriteTruth(path); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	got, err := ReadTruth(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Strokes) != len(p.Strokes) || len(got.Lines) != len(p.Lines) {
		t.Fatalf("%d strokes and %d lines came back of %d and %d", len(got.Strokes), len(got.Lines), len(p.Strokes), len(p.Lines))
	}
	for i, k := range got.Strokes {
		was := p.Strokes[i]
		if k.Strike != was.Strike || k.Label != was.Label || k.Missed != was.Missed || (k.Landing == nil) != !happened(was.Landing) {
			t.Fatalf("stroke %d came back as %+v", i, k)
		}
	}
	// The names that other truths use must be there, null where a thing is absent.
	var raw struct {
		Strokes []map[string]any `json:"strokes"`
	}
	if err := json.Unmarshal(b, &raw); err != nil {
		t.Fatal(err)
	}
	nulls := 0
	for _, k := range raw.Strokes {
		for _, name := range []string{"char", "line", "col", "strike", "trip", "bar_back", "speed", "space", "position", "release", "landing", "label"} {
			v, ok := k[name]
			if !ok {
				t.Fatalf("no %q in %v", name, k)
			}
			if v == nil {
				nulls++
			}
		}
	}
	if nulls == 0 {
		t.Error("a take with missed spaces has no null in its truth")
	}
	if err := p.WriteTruth(filepath.Join(t.TempDir(), "no", "such", "folder.json")); err == nil {
		t.Error("no error for a folder that is not there")
	}
}

func TestRefuses(t *testing.T) {
	for name, f := range map[string]func(m *Machine, h *Hand, text *string){
		"no text":     func(_ *Machine, _ *Hand, text *string) { *text = " \n\n" },
		"no mass":     func(m *Machine, _ *Hand, _ *string) { m.Mass = 0 },
		"pitch NaN":   func(m *Machine, _ *Hand, _ *string) { m.Pitch = math.NaN() },
		"no action":   func(m *Machine, _ *Hand, _ *string) { m.Action = "sideways" },
		"idle hand":   func(_ *Machine, h *Hand, _ *string) { h.Rate = 0 },
		"return zero": func(m *Machine, _ *Hand, _ *string) { m.ReturnSpeed = 0 },
	} {
		m, h, text := Sound(), Calm(), "quay"
		f(&m, &h, &text)
		if _, err := Simulate(m, h, text, 1); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// Constructors copy: changing one machine leaves the one it came from alone.
func TestConstructorsCopy(t *testing.T) {
	a := Sound().Binds(10, 2, 1)
	b, c := a.Binds(20, 2, 1), a.Binds(30, 2, 1)
	if b.Bindings[1].Position != 20 || c.Bindings[1].Position != 30 || len(a.Bindings) != 1 {
		t.Errorf("machines share their bindings: %v %v %v", a.Bindings, b.Bindings, c.Bindings)
	}
}

// The lending shelf's lines are of the length that the test asks for.
func TestTexts(t *testing.T) {
	for _, text := range []string{Shelf, Quay} {
		for _, l := range strings.Split(text, "\n") {
			if len(l) < 55 || len(l) > 65 || l != strings.ToLower(l) {
				t.Errorf("%d characters: %s", len(l), l)
			}
		}
	}
}

// Released again before the tooth on its way has arrived: the carriage stops
// there and starts the next space from rest (package doc).
func TestReleasedWhileTravelling(t *testing.T) {
	m := exact()
	travel := m.Travel(0, 1)
	// The second bar trips 3 ms after the first release and is back 10 ms later.
	all := typed(m, []float64{1, 1.056}, []float64{0.050, 0.007})
	a, b := all[0], all[1]
	if !(b.Release < a.Landing) {
		t.Fatalf("released at %g, landed at %g: not the case to test", b.Release, a.Landing)
	}
	if a.Landing != a.Release+travel || b.Start != a.Landing || math.Abs(b.Landing-(a.Landing+m.Travel(1, 1))) > 1e-12 {
		t.Errorf("first landing %g, then from %g to %g", a.Landing, b.Start, b.Landing)
	}
	// A half-space machine released before its half move has landed.
	hs := m.With(HalfSpace, 0)
	k := typed(hs, []float64{1}, []float64{0.010})[0]
	if k.Start != k.HalfLanding || k.Release >= k.HalfLanding {
		t.Errorf("half-space: second leg from %g, first landed at %g", k.Start, k.HalfLanding)
	}
}
