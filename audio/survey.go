package audio

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
)

// Survey reads a take once and says how good it is and which of its signals to
// measure. It refuses nothing that can be read: a take of silence gets its
// Quality, with problems. Each problem says what to change.
//
// progress, when not nil, is told now and then how many frames are done of how
// many; total is -1 when that is not known.
//
// All limits in it are differences between levels of the same take, so that
// they hold for any gain; where they come from stands beside each.
func Survey(ctx context.Context, path string, progress func(done, total int64)) (*Quality, error) {
	s, err := Open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer s.Close()
	v := newSurveyor(s.Format())
	total := s.Announced()
	buf := make([]float64, surveyBlock*s.Format().Channels)
	for {
		n, err := s.Read(buf)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		v.add(buf[:n*v.channels])
		if progress != nil {
			progress(v.frames, total)
		}
	}
	return v.quality(s.Problems()), nil
}

// surveyBlock is how many frames are taken at once; every frameLength divides
// it.
const surveyBlock = 8192

type surveyor struct {
	format   Format
	channels int
	length   int   // of a frame
	frames   int64 // here as everywhere outside this package: samples of every channel

	meters []*meter
	mean   *meter    // nil for one channel
	sums   []sums    // of a frame's channels, and of their mean
	piece  []float64 // a frame of one of them

	// Levels of all channels' powers added up, to pick stretches by before it is
	// known which channel will be measured.
	together spread
	bound    float64 // what counts as quiet so far, dB
	pair     int64   // number of pairs of frames so far
	quietest keeper
	loudest  keeper
}

func newSurveyor(f Format) *surveyor {
	v := &surveyor{format: f, channels: f.Channels, length: frameLength(f.SampleRate), bound: math.Inf(1)}
	var step float64
	if !f.Float {
		step = math.Ldexp(1, 1-f.Bits)
	}
	for range f.Channels {
		v.meters = append(v.meters, newMeter(f.SampleRate, step))
	}
	if f.Channels > 1 {
		v.mean = newMeter(f.SampleRate, step/float64(f.Channels))
	}
	v.sums = make([]sums, f.Channels+1)
	v.piece = make([]float64, v.length)
	// Any stretch among the quiet ones is as good as another: the quietest would
	// make the noise look less than it is.
	v.quietest.better = func(a, b *stretch) bool { return b.level > v.bound && a.level < b.level }
	v.loudest.better = func(a, b *stretch) bool { return a.level > b.level }
	return v
}

// add takes a block of interleaved samples: surveyBlock frames, fewer only at
// the end.
func (v *surveyor) add(x []float64) {
	n := len(x) / v.channels
	var before float64
	for at := 0; at < n; at += v.length {
		end := min(at+v.length, n)
		whole := end-at == v.length
		power := v.measure(x[at*v.channels:end*v.channels], whole)
		if !whole || power == 0 {
			before = 0
			continue
		}
		v.together.add(power, decibels(power))
		if v.together.n&63 == 1 {
			v.bound = v.together.quiet() + quietSpan
		}
		if second := (at/v.length)%2 == 1; second && before > 0 {
			db := decibels((before + power) / 2)
			piece := x[(at-v.length)*v.channels : end*v.channels]
			if db <= v.bound {
				v.quietest.offer(v.pair, db, piece)
			}
			v.loudest.offer(v.pair, db, piece)
			v.pair++
		}
		before = power
	}
	v.frames += int64(n)
}

// measure shows the meters a frame of interleaved samples and returns the power
// of all channels together.
func (v *surveyor) measure(x []float64, whole bool) (power float64) {
	piece := v.piece[:len(x)/v.channels]
	all := v.sums[:v.channels+1]
	switch v.channels {
	case 1:
		all[0] = sumsOf(x)
	case 2:
		all[0], all[1], all[2] = sumsOfPair(x)
	default:
		for c := range v.channels {
			mixDown(piece, x, v.channels, c)
			all[c] = sumsOf(piece)
		}
		mixDown(piece, x, v.channels, Sum)
		all[v.channels] = sumsOf(piece)
	}
	show := func(m *meter, s sums, channel int) float64 {
		silent := false
		if m.needs(s) {
			mixDown(piece, x, v.channels, channel)
			silent = m.look(piece)
		}
		return m.add(s, whole, silent)
	}
	for c, m := range v.meters {
		power += show(m, all[c], c)
	}
	if v.mean != nil {
		show(v.mean, all[v.channels], Sum)
	}
	return power
}

// fullScaleSine is the power of a sine whose peak is 1, to which RMS levels are
// relative (AES17).
const fullScaleSine = 0.5

// quality sums up.
func (v *surveyor) quality(problems []Problem) *Quality {
	q := &Quality{
		Format: v.format, Frames: v.frames, Duration: float64(v.frames) / float64(v.format.SampleRate),
		Peak: math.NaN(), RMS: math.NaN(), NoiseFloor: math.NaN(), BandLimit: math.NaN(),
		Problems: problems,
	}
	q.Mix = choose(v.meters, v.mean)
	m := v.mean
	if q.Mix.Channel != Sum {
		m = v.meters[q.Mix.Channel]
	}
	if v.frames == 0 {
		q.note("empty", "the recording holds no sound at all; record again")
		return q
	}
	frame := float64(v.length) / float64(v.format.SampleRate)
	if p := m.peak(); p > 0 {
		q.Peak = 20 * math.Log10(p)
		q.RMS = 20*math.Log10(m.rms()) - 10*math.Log10(fullScaleSine)
	}
	if p := m.floor(); p > 0 {
		q.NoiseFloor = 10 * math.Log10(p/fullScaleSine)
	}

	// Of the mean of several, a sample is spoilt when any channel's is.
	q.ClippedShare = m.clippedShare()
	_, clippedFrames := m.clipped()
	if m == v.mean {
		for _, c := range v.meters {
			if share := c.clippedShare(); share > q.ClippedShare {
				q.ClippedShare = share
				_, clippedFrames = c.clipped()
			}
		}
	}

	var quiet, loud [][]float64
	for _, x := range v.quietest.signals(v.channels, q.Mix.Channel) {
		if l := level(x); l > lowestDB && l <= m.levels.quiet()+2*quietSpan {
			quiet = append(quiet, x)
		}
	}
	for _, x := range v.loudest.signals(v.channels, q.Mix.Channel) {
		if level(x) >= m.levels.loud()-loudestSpan {
			loud = append(loud, x)
		}
	}
	if !math.IsNaN(q.NoiseFloor) {
		q.NoiseFreqs, q.NoiseDensity = noiseSpectrum(quiet, v.format.SampleRate)
	}
	q.BandLimit = bandLimit(loudSpectrum(loud), float64(v.format.SampleRate)/2)
	s := newSeries(m, frame)
	q.Gated = s.gated()
	q.Pumped = !q.Gated && s.pumped()
	q.judge(m, clippedFrames)
	return q
}

func (q *Quality) note(code, format string, args ...any) {
	q.Problems = append(q.Problems, Problem{Code: code, Text: fmt.Sprintf(format, args...)})
}

const (
	// loudestSpan, dB: stretches that speak for the strokes' spectrum.
	loudestSpan = 20
	// shortTake in seconds holds too few strokes to learn a machine from.
	shortTake = 5
	// clippedOften is the share of loud frames with clipping that is a nuisance.
	clippedOften = 0.02
	// littleContrast, dB: typing stands higher above the quiet between strokes;
	// steady noise measured over 10 ms spans 2.
	littleContrast = 15
	// lowBand in Hz: what a codec cuts off above is beyond most microphones.
	lowBand = 19000
	// coarse: a take whose largest sample is so many steps has its clicks, some
	// 30 dB under it, in the rounding.
	coarse = 300
)

// judge states what is wrong with the take and what to change.
func (q *Quality) judge(m *meter, clippedFrames int64) {
	if math.IsNaN(q.Peak) {
		q.note("silent", "the recording is digital silence; check that the microphone is not muted and record again")
		return
	}
	if q.Duration < shortTake {
		q.note("too-short", "the recording lasts only %.1f s; record a whole passage of some lines", q.Duration)
	}
	loud := m.levels.loud()
	below, _ := m.levels.below(loud - 10)
	if n := m.levels.n - below; float64(clippedFrames) > clippedOften*float64(n) {
		q.note("clipped", "loud strokes are cut off at a ceiling (%.2g %% of all samples, %.0f %% of the loud parts); record at a lower level, or lay the phone further away",
			100*q.ClippedShare, 100*min(1, float64(clippedFrames)/float64(n)))
	}
	if step := m.step(); step > 0 {
		quiet, _ := m.levels.below(m.levels.quiet() + quietSpan)
		steps := m.peak() / step
		if steps < coarse || m.coarse() && m.silent > quiet {
			q.note("too-quiet", "the quiet sounds are lost in the rounding of the samples (the loudest is only %.0f steps high); record at a higher level, in 16 or 24 bits, or lay the phone on the machine", steps)
		}
	}
	if c := m.levels.contrast(); !q.Gated && c < littleContrast {
		q.note("little-contrast", "the loud parts stand only %.0f dB above the quiet ones; record in a quieter room, or lay the phone on the machine", c)
	}
	if q.Gated {
		q.note("gated", "the quiet parts are cut away, and small sounds with them; turn off noise reduction in the recorder")
	}
	if q.Pumped {
		q.note("gain-pumping", "the noise rises after each stroke, as automatic gain makes it; turn off automatic gain in the recorder")
	}
	if q.BandLimit < lowBand { // not when NaN
		q.note("band-limited", "the take holds nothing above %.1f kHz, as a lossy codec or a low sample rate leaves it; record WAV at 44.1 or 48 kHz", q.BandLimit/1000)
	}
}
