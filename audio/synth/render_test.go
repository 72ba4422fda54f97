package synth

import (
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// quiet is a recording with nothing in it but the sounds.
func quiet() Recording {
	rec := Plain()
	rec.Hiss = Silent
	return rec
}

func render(t interface{ Fatal(...any) }, sounds []Sound, p *Palette, rec Recording, seed uint64) []float64 {
	x, err := Render(sounds, p, rec, seed)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func energy(x []float64) float64 {
	e := 0.0
	for _, v := range x {
		e += v * v
	}
	return e
}

// A sound's first energy comes at its time: all is zero before, and the first
// half millisecond is not silent. Room and microphone are causal and change
// nothing about that.
func TestSoundStartsAtItsTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		rec := DrawRecording(seed)
		rec.Hiss, rec.RoomNoise, rec.Hum = Silent, Silent, Silent
		rec.Delay = rapid.Float64Range(0, 0.01).Draw(t, "delay")
		k := Kind(rapid.IntRange(0, int(kinds)-1).Draw(t, "kind"))
		at := rapid.Float64Range(0.01, 0.2).Draw(t, "time")
		p := NewPalette(seed)
		p.Level[k] = 0
		rec.Duration = at + 0.15
		x := render(t, []Sound{{Kind: k, Time: at, Duration: 0.1}}, p, rec, seed)
		first := int(math.Ceil((at + rec.Delay) * rec.Rate))
		if e := energy(x[:first]); e != 0 {
			t.Fatalf("%v: energy %g before its time", k, e)
		}
		soon := first + int(0.002*rec.Rate)
		if energy(x[first:soon]) == 0 {
			t.Fatalf("%v: silent 2 ms after its time", k)
		}
	})
}

// A sound lies between samples where its time says: moved by whole samples it
// is the same; moved by a fraction its centre of energy moves by that fraction.
func TestSubSamplePlace(t *testing.T) {
	p := NewPalette(3)
	// A voice of one mode only: no noise that changes with the sample grid.
	p.voices[Landing] = voice{modes: []mode{{freq: 2000, tau: 0.002, amp: 1}}, attack: 0.0002, impacts: []impact{{0, 1}}}
	p.Level[Landing] = 0
	rec := quiet()
	centre := func(at float64) float64 {
		rec.Duration = 0.1
		x := render(t, []Sound{{Kind: Landing, Time: at}}, p, rec, 1)
		sum, weighed := 0.0, 0.0
		for i, v := range x {
			sum += v * v
			weighed += v * v * float64(i)
		}
		return weighed / sum
	}
	base := centre(480.0 / 48000)
	for _, shift := range []float64{0.1, 0.25, 0.5, 0.9, 1, 7, 7.3} {
		got := centre((480+shift)/48000) - base
		if math.Abs(got-shift) > 0.02 {
			t.Errorf("moved by %g samples, its centre moved by %g", shift, got)
		}
	}
}

func TestSamplesFiniteWithinOneAndRepeatable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		rec := DrawRecording(seed)
		rec.Rate = rapid.SampledFrom([]float64{8000, 11025, 44100}).Draw(t, "rate")
		rec.Channels = rapid.IntRange(1, 2).Draw(t, "channels")
		rec.StrikeLevel = rapid.Float64Range(-60, 20).Draw(t, "level")
		rec.Knocks = 30
		rec.AGC = rapid.SampledFrom([]float64{0, 15}).Draw(t, "agc")
		rec.Gate = rapid.SampledFrom([]float64{0, -50}).Draw(t, "gate")
		rec.Bits = rapid.SampledFrom([]int{0, 8, 16}).Draw(t, "bits")
		rec.CodecBand = rapid.SampledFrom([]float64{0, 12000}).Draw(t, "codec")
		rec.CodecNoise = rapid.SampledFrom([]float64{0, -14}).Draw(t, "codec noise")
		rec.Duration = 0.2
		var sounds []Sound
		for i := range rapid.IntRange(0, 8).Draw(t, "sounds") {
			sounds = append(sounds, Sound{
				Kind: Kind(rapid.IntRange(0, int(kinds)-1).Draw(t, "kind")),
				Time: rapid.Float64Range(0, 0.25).Draw(t, "time"), Strength: float64(3 * i), Variant: i, Duration: 0.05,
			})
		}
		p := NewPalette(seed)
		x := render(t, sounds, p, rec, seed)
		if want := int(math.Ceil(0.2*rec.Rate)) * rec.Channels; len(x) != want {
			t.Fatalf("%d samples, want %d", len(x), want)
		}
		for i, v := range x {
			if !(math.Abs(v) <= 1) {
				t.Fatalf("sample %d is %g", i, v)
			}
		}
		if again := render(t, sounds, NewPalette(seed), rec, seed); !slices.Equal(x, again) {
			t.Fatal("the same seed rendered something else")
		}
		// Rounding and the gate can leave silence of two seeds.
		if other := render(t, sounds, p, rec, seed+1); rec.Bits == 0 && rec.Gate == 0 && slices.Equal(x, other) {
			t.Fatal("another seed rendered the same")
		}
	})
}

// The usual strike arrives near the level asked for.
func TestStrikeLevel(t *testing.T) {
	for seed := range uint64(10) {
		rec := DrawRecording(seed)
		rec.Hiss, rec.RoomNoise, rec.Hum = Silent, Silent, Silent
		rec.Reflections, rec.RT60 = 0, 0
		rec.StrikeLevel = -20
		p := NewPalette(seed)
		p.Second = 0
		var sounds []Sound
		for i := range 10 {
			sounds = append(sounds, Sound{Kind: Strike, Time: 0.1 + 0.2*float64(i), Variant: i + 40})
		}
		sum := 0.0
		x := render(t, sounds, p, rec, seed)
		for i := range 10 {
			top := 0.0
			for _, v := range x[int((0.1+0.2*float64(i))*rec.Rate):int((0.25+0.2*float64(i))*rec.Rate)] {
				top = max(top, math.Abs(v))
			}
			sum += 20 * math.Log10(top)
		}
		if got := sum / 10; math.Abs(got+20) > 1.5 {
			t.Errorf("seed %d: strikes peak at %.1f dB, asked for -20", seed, got)
		}
	}
}

// Levels are relative: a landing with Palette.Level -15 peaks 15 dB under a
// strike of level 0 where the microphone is flat.
func TestPaletteLevels(t *testing.T) {
	p := NewPalette(5)
	p.Level[Landing] = -15
	rec := quiet()
	peak := func(k Kind) float64 {
		top := 0.0
		for _, v := range render(t, []Sound{{Kind: k, Time: 0.1}}, p, rec, 9) {
			top = max(top, math.Abs(v))
		}
		return 20 * math.Log10(top)
	}
	p.Second = 0
	if got := peak(Landing) - peak(Strike); math.Abs(got+15) > 0.01 {
		t.Errorf("landing against strike: %.2f dB, want -15", got)
	}
	p.Level[Landing] = Silent
	if e := energy(render(t, []Sound{{Kind: Landing, Time: 0.1}}, p, rec, 9)); e != 0 {
		t.Errorf("a silent landing has energy %g", e)
	}
}

func TestNoiseLevels(t *testing.T) {
	for _, c := range []struct {
		name string
		rec  Recording
		want float64
		tol  float64
	}{
		{"hiss", Recording{Rate: 48000, Hiss: -50}, -50, 0.2},
		{"hum", Recording{Rate: 48000, Hum: -40}, -40, 0.2},
		// The room's level wanders by 1.5 dB.
		{"room", Recording{Rate: 48000, RoomNoise: -45}, -45, 1.5},
	} {
		c.rec.Duration, c.rec.StrikeLevel = 6, -10
		x := render(t, nil, NewPalette(1), c.rec, 4)
		got := 10 * math.Log10(energy(x)/float64(len(x)))
		if math.Abs(got-c.want) > c.tol {
			t.Errorf("%s: RMS %.2f dB, want %.1f", c.name, got, c.want)
		}
	}
}

// Render is the blocks of RenderTo in a row, and an error from emit ends it.
func TestRenderTo(t *testing.T) {
	rec := Plain()
	rec.Duration, rec.CodecNoise = 0.5, -20
	sounds := []Sound{{Kind: Strike, Time: 0.2}, {Kind: Bell, Time: 0.1}}
	p := NewPalette(2)
	var x []float64
	blocks := 0
	err := RenderTo(sounds, p, rec, 3, func(b []float64) error {
		blocks++
		x = append(x, b...)
		return nil
	})
	if err != nil || blocks < 4 || !slices.Equal(x, render(t, sounds, p, rec, 3)) {
		t.Errorf("RenderTo differs from Render (error %v, %d blocks)", err, blocks)
	}
	stop := errors.New("disk full")
	if err := RenderTo(sounds, p, rec, 3, func([]float64) error { return stop }); !errors.Is(err, stop) {
		t.Errorf("emit's error came back as %v", err)
	}
}

// With neither noise nor a cut band the codec gives back what it was given, at
// the same place (the transform's windows add up to one: Princen and Bradley
// 1987, from memory).
func TestCodecIsTransparentWithoutNoise(t *testing.T) {
	rec := quiet()
	rec.Duration = 0.3
	sounds := []Sound{{Kind: Strike, Time: 0.1}}
	p := NewPalette(8)
	plain := render(t, sounds, p, rec, 1)
	rec.CodecBand = 30000 // over the Nyquist frequency
	coded := render(t, sounds, p, rec, 1)
	if len(plain) != len(coded) {
		t.Fatalf("%d samples became %d", len(plain), len(coded))
	}
	for i := range plain {
		if math.Abs(plain[i]-coded[i]) > 1e-9 {
			t.Fatalf("sample %d: %g became %g", i, plain[i], coded[i])
		}
	}
}

// The codec's noise comes ahead of a click too, no further than one block.
func TestCodecSpreadsNoiseAheadOfClicks(t *testing.T) {
	rec := quiet()
	rec.Duration, rec.CodecNoise, rec.CodecBand = 0.3, -16, 12000
	p := NewPalette(8)
	x := render(t, []Sound{{Kind: Strike, Time: 0.1}}, p, rec, 1)
	if energy(x[4800-codecBlock:4800]) == 0 {
		t.Error("no noise ahead of the click")
	}
	if e := energy(x[:4800-codecBlock]); e > 1e-20 {
		t.Errorf("noise of energy %g more than a block ahead of the click", e)
	}
}

func TestClipAndBits(t *testing.T) {
	rec := quiet()
	rec.StrikeLevel, rec.Clip = 0, -6
	x := render(t, []Sound{{Kind: Strike, Time: 0.1}}, NewPalette(1), rec, 1)
	top := factor(-6)
	if got := slices.Max(x); got > top+1e-12 || (slices.Max(x) < top-1e-12 && -slices.Min(x) < top-1e-12) {
		t.Errorf("clipped at %g, want %g", got, top)
	}
	rec.Clip, rec.Bits = 0, 8
	for i, v := range render(t, []Sound{{Kind: Strike, Time: 0.1}}, NewPalette(1), rec, 1) {
		if v*128 != math.Round(v*128) || v > 127.0/128 {
			t.Fatalf("sample %d = %g is no 8-bit value", i, v)
		}
	}
}

// The gate cuts the noise between sounds and opens for a strike.
func TestGate(t *testing.T) {
	rec := quiet()
	rec.Hiss, rec.Gate, rec.Duration = -60, -40, 1
	x := render(t, []Sound{{Kind: Strike, Time: 0.5}}, NewPalette(1), rec, 1)
	if e := energy(x[9600:23000]); e > 1e-9 {
		t.Errorf("the gate lets noise of energy %g pass", e)
	}
	if slices.Max(x[24000:26000]) < 0.1 {
		t.Error("the gate stays shut for a strike")
	}
}

// A shallow gate turns the noise down by its depth, a slow one takes its time.
func TestShallowGate(t *testing.T) {
	noise := func(change func(*Recording)) (soon, late float64) {
		rec := quiet()
		rec.Hiss, rec.Duration = -60, 2
		change(&rec)
		x := render(t, []Sound{{Kind: Strike, Time: 0.1}}, NewPalette(1), rec, 1)
		level := func(from, to int) float64 { return 10 * math.Log10(energy(x[from:to])/float64(to-from)) }
		return level(38400, 43200), level(86400, 96000)
	}
	_, open := noise(func(*Recording) {})
	_, late := noise(func(r *Recording) { r.Gate, r.GateDepth = -40, 20 })
	if fall := open - late; math.Abs(fall-20) > 0.5 {
		t.Errorf("the noise falls by %.1f dB, want 20", fall)
	}
	soon, late := noise(func(r *Recording) { r.Gate, r.GateDepth, r.GateFall = -40, 20, 0.5 })
	if soon-late < 3 || open-soon < 1 {
		t.Errorf("%.1f, then %.1f dB under the open noise: want a slow fall", open-soon, open-late)
	}
}

// The tail falls 60 dB in RT60, within what eight lines and damping do to it.
func TestReverberation(t *testing.T) {
	rec := quiet()
	rec.RT60, rec.TailLevel, rec.Duration = 0.6, -20, 1.2
	p := NewPalette(1)
	p.voices[Trip] = voice{modes: []mode{{freq: 800, tau: 0.001, amp: 1}}, impacts: []impact{{0, 1}}}
	p.Level[Trip] = 0
	x := render(t, []Sound{{Kind: Trip, Time: 0.1}}, p, rec, 1)
	at := func(s float64) float64 {
		i := int(s * 48000)
		return 10 * math.Log10(energy(x[i:i+4800]))
	}
	// Over 0.3 s at 60 dB in 0.6 s: 30 dB.
	if fall := at(0.2) - at(0.5); fall < 24 || fall > 45 {
		t.Errorf("the tail falls %.1f dB in 0.3 s, want about 30", fall)
	}
}

func TestRefuses(t *testing.T) {
	good := Sound{Kind: Strike, Time: 0.1}
	for _, c := range []struct {
		name string
		rec  Recording
		s    Sound
		p    *Palette
	}{
		{"rate 0", Recording{}, good, NewPalette(1)},
		{"rate NaN", Recording{Rate: math.NaN()}, good, NewPalette(1)},
		{"endless", Recording{Rate: 48000, Duration: math.Inf(1)}, good, NewPalette(1)},
		{"time NaN", Plain(), Sound{Kind: Strike, Time: math.NaN()}, NewPalette(1)},
		{"time below 0", Plain(), Sound{Kind: Strike, Time: -1}, NewPalette(1)},
		{"unknown kind", Plain(), Sound{Kind: kinds, Time: 1}, NewPalette(1)},
		{"no palette", Plain(), good, nil},
	} {
		if _, err := Render([]Sound{c.s}, c.p, c.rec, 1); err == nil {
			t.Errorf("%s: no error", c.name)
		}
	}
}

func TestLoop(t *testing.T) {
	l := &Loop{Samples: []float64{1, 2, 3}, Rate: 10, Times: 3}
	var got []float64
	buf := make([]float64, 4)
	for {
		n, err := l.Read(buf)
		got = append(got, buf[:n]...)
		if err == io.EOF {
			break
		}
	}
	if want := []float64{1, 2, 3, 1, 2, 3, 1, 2, 3}; !slices.Equal(got, want) {
		t.Errorf("read %v, want %v", got, want)
	}
}

// No two machines sound alike: the landings of 20 palettes differ.
func TestPalettesDiffer(t *testing.T) {
	rec := quiet()
	rec.Duration = 0.2
	var seen [][]float64
	for seed := range uint64(20) {
		p := NewPalette(seed)
		p.Level[Landing] = 0
		x := render(t, []Sound{{Kind: Landing, Time: 0.05}}, p, rec, 1)
		for _, y := range seen {
			dot := 0.0
			for i := range x {
				dot += x[i] * y[i]
			}
			if c := math.Abs(dot) / math.Sqrt(energy(x)*energy(y)); c > 0.9 {
				t.Errorf("seed %d: a landing correlates %.2f with another machine's", seed, c)
			}
		}
		seen = append(seen, x)
	}
}

// A ring of 40 ms leaves a strike 100 ms on 20 dB or more above a dry one.
func TestRing(t *testing.T) {
	rec := quiet()
	rec.Duration = 0.3
	late := func(p *Palette) float64 {
		p.Second = 0
		x := render(t, []Sound{{Kind: Strike, Time: 0.05}}, p, rec, 1)
		return 10 * math.Log10(energy(x[7200:8400])+1e-15)
	}
	dry, ringing := NewPalette(3), NewPalette(3)
	dry.Ring(0.006)
	ringing.Ring(0.040)
	if d := late(ringing) - late(dry); d < 20 {
		t.Errorf("ringing is %.1f dB over dry", d)
	}
}

// A return is heard from its start to its thump, which is the loudest of it.
func TestReturnLasts(t *testing.T) {
	rec := quiet()
	rec.Duration = 1.2
	p := NewPalette(6)
	p.ReturnEnd = 0
	x := render(t, []Sound{{Kind: Return, Time: 0.1, Duration: 0.7}}, p, rec, 1)
	for s := 0.1; s < 0.75; s += 0.1 {
		i := int(s * rec.Rate)
		if energy(x[i:i+4800]) == 0 {
			t.Errorf("nothing is heard at %.1f s", s)
		}
	}
	loudest := 0
	for i, v := range x {
		if math.Abs(v) > math.Abs(x[loudest]) {
			loudest = i
		}
	}
	if at := float64(loudest) / rec.Rate; at < 0.8 || at > 0.83 {
		t.Errorf("loudest at %.3f s, want just after 0.8", at)
	}
}

// The parts of a sound that meet later are silent until then.
func TestLaterImpacts(t *testing.T) {
	const at = 0.0101
	for offset := 0.0; offset < 1; offset += 0.3 {
		modes, noise := make([]float64, 1000), make([]float64, 1000)
		addMode(modes, 48000, offset, at, mode{freq: 3000, tau: 0.002, amp: 1}, 0.0001)
		addBurst(noise, rand.New(rand.NewPCG(1, 1)), 48000, offset, at, burst{freq: 3000, q: 1, attack: 0.0001, tau: 0.002, amp: 1})
		first := int(math.Ceil(at*48000 - offset))
		for name, x := range map[string][]float64{"mode": modes, "burst": noise} {
			if energy(x[:first]) != 0 || energy(x[first:first+20]) == 0 {
				t.Errorf("%s at offset %.1f does not start at sample %d", name, offset, first)
			}
		}
	}
}
