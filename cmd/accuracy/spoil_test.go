package main

import (
	"bytes"
	"context"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"loosedog/audio"
	"loosedog/audio/synth"
)

// needEncoder skips where ffmpeg cannot do it, but not on the build machine.
func needEncoder(t *testing.T, name string) {
	t.Helper()
	if encoders(t.Context())[name] {
		return
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("ffmpeg has no %s", name)
	}
	t.Skipf("ffmpeg is not installed or has no %s", name)
}

// TestCodecsKeepTime: clicks come out of every codec where they went in, or the
// truth of a spoiled take would not be its truth.
func TestCodecsKeepTime(t *testing.T) {
	const rate = 48000
	x := make([]float64, 3*rate)
	clicks := []int{rate / 2, rate + 777, 2*rate + 12345}
	for _, at := range clicks {
		for i := range 60 {
			x[at+i] = 0.5 * math.Exp(-float64(i)/15) * math.Sin(0.6*float64(i))
		}
	}
	in := filepath.Join(t.TempDir(), "clicks.wav")
	if err := writeWAV(in, rate, 1, x); err != nil {
		t.Fatal(err)
	}
	for _, d := range damages() {
		if d.tool == "" {
			continue
		}
		t.Run(d.name, func(t *testing.T) {
			needEncoder(t, d.tool)
			for _, st := range d.steps {
				out := filepath.Join(t.TempDir(), "out"+st.ending)
				if err := convert(t.Context(), in, out, st.ffmpeg...); err != nil {
					t.Fatal(err)
				}
				y, outRate := readAll(t, out)
				for _, at := range clicks {
					// The loudest sample near the click, to be within half a millisecond.
					from := int((float64(at)/rate - 0.05) * outRate)
					best := from
					for i := from; i < from+int(0.1*outRate); i++ {
						if math.Abs(y[i]) > math.Abs(y[best]) {
							best = i
						}
					}
					// Its own loudest sample is the third.
					if off := float64(best)/outRate - float64(at+3)/rate; math.Abs(off) > 0.0005 {
						t.Errorf("%s: a click comes %.2f ms late", st.name, 1000*off)
					}
				}
			}
		})
	}
}

func readAll(t *testing.T, path string) ([]float64, float64) {
	t.Helper()
	s, err := audio.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var all []float64
	buf := make([]float64, 4096)
	for {
		n, err := s.Read(buf)
		all = append(all, buf[:n]...)
		if err == io.EOF {
			return all, float64(s.Format().SampleRate)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

// TestEveryStepDiffers: no two steps of a damage are the same, by what they do
// or by name, and all of them can be rendered.
func TestEveryStepDiffers(t *testing.T) {
	names := map[string]bool{}
	for _, d := range damages() {
		var seen []any
		for _, st := range d.steps {
			if name := d.name + st.name; names[name] {
				t.Errorf("two steps are called %q", name)
			} else {
				names[name] = true
			}
			s, err := spoiledTake(tuningSeed, 0)
			if err != nil {
				t.Fatal(err)
			}
			if st.change != nil {
				st.change(&s.Recording)
			}
			done := []any{s.Recording, st.ffmpeg}
			if slices.ContainsFunc(seen, func(o any) bool { return reflect.DeepEqual(o, done) }) {
				t.Errorf("%s, %s does what another step does", d.name, st.name)
			}
			seen = append(seen, done)
			s.Recording.Duration = 0.1
			if _, err := synth.Render(nil, s.Palette, s.Recording, 1); err != nil {
				t.Errorf("%s, %s: %v", d.name, st.name, err)
			}
		}
	}
}

// TestTruthMovesWithTheSound: from a distance the truth says when each sound
// arrives: what is rendered, later by the recording's delay.
func TestTruthMovesWithTheSound(t *testing.T) {
	s, err := spoiledTake(tuningSeed, 0)
	if err != nil {
		t.Fatal(err)
	}
	const m = 2
	moveAway(&s.Recording, m)
	p, err := s.Perform()
	if err != nil {
		t.Fatal(err)
	}
	sounds, truth := p.Sounds(), p.Truth()
	before := trueTimes(p.Truth())
	lateEscapement(sounds, truth, m)
	after := trueTimes(truth)
	for kind, of := range map[string]synth.Kind{"strike": synth.Strike, "trip": synth.Trip, "landing": synth.Landing} {
		if len(after[kind]) == 0 || len(after[kind]) != len(before[kind]) {
			t.Fatalf("%d %ss, %d before", len(after[kind]), kind, len(before[kind]))
		}
		for i, at := range after[kind] {
			if !slices.ContainsFunc(sounds, func(o synth.Sound) bool {
				return o.Kind == of && math.Abs(o.Time+s.Recording.Delay-at) < 1e-9
			}) {
				t.Errorf("no %s sounds at %v", kind, at)
			}
			late := at - before[kind][i] - m/soundSpeed
			if want := map[bool]float64{true: 0, false: behind / soundSpeed}[kind == "strike"]; math.Abs(late-want) > 1e-9 {
				t.Errorf("%s moved by %v, want %v", kind, late, want)
			}
		}
	}
}

// TestLimits: two steps by hand; the second loses its landings and is refused
// in one of two takes. Of the other damage the first step stumbles, which is no
// limit.
func TestLimits(t *testing.T) {
	sound := func(hits, unusable int) *takeScore {
		s := newTakeScore()
		s.takes, s.unusable = 1, unusable
		for _, k := range kinds {
			*s.events[k] = score{ref: 100, est: 100, hits: 100}
		}
		s.events["landing"].hits = hits
		s.badTrue, s.badFound, s.badBoth = 10, 10, 10
		if unusable > 0 {
			s.problems["buried"] = 1
		}
		return s
	}
	at := func(damage, step string) job { return job{heading: "h", damage: damage, step: step} }
	jobs := []job{at(undamaged, "-"), at("mud", "1 cm"), at("mud", "2 cm"), at("mud", "2 cm"), at("rain", "1 h"), at("rain", "2 h"), {heading: "other"}}
	list := degrees("h", jobs, []*takeScore{sound(99, 0), sound(98, 0), sound(90, 0), sound(10, 1), sound(50, 0), sound(98, 0), sound(0, 1)})
	if len(list) != 5 || list[2].usable.takes != 1 || list[2].all.takes != 2 {
		t.Fatalf("%d steps: %+v", len(list), list)
	}
	var b bytes.Buffer
	if err := writeLimits(&b, list); err != nil {
		t.Fatal(err)
	}
	row := cells(b.String(), "mud")
	if want := []string{"mud", "-", "-", "-", "-", "2 cm", "-", "-", "2 cm", "-"}; !slices.Equal(row, want) {
		t.Errorf("got %q, want %q", row, want)
	}
	if row := cells(b.String(), "rain"); row[5] != "-" {
		t.Errorf("a stumble is a limit: %q", row)
	}
	b.Reset()
	if err := writeSpoiled(&b, list); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	row = cells(text[strings.Index(text, "1 cm"):], "mud")
	if want := []string{"mud", "2 cm", "1.000", "1.000", "1.000", "1.000", "! 0.900", "1.000", "1.000", "1 of 2", "buried"}; !slices.Equal(row, want) {
		t.Errorf("got %q, want %q", row, want)
	}
}

// cells gives the cells of the first row that begins with name.
func cells(text, name string) []string {
	for line := range strings.Lines(text) {
		c := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), "|")
		for i := range c {
			c[i] = strings.TrimSpace(c[i])
		}
		if c[0] == name {
			return c
		}
	}
	return nil
}

// TestBadConversion: what ffmpeg says comes along.
func TestBadConversion(t *testing.T) {
	needEncoder(t, "pcm_s24le")
	err := convert(context.Background(), filepath.Join(t.TempDir(), "nothing.wav"), filepath.Join(t.TempDir(), "out.wav"))
	if err == nil || !strings.Contains(err.Error(), "No such file") {
		t.Errorf("got %v", err)
	}
}

// TestActedTakes: every condition that they name is there.
func TestActedTakes(t *testing.T) {
	if jobs := acted(tuningSeed, 2); len(jobs) != 12 {
		t.Errorf("%d takes, want 12", len(jobs))
	}
}
