package main

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"loosedog/audio/synth"
	"loosedog/diagnose/mechanism"
)

// damage is one way to spoil a take, in steps from mild to severe.
type damage struct {
	name  string
	rough bool   // strikes are scored with the wider window
	tool  string // ffmpeg encoder that it needs, "" for none
	steps []step
}

// step is one degree of a damage.
type step struct {
	name string
	// change spoils the recording before it is made.
	change func(*synth.Recording)
	// ffmpeg are the options that turn the take into one of this ending; none
	// when ending is "".
	ffmpeg []string
	ending string
	// distance of the microphone in m; 0 when it lies on the machine.
	distance float64
}

// spoiledPrefix begins the names of spoiled takes, so that -only finds them.
const spoiledPrefix = "spoiled: "

// spoiledSeeds are this far from the first seed of their range: no condition
// reaches there.
const spoiledSeeds = 50000

// undamaged is the damage whose one step changes nothing.
const undamaged = "none"

// Sound travels 343 m in a second at 20 °C (facts of every handbook), and on a
// machine seen from the front the escapement is farther away than the type.
const (
	soundSpeed = 343.0
	behind     = 0.25 // m
	// onMachine is how far from the sounds a phone on the machine lies, m.
	onMachine = 0.2
)

// damages lists what is done to takes.
func damages() []damage {
	grade := func(name string, rough bool, unit string, change func(*synth.Recording, float64), values ...float64) damage {
		d := damage{name: name, rough: rough}
		for _, v := range values {
			d.steps = append(d.steps, step{name: fmt.Sprintf("%g %s", v, unit), change: func(r *synth.Recording) { change(r, v) }})
		}
		return d
	}
	coded := func(name, encoder, ending string, rates ...int) damage {
		d := damage{name: name, rough: true, tool: encoder}
		for _, k := range rates {
			d.steps = append(d.steps, step{name: fmt.Sprintf("%d kbit/s", k), ending: ending,
				ffmpeg: []string{"-c:a", encoder, "-b:a", fmt.Sprintf("%dk", k)}})
		}
		return d
	}
	slow := damage{name: "slow noise gate"}
	for _, g := range []struct{ depth, fall float64 }{{12, 0.1}, {20, 0.1}, {30, 0.05}, {40, 0.03}} {
		slow.steps = append(slow.steps, step{name: fmt.Sprintf("%g dB, %g s", g.depth, g.fall), change: func(r *synth.Recording) {
			r.Gate, r.GateDepth, r.GateFall = r.StrikeLevel-22, g.depth, g.fall
		}})
	}
	rates := damage{name: "sample rate", tool: "pcm_s24le"}
	for _, hz := range []int{96000, 48000, 44100, 32000, 22050, 16000, 11025, 8000} {
		rates.steps = append(rates.steps, step{name: fmt.Sprintf("%g kHz", float64(hz)/1000), ending: ".wav",
			change: func(r *synth.Recording) { r.Rate = 96000 },
			ffmpeg: []string{"-c:a", "pcm_s24le", "-ar", fmt.Sprint(hz)}})
	}
	away := damage{name: "distance", rough: true}
	for _, m := range []float64{0.5, 1, 2, 4} {
		away.steps = append(away.steps, step{name: fmt.Sprintf("%g m", m), distance: m,
			change: func(r *synth.Recording) { moveAway(r, m) }})
	}
	return []damage{
		{name: undamaged, steps: []step{{name: "-"}}},
		grade("white noise", true, "dB under strikes", func(r *synth.Recording, db float64) {
			r.Hiss = r.StrikeLevel - db
		}, 50, 44, 38, 32, 26, 20),
		grade("pink noise", true, "dB under strikes", func(r *synth.Recording, db float64) {
			r.RoomNoise = r.StrikeLevel - db
		}, 50, 44, 38, 32, 26, 20),
		grade("reverberation", true, "s", func(r *synth.Recording, s float64) {
			r.RT60, r.TailLevel, r.EarlyLevel = s, -24, -8
		}, 0.3, 0.6, 1, 1.5, 2.5),
		away,
		coded("AAC", "aac", ".m4a", 128, 96, 64, 48, 32),
		coded("Opus", "libopus", ".opus", 64, 32, 16),
		coded("MP3", "libmp3lame", ".mp3", 128, 64),
		grade("gain pumping", false, "dB", func(r *synth.Recording, db float64) {
			// Loud enough for the gain to go down by that much.
			louder(r, db-20)
			r.AGC, r.AGCRelease = db, 0.3
		}, 3, 6, 9, 12),
		grade("noise gate", false, "dB under strikes", func(r *synth.Recording, db float64) {
			r.Gate = r.StrikeLevel - db
		}, 50, 40, 34, 28, 22, 16),
		slow,
		grade("clipping", false, "dB too loud", func(r *synth.Recording, db float64) {
			louder(r, db)
		}, 0, 3, 6, 12, 18, 24),
		rates,
	}
}

// louder records at another level, noise and all.
func louder(r *synth.Recording, strike float64) {
	up := strike - r.StrikeLevel
	r.StrikeLevel, r.Hiss, r.RoomNoise, r.Hum = strike, r.Hiss+up, r.RoomNoise+up, r.Hum+up
}

// moveAway takes the microphone from the machine to m metres in front of it: the
// direct sound falls 6 dB a doubling, the room's does not.
func moveAway(r *synth.Recording, m float64) {
	fall := 20 * math.Log10(m/onMachine)
	r.StrikeLevel -= fall
	r.TailLevel += fall
	r.EarlyLevel = min(r.EarlyLevel+fall/2, -3)
	r.RT60, r.RoomNoise = 0.4, -68 // a furnished, quiet room
	r.Delay = m / soundSpeed
}

// spoiledTake makes the s-th take of a range: two lines of a machine that
// nothing is wrong with, calm hand and hurried hand in turn (a calm one has no
// bad pairs), recorded close and quiet.
func spoiledTake(first uint64, s int) (*mechanism.Scenario, error) {
	name := [...]string{"sound machine, calm hand", "hurried hand"}[s%2]
	for _, c := range mechanism.Conditions() {
		if c.Name != name {
			continue
		}
		t := c.Make(first + spoiledSeeds + uint64(s))
		t.Text = firstLines(t.Text, 2)
		t.Recording.Hiss, t.Recording.RoomNoise, t.Recording.Hum = -86, -78, -90
		return t, nil
	}
	return nil, fmt.Errorf("no condition is called %q", name)
}

// measurable gives the first n takes of a range whose landings reach
// leastLandings undamaged, and how many others had to be passed over: a take
// that is not measured as it is says nothing of what a damage does to it. It
// stops at three times n.
func measurable(ctx context.Context, first uint64, n int) (takes []int, passed int, err error) {
	var jobs []job
	for s := range 3 * n {
		jobs = append(jobs, spoiledJob(first, s, damages()[0], damages()[0].steps[0]))
	}
	scores, err := scoreAll(ctx, jobs)
	if err != nil {
		return nil, 0, err
	}
	for s := 0; s < len(scores) && len(takes) < n; s++ {
		if scores[s].unusable == 0 && fOf("landing")(scores[s]) >= leastLandings {
			takes = append(takes, s)
		} else {
			passed++
		}
	}
	return takes, passed, nil
}

const leastLandings = 0.85

func firstLines(text string, n int) string {
	lines := strings.Split(text, "\n")
	return strings.Join(lines[:min(n, len(lines))], "\n")
}

// spoiled lists the takes of a range with every step of every damage done to
// them. Damages whose encoder is not in have are left out.
func spoiled(first uint64, takes []int, have map[string]bool) []job {
	var jobs []job
	for _, d := range damages() {
		if d.tool != "" && !have[d.tool] {
			continue
		}
		for _, st := range d.steps {
			for _, s := range takes {
				jobs = append(jobs, spoiledJob(first, s, d, st))
			}
		}
	}
	return jobs
}

func spoiledJob(first uint64, s int, d damage, st step) job {
	return job{name: spoiledPrefix + d.name + ", " + st.name, damage: d.name, step: st.name, rough: d.rough,
		take: func(ctx context.Context, folder string) (string, *truth, error) {
			t, err := spoiledTake(first, s)
			if err != nil {
				return "", nil, err
			}
			return st.make(ctx, t, folder)
		}}
}

// make records the scenario with the damage done to it.
func (st step) make(ctx context.Context, s *mechanism.Scenario, folder string) (string, *truth, error) {
	if st.change != nil {
		st.change(&s.Recording)
	}
	p, err := s.Perform()
	if err != nil {
		return "", nil, err
	}
	sounds, t := p.Sounds(), p.Truth()
	if st.distance > 0 {
		lateEscapement(sounds, t, st.distance)
	}
	rec := s.Recording
	if rec.Duration == 0 {
		rec.Duration = p.Duration + rec.Delay
	}
	samples, err := synth.Render(sounds, s.Palette, rec, s.Seed)
	if err != nil {
		return "", nil, err
	}
	path := filepath.Join(folder, "take.wav")
	if err := writeWAV(path, int(rec.Rate), max(rec.Channels, 1), samples); err != nil || st.ending == "" {
		return path, t, err
	}
	spoilt := filepath.Join(folder, "spoiled"+st.ending)
	return spoilt, t, convert(ctx, path, spoilt, st.ffmpeg...)
}

// lateEscapement moves the escapement's sounds back by the way that they come
// farther than the strikes, and the truth to when each sound arrives (the
// recording adds its delay to the sounds itself).
func lateEscapement(sounds []synth.Sound, t *truth, distance float64) {
	const late = behind / soundSpeed
	for i := range sounds {
		switch sounds[i].Kind {
		case synth.Trip, synth.Release, synth.Landing:
			sounds[i].Time += late
		}
	}
	way := distance / soundSpeed
	for i := range t.Strokes {
		s := &t.Strokes[i]
		s.Strike += way
		for _, at := range []**float64{&s.Trip, &s.Release, &s.Landing, &s.SkipLanding, &s.HalfLanding} {
			if *at != nil {
				arrives := **at + way + late
				*at = &arrives
			}
		}
	}
}
