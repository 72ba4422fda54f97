package onset

import (
	"context"
	"testing"

	"loosedog/audio"
)

// heardWell is a session and a model of a take that is measured rightly: travels of
// 35 ms that grow by 8 % over 60 spaces.
func heardWell() (*session, *model) {
	e := &session{heard: 0.9, chance: 0.2, lead: 0.06}
	m := &model{pairs: true, spaces: true}
	m.travel = travelModel{a: 1 / (0.035 * 0.035), sigma: 0.0008, spread: 0.0008, n: 200, reach: 40}
	m.travel.b = (1/(0.0378*0.0378) - m.travel.a) / 60
	m.landing.n, m.release.n, m.strike.n, m.thump.n = 250, 200, 210, 40
	m.both[0], m.only[0], m.half[0], m.none[0] = 0.9, 0.06, 0.02, 0.02
	return e, m
}

func TestWhatTheCarriageDoesNotProveIsRefused(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*session, *model)
		landed float64
		code   string // "" where the take is usable
	}{
		{"heard well", func(*session, *model) {}, 0.97, ""},
		{"another reading comes near, the travel grows", func(e *session, _ *model) { e.lead = 0.01 }, 0.97, ""},
		{"another reading comes near, the travel shrinks", func(e *session, m *model) { e.lead, m.travel.b = 0.01, 0.05 }, 0.97, "carriage-undecided"},
		{"the travel seems to shrink, no other reading", func(_ *session, m *model) { m.travel.b, m.travel.n, m.travel.reach = 0.05, 20, 10 }, 0.97, ""},
		{"the travel surely stands still", func(_ *session, m *model) { m.travel.b, m.travel.n = 0, 2000 }, 0.97, "carriage-undecided"},
		{"landings mostly unheard", func(*session, *model) {}, 0.5, "carriage-not-heard"},
		{"no more landings than by chance", func(e *session, m *model) { e.chance, m.travel.sigma = 0.7, 0.0024 }, 0.97, "carriage-not-heard"},
		{"as many by chance, but the travel proves them", func(e *session, _ *model) { e.chance = 0.7 }, 0.97, ""},
		{"travels all over the place", func(_ *session, m *model) { m.travel.sigma = 0.003 }, 0.97, "carriage-not-heard"},
		{"one sound after nearly every letter", func(_ *session, m *model) { m.pairs = false }, 0.97, ""},
		{"one sound, not after every tenth letter", func(_ *session, m *model) { m.pairs, m.none[0] = false, 0.1 }, 0.9, "carriage-not-heard"},
		{"one sound at no steady time", func(e *session, m *model) { m.pairs, e.heard = false, 0.7 }, 0.97, "carriage-not-heard"},
		{"more spaces than letters", func(_ *session, m *model) { m.thump.n = 300 }, 0.97, "kinds-undecided"},
	} {
		e, m := heardWell()
		c.change(e, m)
		if p, refused := e.doubt(m, c.landed); refused != (c.code != "") || p.Code != c.code {
			t.Errorf("%s: refused %v as %q, want %q", c.name, refused, p.Code, c.code)
		}
	}
}

func TestGoalsOutOfReachAreNamed(t *testing.T) {
	take := func(n, spaces, silent int) *Take {
		out := &Take{}
		for i := range n {
			s := Stroke{Space: i < spaces, Landing: Mark{Confidence: 1}}
			if i >= n-silent {
				s.Landing = silence
			}
			out.Strokes = append(out.Strokes, s)
		}
		return out
	}
	for _, c := range []struct {
		name string
		take *Take
		want []string
	}{
		{"nothing wanting", take(100, 18, 3), nil},
		{"hardly a space", take(100, 4, 3), []string{"spaces-not-heard"}},
		{"landings wanting", take(100, 18, 20), []string{"landings-unsure"}},
		{"both", take(100, 0, 20), []string{"spaces-not-heard", "landings-unsure"}},
		{"too short to say", take(20, 0, 10), nil},
	} {
		problems := c.take.unheard()
		if len(problems) != len(c.want) {
			t.Errorf("%s: %v, want %v", c.name, problems, c.want)
			continue
		}
		for i, p := range problems {
			if p.Code != c.want[i] {
				t.Errorf("%s: %q, want %q", c.name, p.Code, c.want[i])
			}
		}
	}
}

// A rival is a reading with other landings; one that only hears other releases, or
// settles on the same, is none.
func TestRival(t *testing.T) {
	reading := func(latency, ready float64) model {
		var m model
		m.delay[0] = delays{latency: latency, ready: ready}
		return m
	}
	guesses := []model{reading(0.05, 0.085), reading(0.02, 0.086), reading(0.05, 0.12), reading(0.01, 0.05)}
	if got := rival(guesses, []float64{100, 99, 90, 80}, 0); got != 10 {
		t.Errorf("lead %g, want 10", got)
	}
	if got := rival(guesses[:2], []float64{100, 99}, 0); got == got {
		t.Errorf("lead %g over a reading with the same landings, want none", got)
	}
}

// An echo of every sound by a delay that never varies is no carriage, however loud
// and sudden it is.
func TestEchoedDrumsAreNoTyping(t *testing.T) {
	const rate = 16000
	x := white(rate, 60, 1e-4, 5)
	for i := 0; i < 230; i++ {
		at := 0.3 + 0.25*float64(i)
		burst(x, rate, at, 0.5, 0.05, uint64(i))
		for k, lag := range []float64{0.08, 0.112} {
			click(x, rate, at+lag, 0.2, 2000+900*float64(k), 0.003)
		}
	}
	for _, q := range []*audio.Quality{nil, {Peak: -3, Problems: []audio.Problem{{Code: "clipped"}}}} {
		take, err := Detect(context.Background(), &playback{rate: rate, x: append([]float64(nil), x...)}, q, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if take.Usable {
			t.Errorf("called usable: %d strokes, travel %v", len(take.Strokes), take.Learnt.Travel)
		}
	}
}
