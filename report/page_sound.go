package report

import (
	"encoding/base64"
	"encoding/binary"
	"errors"
	"io"
	"math"

	"loosedog/diagnose"
)

// PageSound is what the page holds of a take's sound.
type PageSound struct {
	Peaks PagePeaks  `json:"peaks"`
	Clips []PageClip `json:"clips"`
	// LeftOut counts the flagged pairs whose sound found no room.
	LeftOut int `json:"left_out"`
}

// PagePeaks is the whole take's outline: PerS values a second, each the square
// root of the largest magnitude against the take's own largest, 0 to 255, in
// base64.
type PagePeaks struct {
	PerS   float64 `json:"per_s"`
	Values string  `json:"values"`
}

// PageClip is a stretch of sound: 16-bit samples, low byte first, in base64,
// scaled so that the loudest of the clip is full. StartS is the time of the
// first sample in seconds from the start of the take, Pair the index of the
// pair's first stroke.
type PageClip struct {
	Pair   int     `json:"pair"`
	StartS float64 `json:"start_s"`
	RateHz float64 `json:"rate_hz"`
	PCM    string  `json:"pcm"`
}

// SoundSource is a take's sound, read from its start; full scale is 1.
type SoundSource interface {
	Read(dst []float64) (int, error)
	SampleRate() float64
}

// The outline has at most outlineMost values, at most outlineRate a second.
const (
	outlineRate = 200.0
	outlineMost = 60000
)

// clipBudget is how many bytes of base64 the clips of a page take at most, so
// that the page of an hour's typing can still be sent by mail.
const clipBudget = 2 << 20

// ReadPageSound reads a take's sound once, from its start, and keeps its outline
// and the clips of the flagged pairs, the worst first, as far as there is room.
// The error is that of src.
func ReadPageSound(src SoundSource, t *diagnose.Take) (*PageSound, error) {
	if t == nil {
		return nil, errNoTake
	}
	rate := src.SampleRate()
	spans, left := clipSpans(t, rate)
	out, err := gather(src, spans, t.Recording.DurationS)
	if err != nil {
		return nil, err
	}
	out.LeftOut = left
	return out, nil
}

// ReadPageClip reads one stretch of a take's sound, from and to in seconds.
func ReadPageClip(src SoundSource, pair int, from, to float64) (PageClip, error) {
	span := newClipSpan(pair, from, to, src.SampleRate())
	if span.last <= span.first {
		return PageClip{}, errors.New("the stretch of sound is empty")
	}
	out, err := gather(src, []clipSpan{span}, 0)
	if err != nil {
		return PageClip{}, err
	}
	return out.Clips[0], nil
}

// clipSpan is a stretch to keep: samples first to last, last not included.
type clipSpan struct {
	pair        int
	first, last int64
	samples     []float64
}

func newClipSpan(pair int, from, to, rate float64) clipSpan {
	return clipSpan{pair: pair,
		first: int64(math.Floor(math.Max(0, from) * rate)),
		last:  int64(math.Ceil(math.Min(to, longestTake) * rate))}
}

// clipSpans are the stretches of the flagged pairs that there is room for.
func clipSpans(t *diagnose.Take, rate float64) (spans []clipSpan, leftOut int) {
	if !t.Recording.Usable || !(rate > 0) {
		return nil, 0
	}
	room := int64(clipBudget)
	for _, q := range worstPairs(pairsOf(t)) {
		from, to, ok := pairSpan(t, q)
		if !ok {
			continue
		}
		s := newClipSpan(q.first, from, to, rate)
		if room -= (s.last - s.first) * 2 * 4 / 3; room < 0 {
			leftOut++
			continue
		}
		spans = append(spans, s)
	}
	return spans, leftOut
}

// gather reads src up to the last span, or to its end when an outline over
// duration seconds is wanted.
func gather(src SoundSource, spans []clipSpan, duration float64) (*PageSound, error) {
	rate := src.SampleRate()
	if !(rate > 0) {
		return nil, errors.New("the sound has no sample rate")
	}
	var end int64
	for _, s := range spans {
		end = max(end, s.last)
	}
	if duration > 0 {
		end = math.MaxInt64
	}
	line := newOutline(rate, duration)
	block := make([]float64, 1<<14)
	for at := int64(0); at < end; {
		n, err := src.Read(block)
		if duration > 0 {
			line.add(block[:n])
		}
		for i := range spans {
			s := &spans[i]
			from, to := max(s.first-at, 0), min(s.last-at, int64(n))
			if from < to {
				s.samples = append(s.samples, block[from:to]...)
			}
		}
		at += int64(n)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	out := &PageSound{Peaks: line.peaks(), Clips: []PageClip{}}
	for _, s := range spans {
		out.Clips = append(out.Clips, PageClip{
			Pair: s.pair, StartS: float64(s.first) / rate, RateHz: rate, PCM: pcm16(s.samples),
		})
	}
	return out, nil
}

// outline gathers the largest magnitude of every so many samples.
type outline struct {
	perS      float64
	each      int
	had       int
	now, most float64
	values    []float64
}

func newOutline(rate, duration float64) *outline {
	perS := outlineRate
	if duration*perS > outlineMost {
		perS = outlineMost / duration
	}
	each := max(1, int(rate/perS))
	return &outline{perS: rate / float64(each), each: each}
}

func (o *outline) add(samples []float64) {
	for _, x := range samples {
		if a := math.Abs(x); a > o.now && !math.IsInf(a, 0) {
			o.now = a
		}
		if o.had++; o.had == o.each {
			o.close()
		}
	}
}

func (o *outline) close() {
	if o.had > 0 {
		o.values = append(o.values, o.now)
		o.most = math.Max(o.most, o.now)
		o.had, o.now = 0, 0
	}
}

func (o *outline) peaks() PagePeaks {
	o.close()
	raw := make([]byte, len(o.values))
	for i, v := range o.values {
		if o.most > 0 {
			raw[i] = byte(math.Round(255 * math.Sqrt(v/o.most)))
		}
	}
	return PagePeaks{PerS: o.perS, Values: base64.StdEncoding.EncodeToString(raw)}
}

// pcm16 writes samples as 16-bit numbers, the loudest at nine tenths of full,
// so that a quiet take's clicks are not lost in the steps.
func pcm16(samples []float64) string {
	peak := peakOf(samples)
	if peak == 0 {
		peak = 1
	}
	raw := make([]byte, 2*len(samples))
	for i, x := range samples {
		v := math.Round(x / peak * 0.9 * math.MaxInt16)
		if !(math.Abs(v) <= math.MaxInt16) {
			v = 0
		}
		binary.LittleEndian.PutUint16(raw[2*i:], uint16(int16(v)))
	}
	return base64.StdEncoding.EncodeToString(raw)
}
