package main

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"

	goaudio "github.com/go-audio/audio"
	"github.com/go-audio/wav"

	"loosedog/audio"
	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/onset"
)

// score measures the take as loosedog measure does and compares it with the
// truth.
func (j job) score(ctx context.Context) (*takeScore, error) {
	folder, err := os.MkdirTemp("", "accuracy-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	path, t, err := j.take(ctx, folder)
	if err != nil {
		return nil, err
	}
	opt := told(t)
	if j.told != "" {
		opt.Action = j.told
	}
	sounds, take, err := listen(ctx, path, opt)
	if err != nil {
		return nil, err
	}
	s := scoreTake(t, sounds, take, j.rough)
	if j.damage != "" {
		if err := s.askGate(ctx, path, t, sounds, take, opt); err != nil {
			return nil, err
		}
	}
	if j.outside {
		found, err := outside(ctx, path)
		if err != nil {
			return nil, err
		}
		ref, within := trueTimes(t), window("strike", j.rough)
		s.outer = scoreOutside(ref["strike"], found, within)
		s.outerAll = scoreOutside(anyKind(ref), found, within)
	}
	return s, nil
}

// askGate counts what was said of a take against how well it was measured, or would
// have been had it not been refused.
func (s *takeScore) askGate(ctx context.Context, path string, t *truth, sounds *onset.Take, take *diagnose.Take, opt diagnose.Options) error {
	said := saidNothing
	switch {
	case !take.Recording.Usable:
		said = refused
	case len(take.Recording.Problems) > 0:
		said = saidSo
	}
	if said == refused {
		var err error
		if sounds, take, err = hear(ctx, path, opt, true); err != nil {
			return err
		}
	}
	s.gate[said][gradeOf(scoreTake(t, sounds, take, true))]++
	return nil
}

func listen(ctx context.Context, path string, opt diagnose.Options) (*onset.Take, *diagnose.Take, error) {
	return hear(ctx, path, opt, false)
}

// hear is listen; open keeps what was heard of a take that is refused.
func hear(ctx context.Context, path string, opt diagnose.Options, open bool) (*onset.Take, *diagnose.Take, error) {
	q, err := audio.Survey(ctx, path, nil)
	if err != nil {
		return nil, nil, err
	}
	mono, err := audio.OpenMono(ctx, path, q.Mix)
	if err != nil {
		return nil, nil, err
	}
	defer mono.Close()
	sounds, err := onset.Detect(ctx, mono, q, onset.Options{Open: open})
	if err != nil {
		return nil, nil, err
	}
	if sounds.Usable {
		again, err := audio.OpenMono(ctx, path, q.Mix)
		if err != nil {
			return nil, nil, err
		}
		defer again.Close()
		if sounds.Ring, err = onset.MeasureRing(ctx, again, sounds); err != nil {
			return nil, nil, err
		}
	}
	return sounds, diagnose.Measure(path, sounds, q, opt), nil
}

// simulate renders one take of a condition into the folder.
func simulate(c mechanism.Condition, seed uint64, folder string) (string, *truth, error) {
	path := filepath.Join(folder, fmt.Sprintf("seed-%d.wav", seed))
	p, err := recordTo(path, c.Make(seed))
	if err != nil {
		return "", nil, err
	}
	return path, p.Truth(), nil
}

// recordTo renders a scenario and writes its recording to path.
func recordTo(path string, s *mechanism.Scenario) (*mechanism.Performance, error) {
	p, samples, rate, err := s.Record()
	if err != nil {
		return nil, err
	}
	return p, writeWAV(path, int(rate), max(s.Recording.Channels, 1), samples)
}

// writeWAV writes interleaved samples as 24 bit; audio.WriteWAV knows only one
// channel.
func writeWAV(path string, rate, channels int, samples []float64) error {
	const bits = 24
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	data := make([]int, len(samples))
	for i, v := range samples {
		data[i] = int(math.Round(min(max(v, -1), 1) * (1<<(bits-1) - 1)))
	}
	enc := wav.NewEncoder(f, rate, bits, channels, 1)
	err = enc.Write(&goaudio.IntBuffer{
		Format: &goaudio.Format{NumChannels: channels, SampleRate: rate}, Data: data, SourceBitDepth: bits,
	})
	if err != nil {
		return err
	}
	if err := enc.Close(); err != nil {
		return err
	}
	return f.Close()
}
