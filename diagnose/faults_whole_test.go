package diagnose_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/diagnose/mechanism/ears"
)

// Seeds of these tests, apart from those of the accuracy tables.
const firstSeed = 7001

func flicking() mechanism.Hand { return mechanism.Staccato(0.2) }

func scene(h mechanism.Hand, seed uint64) mechanism.Scenario {
	s := *mechanism.Ordinary("test", h, seed)
	s.Text = mechanism.Shelf
	return s
}

func judged(t *testing.T, s mechanism.Scenario, opt diagnose.Options) *diagnose.Take {
	t.Helper()
	p, err := s.Perform()
	if err != nil {
		t.Fatal(err)
	}
	return diagnose.Measure("test.wav", ears.Draw(s.Seed).Hear(p, s.Seed), nil, opt)
}

func at(take *diagnose.Take, fault string) int {
	return slices.IndexFunc(take.Findings, func(f diagnose.Finding) bool { return f.Fault == fault })
}

func blamed(take *diagnose.Take) (names []string) {
	for _, f := range take.Findings {
		if f.Share == diagnose.ShareMachine {
			names = append(names, f.Fault)
		}
	}
	return names
}

// whole checks what every finding must bring.
func whole(t *testing.T, take *diagnose.Take) {
	t.Helper()
	for _, f := range take.Findings {
		if f.Check == "" || f.Next == "" || len(f.Evidence) == 0 {
			t.Errorf("%s: nothing to check, or no evidence: %+v", f.Fault, f)
		}
		if f.Share == diagnose.ShareMachine && (!strings.Contains(f.Caution, "service sheet") || !strings.Contains(f.Caution, "One adjustment at a time") && !strings.Contains(f.Caution, "one adjustment at a time")) {
			t.Errorf("%s is proposed without its caution: %q", f.Fault, f.Caution)
		}
		if !slices.Contains([]string{diagnose.Strong, diagnose.Likely, diagnose.Possible}, f.Strength) {
			t.Errorf("%s: strength %q", f.Fault, f.Strength)
		}
		compared := false
		for _, e := range f.Evidence {
			if e.Low > e.Value || e.Value > e.High {
				t.Errorf("%s: %s %g outside %g to %g", f.Fault, e.Measure, e.Value, e.Low, e.High)
			}
			if e.Reference.Known() && (e.Basis == "" || e.Source == "") {
				t.Errorf("%s: %s is compared with %g from nowhere", f.Fault, e.Measure, e.Reference)
			}
			compared = compared || e.Reference.Known()
		}
		if !compared {
			t.Errorf("%s is compared with nothing", f.Fault)
		}
		if !slices.IsSorted(f.Where) || f.Explains < 0 || f.Explains > len(diagnose.Flagged(take))+take.Summary.Skipped {
			t.Errorf("%s: where %v, explains %d", f.Fault, f.Where, f.Explains)
		}
		for _, i := range f.Where {
			if i < 0 || i >= len(take.Strokes) {
				t.Errorf("%s: stroke %d", f.Fault, i)
			}
		}
	}
	if take.Answer.Code == "" || take.Answer.Text == "" {
		t.Error("no answer")
	}
}

// One fault each, bad enough to spoil ten letters: it is named first.
func TestEveryFaultIsNamed(t *testing.T) {
	for _, f := range mechanism.Faults() {
		t.Run(f.Name, func(t *testing.T) {
			takes, first := 0, 0
			for seed := uint64(firstSeed); seed < firstSeed+4; seed++ {
				s, _, ok := f.Grade(scene(flicking(), seed), 6)
				if !ok {
					continue
				}
				opt := diagnose.Options{}
				if f.Keyed {
					opt.Text = s.Text
				}
				take := judged(t, *s, opt)
				whole(t, take)
				takes++
				if at(take, f.Name) == 0 {
					first++
				} else {
					t.Logf("seed %d: %s", seed, take.Answer.Text)
				}
				if others := blamed(take); len(others) > 1 {
					t.Logf("seed %d: %v", seed, others)
				}
			}
			if takes == 0 || first < takes-1 {
				t.Errorf("named first in %d of %d", first, takes)
			}
		})
	}
}

// Sound machines are blamed by none of the hands.
func TestSoundMachinesAreNotBlamed(t *testing.T) {
	for _, h := range []mechanism.Hand{mechanism.Calm(), mechanism.Brisk(), flicking(), mechanism.Hurried(), mechanism.Slow()} {
		for seed := uint64(firstSeed); seed < firstSeed+3; seed++ {
			s := scene(h, seed)
			opt := diagnose.Options{}
			if seed == firstSeed {
				opt.Text = s.Text
			}
			take := judged(t, s, opt)
			whole(t, take)
			if names := blamed(take); len(names) > 0 {
				t.Errorf("%s, seed %d: %v", h.Name, seed, names)
			}
		}
	}
}

// A hurried hand on a sound machine is named, with the rate at which the machine
// would still be clear.
func TestHurriedHand(t *testing.T) {
	take := judged(t, scene(mechanism.Hurried(), firstSeed), diagnose.Options{})
	i := at(take, diagnose.FaultHurriedHand)
	if i != 0 || len(blamed(take)) > 0 {
		t.Fatalf("findings: %s", take.Answer.Text)
	}
	for _, e := range take.Findings[i].Evidence {
		if strings.Contains(e.Measure, "rate") {
			if want := 1000 / float64(take.Summary.ReadyMS.P95); math.Abs(float64(e.Value)-want) > 1e-9 {
				t.Errorf("clear at %g strokes a second, want %g", e.Value, want)
			}
			return
		}
	}
	t.Error("at what rate would it be clear?")
}

// Two at once are both named.
func TestTwoFaultsAtOnce(t *testing.T) {
	s := scene(flicking(), firstSeed)
	s.Machine = s.Machine.WithKey().LateTrip(0.0018).Binds(30, 3, 0.6*s.Machine.Pull(30))
	take := judged(t, s, diagnose.Options{})
	whole(t, take)
	if at(take, diagnose.FaultLateTrip) < 0 || at(take, diagnose.FaultBinding) < 0 || len(blamed(take)) != 2 {
		t.Errorf("%v", blamed(take))
	}
}

// A slow hand that flicks nothing cannot show what a late trip does.
func TestLateTripUnderASlowHand(t *testing.T) {
	h := mechanism.Slow()
	h.Flicked, h.HoldSpread, h.Spread = 0, 0.2, 0.15
	s := scene(h, firstSeed)
	s.Machine = s.Machine.WithKey().LateTrip(0.0015)
	p, err := s.Perform()
	if err != nil {
		t.Fatal(err)
	}
	take := diagnose.Measure("test.wav", ears.Perfect().Hear(p, 1), nil, diagnose.Options{})
	if take.Answer.Code != diagnose.AnswerCannotShow || !strings.Contains(take.Answer.Text, "staccato") {
		t.Errorf("%+v", take.Answer)
	}
}

// A hand that holds every key hides a sluggish escapement: no cause is made up, and
// flicked keys are asked for. They show it, half a page of them and nearly a whole one.
func TestSluggishEscapementNeedsFlickedKeys(t *testing.T) {
	shown := 0
	for seed := uint64(firstSeed); seed < firstSeed+3; seed++ {
		typed := func(flicked float64) *diagnose.Take {
			s := scene(mechanism.Calm(), seed)
			s.Hand.Flicked = flicked
			s.Machine = s.Machine.WithKey().SluggishEscapement(0.016, 0)
			return judged(t, s, diagnose.Options{})
		}
		held := typed(0)
		if len(held.Findings) > 0 || !strings.Contains(held.Answer.Text, "staccato") {
			t.Errorf("seed %d, every key held: %+v", seed, held.Answer)
		}
		if half := typed(0.5); at(half, diagnose.FaultSluggishEscapement) != 0 || len(blamed(half)) != 1 {
			t.Errorf("seed %d, half of them flicked: %+v", seed, half.Answer)
		}
		if at(typed(0.9), diagnose.FaultSluggishEscapement) == 0 {
			shown++
		}
	}
	// With next to no held stroke to compare with it is told less surely.
	if shown < 2 {
		t.Errorf("nearly all flicked: shown by %d of 3", shown)
	}
}

// Nothing wrong is an answer.
func TestNothingWrong(t *testing.T) {
	s := scene(mechanism.Calm(), firstSeed)
	h := mechanism.Calm()
	h.Shortest, h.Spread = 0.16, 0.1
	s.Hand = h
	p, err := s.Perform()
	if err != nil {
		t.Fatal(err)
	}
	take := diagnose.Measure("test.wav", ears.Perfect().Hear(p, 1), nil, diagnose.Options{})
	if take.Answer.Code != diagnose.AnswerNothing || len(take.Findings) > 0 {
		t.Errorf("%+v", take.Answer)
	}
	// Of twenty strokes nothing can be told.
	heardFew := ears.Perfect().Hear(p, 1)
	heardFew.Strokes = heardFew.Strokes[:20]
	heardFew.Lines = heardFew.Lines[:1]
	heardFew.Lines[0].Count = 20
	if take = diagnose.Measure("test.wav", heardFew, nil, diagnose.Options{}); take.Answer.Code != diagnose.AnswerCannotTell || len(take.Findings) > 0 {
		t.Errorf("of twenty strokes: %+v", take.Answer)
	}
}

// Where no release is heard nothing is said of travel and latency.
func TestDeafToReleases(t *testing.T) {
	for _, f := range mechanism.Faults() {
		if f.Keyed {
			continue
		}
		s, _, ok := f.Grade(scene(flicking(), firstSeed), 6)
		if !ok {
			continue
		}
		p, err := s.Perform()
		if err != nil {
			t.Fatal(err)
		}
		heard := ears.Draw(s.Seed).Hear(p, s.Seed)
		for i := range heard.Strokes {
			heard.Strokes[i].Release.Time, heard.Strokes[i].Release.Confidence = math.NaN(), 0
		}
		take := diagnose.Measure("test.wav", heard, nil, diagnose.Options{})
		whole(t, take)
		for _, never := range []string{diagnose.FaultWeakPull, diagnose.FaultBinding, diagnose.FaultSluggishEscapement, diagnose.FaultSluggishBar} {
			if at(take, never) >= 0 {
				t.Errorf("%s: %s named without a release", f.Name, never)
			}
		}
	}
}

// The machine file's figures come back: net pull and drag in newtons, and whether
// the spring scale agrees.
func TestPullAgainstTheScale(t *testing.T) {
	s := scene(mechanism.Calm(), firstSeed)
	m := s.Machine
	end := 62
	start, finish := m.PullStart, m.Drag+m.Pull(end)
	known := func(mass, start, finish float64) *diagnose.Machine {
		return &diagnose.Machine{MassKG: diagnose.Number(mass), PullStartN: diagnose.Number(start), PullEndN: diagnose.Number(finish)}
	}
	nan := math.NaN()
	for name, c := range map[string]struct {
		machine *diagnose.Machine
		agrees  any // true, false, or nil
		net     bool
	}{
		"no file":       {nil, nil, false},
		"mass":          {known(m.Mass, nan, nan), nil, true},
		"mass and pull": {known(m.Mass, start, finish), true, true},
		"heavier":       {known(1.4*m.Mass, start, finish), false, true},
		"one pull":      {known(nan, start, nan), nil, false},
		"falls too far": {known(m.Mass, start, 0.5*finish), false, true},
	} {
		p := judged(t, s, diagnose.Options{Machine: c.machine}).Pull
		if p == nil || p.Text == "" {
			t.Fatalf("%s: no pull", name)
		}
		switch {
		case c.agrees == nil && p.Agrees != nil, c.agrees != nil && (p.Agrees == nil || *p.Agrees != c.agrees):
			t.Errorf("%s: agrees %v, want %v: %s", name, p.Agrees, c.agrees, p.Text)
		}
		if got := p.NetStartN.Value.Known(); got != c.net {
			t.Errorf("%s: net pull %v", name, p.NetStartN)
		}
	}
	p := judged(t, s, diagnose.Options{Machine: known(m.Mass, start, finish)}).Pull
	if want := m.Pull(0); math.Abs(float64(p.NetStartN.Value)-want) > 0.04*want {
		t.Errorf("net pull %v N, want %.2f", p.NetStartN, want)
	}
	if math.Abs(float64(p.DragN.Value)-m.Drag) > 0.3 {
		t.Errorf("drag %v N, want %.2f", p.DragN, m.Drag)
	}
	// Without the mass, from the two readings: drag within what they allow.
	p = judged(t, s, diagnose.Options{Machine: known(nan, start, finish)}).Pull
	if p.Agrees == nil || !*p.Agrees {
		t.Errorf("two readings without the mass: %s", p.Text)
	}
}

// An earlier take of the same machine is a reference of its own.
func TestWeakerThanEarlier(t *testing.T) {
	s := scene(mechanism.Calm(), firstSeed)
	earlier := judged(t, s, diagnose.Options{})
	s.Machine = s.Machine.WeakPull(0.6, 0.6)
	take := judged(t, s, diagnose.Options{Earlier: earlier})
	i := at(take, diagnose.FaultWeakPull)
	if i < 0 {
		t.Fatalf("%s", take.Answer.Text)
	}
	if !slices.ContainsFunc(take.Findings[i].Evidence, func(e diagnose.Evidence) bool { return e.Basis == diagnose.BasisEarlier }) {
		t.Error("the earlier take is not named")
	}
}
