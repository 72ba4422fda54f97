package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"loosedog/audio"
	"loosedog/diagnose"
	"loosedog/onset"
	"loosedog/report"
)

// How much of the work each part is, for the progress bar: reading the take
// through once, then listening to it.
const (
	surveyShare = 0.25
	listenShare = 1.0
)

// heard is a take on its way from file to figures.
type heard struct {
	quality *audio.Quality
	sounds  *onset.Take
	take    *diagnose.Take
	clip    report.Waveform
	sound   *report.PageSound // for the HTML page; nil until it is read
}

// listen measures the recording at path: audio -> onset -> diagnose. With
// picture it also reads the stretch of sound that the picture shows.
func (h *heard) listen(ctx context.Context, bar *progress, path string, opt diagnose.Options, picture bool) error {
	var err error
	if h.quality, err = audio.Survey(ctx, path, bar.phase("reading", surveyShare)); err != nil {
		return failed(ctx, err)
	}
	if h.sounds, err = detect(ctx, bar, path, h.quality); err != nil {
		return failed(ctx, err)
	}
	if h.sounds.Usable {
		if h.sounds.Ring, err = ring(ctx, path, h.quality, h.sounds); err != nil {
			return failed(ctx, err)
		}
	}
	h.take = diagnose.Measure(path, h.sounds, h.quality, opt)
	if picture {
		if h.clip, err = readClip(ctx, path, h.quality.Mix, h.take); err != nil {
			return failed(ctx, err)
		}
	}
	return stopped(ctx)
}

// failed gives an error of the work its exit code: stopped by the user, the
// file's fault, or inside.
func failed(ctx context.Context, err error) error {
	if s := stopped(ctx); s != nil {
		return s
	}
	if errors.Is(err, audio.ErrUnreadable) {
		return badFile(err)
	}
	return inside(err) // nil where err is
}

// stopped is the error of work that was interrupted, nil when it was not.
func stopped(ctx context.Context) error {
	if ctx.Err() == nil {
		return nil
	}
	return &failure{code: exitInside, err: errors.New("stopped; nothing was written")}
}

// detect runs the listening over the channel that the survey chose.
func detect(ctx context.Context, bar *progress, path string, q *audio.Quality) (*onset.Take, error) {
	mono, err := audio.OpenMono(ctx, path, q.Mix)
	if err != nil {
		return nil, err
	}
	defer mono.Close()
	tell := bar.phase("listening", listenShare)
	return onset.Detect(ctx, mono, q, onset.Options{Progress: func(done int64) { tell(done, q.Frames) }})
}

// ring listens once more, for what rings on after the strikes.
func ring(ctx context.Context, path string, q *audio.Quality, heard *onset.Take) (*onset.Ring, error) {
	mono, err := audio.OpenMono(ctx, path, q.Mix)
	if err != nil {
		return nil, err
	}
	defer mono.Close()
	return onset.MeasureRing(ctx, mono, heard)
}

// readClip reads the stretch of the take that its picture shows. A take
// without such a stretch gives an empty one.
func readClip(ctx context.Context, path string, mix audio.Mix, take *diagnose.Take) (report.Waveform, error) {
	start, end, ok := report.PictureSpan(take)
	if !ok || !(end > start) {
		return report.Waveform{}, nil
	}
	mono, err := audio.OpenMono(ctx, path, mix)
	if err != nil {
		return report.Waveform{}, err
	}
	defer mono.Close()
	return report.ReadWaveform(mono, start, end)
}

// tell prints what the take taught about its own sounds.
func (h *heard) tell(w io.Writer) error {
	q, l := h.quality, h.sounds.Learnt
	fmt.Fprintf(w, "%s, %d Hz, channels: %d, %.1f s\n", q.Format.Name, q.Format.SampleRate, q.Format.Channels, q.Duration)
	if q.Mix.Why != "" {
		fmt.Fprintf(w, "listened to: %s\n", q.Mix.Why)
	}
	fmt.Fprintf(w, "peak %s, noise floor %s, clipped %.2f %%, band up to %s\n",
		unit(q.Peak, 1, "dB"), unit(q.NoiseFloor, 1, "dB"), 100*q.ClippedShare, bandLimit(q))
	fmt.Fprintf(w, "strikes stand %s over the noise; release and landing can%s be told apart\n",
		unit(l.StrikeToNoise, 1, "dB"), map[bool]string{true: "", false: "not"}[l.Pairs])
	if l.Thin != "" {
		fmt.Fprintf(w, "thin: %s\n", l.Thin)
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "learnt\tmedian\tspread (MAD)\tfrom")
	for _, row := range []struct {
		name  string
		s     onset.Spread
		scale float64
		unit  string
	}{
		{"strike level", l.Strike.Level, 1, "dB"}, {"thump level", l.Thump.Level, 1, "dB"},
		{"trip level", l.Trip.Level, 1, "dB"}, {"release level", l.Release.Level, 1, "dB"},
		{"landing level", l.Landing.Level, 1, "dB"}, {"lead", l.Lead, 1000, "ms"},
		{"latency", l.Latency, 1000, "ms"}, {"travel", l.Travel, 1000, "ms"},
	} {
		if row.s.N == 0 {
			row.s.Median, row.s.MAD = math.NaN(), math.NaN()
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%d\n", row.name, unit(row.s.Median, row.scale, row.unit), unit(row.s.MAD, row.scale, row.unit), row.s.N)
	}
	fmt.Fprint(t, "\nspectrum, dB of the whole\theard")
	for _, b := range l.Bands {
		fmt.Fprintf(t, "\tfrom %g Hz", b[0])
	}
	fmt.Fprintln(t)
	for _, row := range []struct {
		name string
		s    onset.Sound
	}{{"strike", l.Strike}, {"thump", l.Thump}, {"trip", l.Trip}, {"release", l.Release}, {"landing", l.Landing}} {
		fmt.Fprintf(t, "%s\t%s", row.name, unit(row.s.Share, 100, "%"))
		for _, v := range row.s.Spectrum {
			fmt.Fprintf(t, "\t%.0f", v)
		}
		fmt.Fprintln(t)
	}
	return t.Flush()
}

// bandLimit is the take's upper band edge in words.
func bandLimit(q *audio.Quality) string {
	if math.IsNaN(q.BandLimit) {
		return "the top"
	}
	return unit(q.BandLimit, 0.001, "kHz")
}

// unit prints a number in its unit, or that it is not known.
func unit(v, scale float64, name string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "cannot tell"
	}
	return fmt.Sprintf("%.1f %s", v*scale, name)
}
