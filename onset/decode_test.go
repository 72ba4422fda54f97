package onset

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// scene is a line of sounds made by hand, and which of them belong together.
type scene struct {
	session
	r     *rand.Rand
	names map[float64]string // of sounds by time
}

func newScene(seed uint64) *scene {
	return &scene{session: session{scan: &scan{rate: 48000, bands: maxBands, hopTime: hopSeconds, floor: 1e-10}},
		r: rand.New(rand.NewPCG(seed, 40)), names: map[float64]string{}}
}

// sound puts one in; name says whose it is.
func (s *scene) sound(k kindOfSound, t float64, name string) {
	s.found = append(s.found, k.at(t, s.r))
	s.names[t] = name
}

const (
	usualLatency = 0.050
	usualTravel  = 0.035
)

// carriage puts in the release and the landing of a stroke struck at t.
func (s *scene) carriage(t float64, name string) {
	release := t + usualLatency + 0.003*s.r.NormFloat64()
	s.sound(releaseSound, release, name+" release")
	s.sound(landingSound, release+usualTravel+0.0004*s.r.NormFloat64(), name+" landing")
}

// taught is a model that knows the made-up kinds of sound.
func taught() *model {
	r := rand.New(rand.NewPCG(1, 41))
	m := &model{bands: maxBands, spaces: true, pairs: true, rate: 10}
	m.strike, m.thump = fit(strikeSound.some(50, r)), fit(thumpSound.some(50, r))
	m.release, m.landing = fit(releaseSound.some(50, r)), fit(landingSound.some(50, r))
	m.clutter = fitClutter(append(leverSound.some(100, r), kindOfSound{-55, [maxBands]float64{-6, -6, -6, -6}, 5, 0, 4}.some(100, r)...), maxBands)
	m.travel = travelModel{a: 1 / (usualTravel * usualTravel), sigma: 0.0006}
	d := delays{latency: usualLatency, latencySigma: 0.008, ready: usualLatency + usualTravel, readySigma: 0.008}
	m.delay = [2]delays{d, d}
	m.both, m.only = [2]float64{0.9, 0.9}, [2]float64{0.04, 0.04}
	m.half, m.none = [2]float64{0.02, 0.02}, [2]float64{0.04, 0.04}
	m.pace, m.paceSigma = math.Log(0.18), 0.5
	m.prior = [2]float64{-1, -2.5}
	return m
}

// decoded is what the model makes of the scene.
func (s *scene) decoded(m *model) []stroke {
	slices.SortFunc(s.found, func(a, b candidate) int { return cmp.Compare(a.time, b.time) })
	m.weigh(s.scan, 0, len(s.found))
	s.isSecond, s.isStrike = make([]bool, len(s.found)), make([]bool, len(s.found))
	for i := range s.found {
		s.isStrike[i] = m.llr[i][asStrike] > 3
	}
	var nodes []node
	var room desk
	for i := range s.found {
		for _, space := range []bool{false, true} {
			v := m.llr[i][asStrike]
			if space {
				v = m.llr[i][asThump]
			}
			if v < -2 {
				continue
			}
			n := node{cand: i, time: s.found[i].time, trip: -1, space: space, score: v + m.prior[kindOf(space)], position: float64(len(nodes))}
			n.options = m.optionsFor(&s.session, &n, &room)
			nodes = append(nodes, n)
		}
	}
	out, _ := m.decodeLine(s.scan, nodes, &room)
	return out
}

// told writes a stroke by the names of its sounds, "-" where not heard.
func (s *scene) told(st stroke) [3]string {
	name := func(i int) string {
		if i < 0 {
			return "-"
		}
		return s.names[s.found[i].time]
	}
	return [3]string{name(st.strike), name(st.release), name(st.landing)}
}

func (s *scene) check(t *testing.T, want ...[3]string) {
	t.Helper()
	got := s.decoded(taught())
	if len(got) != len(want) {
		t.Errorf("%d strokes, want %d", len(got), len(want))
	}
	for i := range min(len(got), len(want)) {
		if s.told(got[i]) != want[i] {
			t.Errorf("stroke %d is %q, want %q", i, s.told(got[i]), want[i])
		}
		if space := want[i][0][0] == '_'; got[i].space != space {
			t.Errorf("stroke %d %q: of the space bar: %v", i, want[i][0], got[i].space)
		}
	}
}

func own(name string) [3]string { return [3]string{name, name + " release", name + " landing"} }

// typed puts in a stroke with its carriage sounds; names beginning with "_" are
// of the space bar.
func (s *scene) typed(t float64, name string) [3]string {
	k := strikeSound
	if name[0] == '_' {
		k = thumpSound
	}
	s.sound(k, t, name)
	s.carriage(t, name)
	return own(name)
}

func TestEachStrokeGetsItsOwnPair(t *testing.T) {
	for seed := range uint64(10) {
		s := newScene(seed)
		var want [][3]string
		for i, c := range "the_quay_at_dawn_is_cold" {
			at := 1 + 0.18*float64(i)
			s.sound(leverSound, at-0.03, "lever")
			want = append(want, s.typed(at, string(c)))
			s.sound(leverSound, at+0.12+0.01*s.r.NormFloat64(), "key up")
		}
		s.check(t, want...)
	}
}

// The second stroke trips while the first still holds the escapement: one
// release and one landing for the two.
func TestTwoStrokesShareOneRelease(t *testing.T) {
	for seed := range uint64(10) {
		s := newScene(seed)
		var want [][3]string
		for i := range 12 {
			at := 1 + 0.18*float64(i)
			if i == 6 {
				s.sound(strikeSound, at-0.04, "early")
				want = append(want, [3]string{"early", "-", "-"})
			}
			want = append(want, s.typed(at, string(rune('a'+i))))
		}
		s.check(t, want...)
	}
}

func TestMissedSpaceIsSilent(t *testing.T) {
	for seed := range uint64(10) {
		s := newScene(seed)
		var want [][3]string
		for i := range 12 {
			at, name := 1+0.18*float64(i), string(rune('a'+i))
			if i == 5 {
				s.sound(strikeSound, at, name)
				want = append(want, [3]string{name, "-", "-"})
				continue
			}
			want = append(want, s.typed(at, name))
		}
		s.check(t, want...)
	}
}

// A letter struck while the carriage still travels: the landing after it is the
// stroke's before.
func TestCrowdedLetterLeavesTheLandingItsOwner(t *testing.T) {
	for seed := range uint64(10) {
		s := newScene(seed)
		var want [][3]string
		at := 1.0
		for i := range 12 {
			want = append(want, s.typed(at, string(rune('a'+i))))
			if at += 0.18; i == 5 {
				at -= 0.18 - (usualLatency + 0.7*usualTravel)
			}
		}
		s.check(t, want...)
	}
}

func TestLandingAloneIsTheStrokesOwn(t *testing.T) {
	for seed := range uint64(10) {
		s := newScene(seed)
		var want [][3]string
		for i := range 12 {
			at, name := 1+0.18*float64(i), string(rune('a'+i))
			if i%4 == 2 {
				s.sound(strikeSound, at, name)
				s.sound(landingSound, at+usualLatency+usualTravel, name+" landing")
				want = append(want, [3]string{name, "-", name + " landing"})
				continue
			}
			want = append(want, s.typed(at, name))
		}
		s.check(t, want...)
	}
}

func TestNoSoundNoStroke(t *testing.T) {
	s := newScene(1)
	s.check(t)
	for i := range 30 {
		s.sound(leverSound, 1+0.1*float64(i), "lever")
	}
	s.check(t)
}

// One of the take's loudest sounds that is more like a strike than like a landing is
// no landing, even where one is due and it would do for one.
func TestStrikeIsNoLanding(t *testing.T) {
	s := newScene(1)
	s.typed(1, "a")
	s.sound(strikeSound, 1.18, "b")
	s.sound(releaseSound, 1.23, "b release")
	s.sound(strikeSound, 1.23+usualTravel, "c")
	m := taught()
	s.decoded(m)
	c := len(s.found) - 1
	m.llr[c][asLanding] = m.llr[c][asStrike] - 1
	n := node{cand: c - 2, time: 1.18, trip: -1, position: 2}
	lands := func() bool {
		return slices.ContainsFunc(m.optionsFor(&s.session, &n, &desk{}), func(o option) bool { return o.landing == c })
	}
	if lands() {
		t.Error("it is taken for a landing")
	}
	m.llr[c][asLanding] = m.llr[c][asStrike] + 1
	if !lands() {
		t.Error("one that is more like a landing is not")
	}
}

// Of strokes in a burst the space bar's are as quick as the letters'; the same thump
// by itself between two letters at the usual pace is none.
func TestQuickSpaceInABurst(t *testing.T) {
	m := taught()
	m.paceSigma = 0.2
	for seed := range uint64(10) {
		s := newScene(seed)
		for i := range 6 {
			s.typed(1+0.18*float64(i), string(rune('a'+i)))
		}
		for i, name := range []string{"g", "_", "h"} {
			s.typed(2.08+0.075*float64(i), name)
		}
		s.typed(2.40, "i")
		var names string
		for _, st := range s.decoded(m) {
			names += s.told(st)[0]
		}
		if names != "abcdefg_hi" {
			t.Errorf("seed %d: %q", seed, names)
		}
	}
	if usual, burst := m.rhythm(0.07), m.rhythm(0.07)+m.keeps(m.rhythm(0.07), 0.07, 0.07); burst < usual+1 {
		t.Errorf("%.2f in a burst, %.2f elsewhere", burst, usual)
	}
	if got := m.keeps(m.rhythm(0.07), 0.07, 0.18); got != 0 {
		t.Errorf("%.2f are taken back after a usual interval", got)
	}
}

// A thump after which the carriage stays is a stroke where the letters leave room for
// one, and none where they do not.
func TestSilentSpaceInAGap(t *testing.T) {
	m := taught()
	m.paceSigma, m.prior[1], m.learnt = 0.2, -4, true
	for _, c := range []struct {
		gap  float64
		want string
	}{{0.18, "ab"}, {0.36, "a_b"}} {
		hits := 0
		for seed := range uint64(10) {
			s := newScene(seed)
			s.typed(1, "a")
			s.sound(thumpSound, 1+c.gap/2, "_")
			s.typed(1+c.gap, "b")
			var names string
			for _, st := range s.decoded(m) {
				names += s.told(st)[0]
			}
			if names == c.want {
				hits++
			}
		}
		if hits < 9 {
			t.Errorf("letters %.2f s apart: %q in %d of 10", c.gap, c.want, hits)
		}
	}
}

// Where nearly all letters have trips that are heard, what stands in a trip's place is
// one, though it sounds like a landing.
func TestPlacedAsTrip(t *testing.T) {
	s := newScene(1)
	s.sound(landingSound, 1.0, "before")
	m := taught()
	m.lead, m.leadSigma, m.leadShare = 0.004, 0.0005, 0.97
	for _, c := range []struct {
		name string
		b    node
		want bool
	}{
		{"at the lead", node{time: 1.004, trip: -1}, true},
		{"a spread off", node{time: 1.0045, trip: -1}, true},
		{"too early for one", node{time: 1.008, trip: -1}, false},
		{"with another trip", node{time: 1.004, trip: 3}, false},
		{"of the space bar", node{time: 1.004, trip: -1, space: true}, false},
	} {
		if got := m.placedAsTrip(s.scan, 0, &c.b); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
	m.leadShare = 0.7
	if m.placedAsTrip(s.scan, 0, &node{time: 1.004, trip: -1}) {
		t.Error("where trips are often not heard it is taken for one")
	}
}
