package mechanism

import (
	"math/rand/v2"
	"strings"

	"loosedog/audio/synth"
)

// Conditions lists the conditions of accuracy tables.
func Conditions() []Condition {
	var all []Condition
	add := func(name string, clean bool, fault string, h Hand, change func(*Scenario, *rand.Rand)) {
		all = append(all, Condition{Name: name, Clean: clean, Fault: fault, Make: func(seed uint64) *Scenario {
			s := Ordinary(name, h, seed)
			if change != nil {
				change(s, rand.New(rand.NewPCG(seed, 0xc09d)))
			}
			return s
		}})
	}
	// Machine and hand.
	add("sound machine, calm hand", true, "", Calm(), nil)
	add("sound machine, brisk hand", true, "", Brisk(), nil)
	add("sound machine, slow hand", true, "", Slow(), func(s *Scenario, _ *rand.Rand) {
		s.Text = firstLines(s.Text, 4) // they take long
	})
	add("late trip, flicked strokes", true, "late-trip", Staccato(0.12), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.WithKey()
		s.Machine = s.Machine.LateTrip(between(r, 0.0014, 0.0022))
		s.Machine.DogTime = between(r, 0.0034, 0.004)
	})
	add("weak pull", true, "weak-pull", Brisk(), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.WeakPull(between(r, 0.6, 0.8), between(r, 0.2, 0.35))
	})
	add("binding", true, "binding", Calm(), func(s *Scenario, r *rand.Rand) {
		m := s.Machine
		s.Machine = m.Binds(15+r.IntN(35), 2+r.IntN(4), (m.PullStart-m.Drag)*between(r, 0.35, 0.6))
	})
	add("hurried hand", true, "hurried-hand", Hurried(), nil)
	add("released by the key", true, "", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.WithKey()
		s.Hand.Hold = between(r, 0.05, 0.09)
		s.Hand.HoldSpread = 0.35
		s.Hand.Shortest = 0.16
	})
	add("released on the rebound", true, "", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.Rebounding(between(r, 0.040, 0.055))
		s.Hand.Hold = between(r, 0.05, 0.08)
		s.Palette.Level[synth.KeyUp] = s.Palette.Level[synth.Landing] + between(r, 0, 6)
	})
	add("elite pitch", true, "", Brisk(), func(s *Scenario, _ *rand.Rand) {
		s.Machine = s.Machine.With("", Elite)
	})
	add("half-space", true, "", Calm(), func(s *Scenario, _ *rand.Rand) {
		s.Machine = s.Machine.With(HalfSpace, 0)
	})
	add("down-stroke", true, "", Calm(), func(s *Scenario, _ *rand.Rand) {
		s.Machine = s.Machine.With(DownStroke, 0)
	})
	add("worn tooth", true, "worn-tooth", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.WornAt(r.IntN(s.Machine.Teeth), between(r, 0.004, 0.009), between(r, 3, 7))
	})
	add("sluggish escapement", true, "sluggish-escapement", Staccato(0.3), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.WithKey()
		s.Machine = s.Machine.SluggishEscapement(between(r, 0.012, 0.022), 0)
	})
	add("sluggish bar", true, "sluggish-bar", Staccato(0.2), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.SluggishBar("eh", between(r, 0.020, 0.035), 0.3)
	})
	add("skipping", true, "skipping", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.Skipping(between(r, 0.02, 0.05))
	})
	add("chipped rack", true, "chipped-rack", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.ChippedRack(15+r.IntN(35), 0.9)
	})
	add("tilted bar", true, "tilted-bar", Staccato(0.25), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.WithKey()
		s.Machine = s.Machine.TiltedBar(-between(r, 0.008, 0.011))
	})
	add("late space bar", true, "late-space-bar", Staccato(0.25), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.LateSpaceBar(between(r, 0.0008, 0.002), 0.0015)
	})
	add("unsteady desk", true, "unsteady-desk", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Machine = s.Machine.UnsteadyDesk(between(r, 4, 10))
	})
	// What can be heard.
	add("one burst only", true, "", Calm(), func(s *Scenario, _ *rand.Rand) {
		s.Palette.Level[synth.Release] = synth.Silent
	})
	add("faint carriage", false, "", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Palette.Level[synth.Release] = between(r, -36, -30)
		s.Palette.Level[synth.Landing] = between(r, -33, -27)
		s.Palette.Level[synth.KeyUp] = between(r, -22, -16)
	})
	add("loud space bar", true, "", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Palette.Level[synth.Thump] = between(r, -5, -1)
	})
	add("ringing strikes", false, "", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Palette.Ring(between(r, 0.025, 0.045))
	})
	add("key-up on the landing", false, "", Calm(), func(s *Scenario, r *rand.Rand) {
		// The key comes up about when the carriage lands, and louder.
		s.Machine = s.Machine.WithKey()
		s.Machine.KeyReturn = s.Machine.Travel(30, 1) + between(r, -0.004, 0.004)
		s.Palette.Level[synth.KeyUp] = s.Palette.Level[synth.Landing] + between(r, 0, 4)
	})
	// Room and recorder.
	add("noisy room", false, "", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Recording.RoomNoise = s.Recording.StrikeLevel - between(r, 30, 38)
		s.Recording.Hiss = s.Recording.StrikeLevel - between(r, 50, 60)
		s.Recording.Knocks = 4
	})
	add("reverberant room", false, "", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Recording.RT60 = between(r, 0.7, 1.2)
		s.Recording.TailLevel = between(r, -26, -22)
		s.Recording.EarlyLevel = -8
	})
	add("noisy room, lossy codec", false, "", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Recording.RoomNoise = s.Recording.StrikeLevel - between(r, 34, 42)
		s.Recording.CodecBand = between(r, 11000, 15500)
		s.Recording.CodecNoise = -16
	})
	add("narrow band", false, "", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Recording.Rate, s.Recording.HighCut = 16000, between(r, 5000, 7500)
	})
	add("quiet take", false, "", Calm(), func(s *Scenario, r *rand.Rand) {
		s.Recording.StrikeLevel = between(r, -46, -40)
		s.Recording.Hiss, s.Recording.RoomNoise, s.Recording.Hum = -88, -86, -95
		s.Recording.Bits = 16
	})
	add("eight bits", false, "", Calm(), func(s *Scenario, _ *rand.Rand) {
		s.Recording.StrikeLevel, s.Recording.Bits = -6, 8
		s.Recording.RoomNoise, s.Recording.Hum = -60, synth.Silent
	})
	add("stereo", true, "", Calm(), func(s *Scenario, _ *rand.Rand) {
		s.Recording.Channels = 2
	})
	return all
}

// Spoiled lists takes that a recorder or a room has spoiled, more or less: what
// is told of them must say so.
func Spoiled() []Condition {
	spoil := func(name string, change func(*Scenario, *rand.Rand)) Condition {
		return Condition{Name: name, Make: func(seed uint64) *Scenario {
			s := Ordinary(name, Calm(), seed)
			s.Text = firstLines(s.Text, 3)
			change(s, rand.New(rand.NewPCG(seed, 0x5b01)))
			return s
		}}
	}
	return []Condition{
		spoil("automatic gain", func(s *Scenario, r *rand.Rand) {
			s.Recording.AGC, s.Recording.AGCRelease = between(r, 12, 20), between(r, 0.2, 0.6)
		}),
		spoil("noise gate", func(s *Scenario, r *rand.Rand) {
			s.Recording.Gate = s.Recording.StrikeLevel - between(r, 14, 20)
		}),
		spoil("clipped", func(s *Scenario, r *rand.Rand) {
			s.Recording.StrikeLevel = between(r, 6, 14)
		}),
		spoil("clicks buried in noise", func(s *Scenario, r *rand.Rand) {
			s.Recording.RoomNoise = s.Recording.StrikeLevel - between(r, 14, 18)
			s.Recording.Hiss = s.Recording.StrikeLevel - between(r, 22, 26)
		}),
		spoil("strikes buried in noise", func(s *Scenario, r *rand.Rand) {
			s.Recording.StrikeLevel = -34
			s.Recording.Hiss = s.Recording.StrikeLevel + between(r, 0, 6)
		}),
	}
}

// firstLines gives the first n lines of a text.
func firstLines(text string, n int) string {
	lines := strings.Split(text, "\n")
	return strings.Join(lines[:min(n, len(lines))], "\n")
}
