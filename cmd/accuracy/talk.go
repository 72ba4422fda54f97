package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"

	"loosedog/audio"
	"loosedog/diagnose/mechanism"
)

// voice is somebody talking.
type voice struct {
	samples []float64
	rate    float64
	level   float64 // RMS while there is a voice
}

// readVoice reads a recording of speech.
func readVoice(ctx context.Context, path string) (*voice, error) {
	m, err := audio.OpenMono(ctx, path, audio.Mix{})
	if err != nil {
		return nil, err
	}
	defer m.Close()
	v := &voice{rate: m.SampleRate()}
	block := make([]float64, 1<<14)
	for {
		n, err := m.Read(block)
		v.samples = append(v.samples, block[:n]...)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	// The RMS of the 20 ms that are within 20 dB of the loudest but a tenth.
	hop := int(0.02 * v.rate)
	var powers []float64
	for i := 0; i+hop <= len(v.samples); i += hop {
		sum := 0.0
		for _, x := range v.samples[i : i+hop] {
			sum += x * x
		}
		powers = append(powers, sum/float64(hop))
	}
	top := quantile(powers, 0.9)
	sum, n := 0.0, 0
	for _, p := range powers {
		if p > top/100 {
			sum, n = sum+p, n+1
		}
	}
	if n < 50 || sum == 0 {
		return nil, fmt.Errorf("%s: less than a second of speech in it", path)
	}
	v.level = math.Sqrt(sum / float64(n))
	return v, nil
}

// syntheticVoice lets espeak-ng read the test texts in four voices; nil where it is
// not installed.
func syntheticVoice(ctx context.Context, folder string) (*voice, error) {
	if _, err := exec.LookPath("espeak-ng"); err != nil {
		return nil, nil
	}
	all := &voice{}
	for i, args := range [][]string{{"-v", "en", "-s", "160"}, {"-v", "en+f3", "-s", "175", "-p", "70"}, {"-v", "de", "-s", "190"}, {"-v", "en+whisper", "-s", "150"}} {
		path := filepath.Join(folder, fmt.Sprintf("voice-%d.wav", i))
		if out, err := exec.CommandContext(ctx, "espeak-ng", append(args, "-w", path, mechanism.Quay)...).CombinedOutput(); err != nil {
			return nil, fmt.Errorf("espeak-ng: %w: %s", err, out)
		}
		v, err := readVoice(ctx, path)
		if err != nil {
			return nil, err
		}
		all.rate, all.level = v.rate, 1
		for _, x := range v.samples {
			all.samples = append(all.samples, x/v.level)
		}
	}
	return all, nil
}

// chooseVoice reads the voice of a recording, or has espeak-ng talk; nil, and a
// remark, where it is not installed.
func chooseVoice(ctx context.Context, path string, log io.Writer) (*voice, error) {
	if path != "" {
		return readVoice(ctx, path)
	}
	folder, err := os.MkdirTemp("", "accuracy-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	v, err := syntheticVoice(ctx, folder)
	if v == nil && err == nil {
		fmt.Fprintln(log, "espeak-ng is not installed: no takes with speech")
	}
	return v, err
}

// mix adds speech from the voice's time from (s, it goes round) to x at that rate, to
// samples first to last-1, faded in and out, with that RMS.
func (v *voice) mix(x []float64, rate float64, first, last int, from, level float64) {
	fade := 0.03 * rate
	n := float64(len(v.samples))
	for i := max(first, 0); i < min(last, len(x)); i++ {
		at := math.Mod((from+float64(i-first)/rate)*v.rate, n)
		k := int(at)
		p := [4]float64{}
		for j := range p {
			p[j] = v.samples[(k+j-1+len(v.samples))%len(v.samples)]
		}
		// Catmull and Rom's cubic through the four samples about it.
		u := at - float64(k)
		y := p[1] + 0.5*u*(p[2]-p[0]+u*(2*p[0]-5*p[1]+4*p[2]-p[3]+u*(3*(p[1]-p[2])+p[3]-p[0])))
		g := min(1, float64(i-first)/fade, float64(last-i)/fade)
		x[i] += level / v.level * g * y
	}
}

// spoken lists takes in which somebody talks: between lines, in the pauses between
// words as well, and over the typing. Levels are the speech's RMS under the usual
// strike's peak.
func spoken(first uint64, n int, v *voice) []job {
	var jobs []job
	for i, where := range []string{betweenLines, betweenWords, overTyping} {
		for k, under := range []float64{36, 26, 16, 6} {
			name := fmt.Sprintf("%sspeech %s, %g dB under strikes", besidesPrefix, where, under)
			for s := range uint64(n) {
				seed := first + besidesSeeds + 2000 + uint64(4*i+k)*seedStep + s
				jobs = append(jobs, job{name: name, take: func(_ context.Context, folder string) (string, *truth, error) {
					return spokenTake(seed, where, under, v, folder)
				}})
			}
		}
	}
	return jobs
}

const (
	betweenLines = "between lines"
	betweenWords = "between lines and words"
	overTyping   = "over the typing"
)

func spokenTake(seed uint64, where string, under float64, v *voice, folder string) (string, *truth, error) {
	hand := mechanism.Calm()
	hand.LinePause, hand.WordPause, hand.PauseLength = 1.5, 0.15, 1.5
	s := mechanism.Ordinary("speech", hand, seed)
	s.Text = firstLines(s.Text, 5)
	p, x, rate, err := s.Record()
	if err != nil {
		return "", nil, err
	}
	t := p.Truth()
	level := math.Pow(10, (s.Recording.StrikeLevel-under)/20)
	from := float64(seed%97) * 1.3
	for _, g := range gaps(p, where) {
		v.mix(x, rate, int(g[0]*rate), int(g[1]*rate), from, level)
		from += g[1] - g[0]
		if where != overTyping {
			t.Noises = append(t.Noises, mechanism.TruthNoise{Kind: "speech", Start: g[0], End: g[1], Lasts: &g})
		}
	}
	path := filepath.Join(folder, "take.wav")
	return path, t, writeWAV(path, int(rate), 1, x)
}

// gaps are the stretches of a performance, in s, in which there is time to talk.
func gaps(p *mechanism.Performance, where string) [][2]float64 {
	if where == overTyping {
		return [][2]float64{{0, p.Duration}}
	}
	var out [][2]float64
	add := func(from, to float64) {
		if to-from > 0.35 {
			out = append(out, [2]float64{from, to})
		}
	}
	quiet := func(k *mechanism.Stroke) float64 {
		t := k.KeyUp
		for _, at := range []float64{k.Landing, k.SkipLanding} {
			if at > t {
				t = at
			}
		}
		return t + 0.06
	}
	for i, l := range p.Lines {
		end := l.First + l.Count
		if where == betweenWords {
			for k := l.First; k+1 < end; k++ {
				add(quiet(&p.Strokes[k]), p.Strokes[k+1].Lever-0.03)
			}
		}
		if i+1 < len(p.Lines) {
			add(quiet(&p.Strokes[end-1]), l.ReturnStart-0.03)
			add(l.ReturnEnd+0.15, p.Strokes[end].Lever-0.03)
		}
	}
	return slices.Clip(out)
}
