package report

import (
	"math"
	"math/rand/v2"

	"loosedog/audio"
	"loosedog/diagnose"
)

// The takes that the tests write: made by hand or by a simple rule, never
// measured, so that a test fails for the report alone.

func num(x float64) diagnose.Number { return diagnose.Number(x) }

func unknown() diagnose.Figure {
	u := diagnose.Unknown()
	return diagnose.Figure{Median: u, P95: u, Low: u, High: u}
}

func str(s string) *string { return &s }

// blankStroke has nothing measured but its strike.
func blankStroke(i, line, position int, strike float64) diagnose.Stroke {
	u := diagnose.Unknown()
	return diagnose.Stroke{
		Index: i, Kind: diagnose.KindType, Line: line, Position: position,
		TripS: u, StrikeS: num(strike), ReleaseS: u, LandingS: u,
		Confidence: diagnose.Confidence{Trip: u, Strike: 0.99, Release: u, Landing: u},
		ShortBy:    u, IntervalMS: u, LatencyMS: u, TravelMS: u, ReadyMS: u, SlackMS: u,
	}
}

// blankTake has strokes to come and no figures.
func blankTake(path string) *diagnose.Take {
	return &diagnose.Take{
		Schema: diagnose.Schema,
		Recording: diagnose.Recording{
			Path: path, SampleRateHz: 48000, Channels: 1, DurationS: 12.5, Usable: true,
			StrikeToNoiseDB: 31.4, ClippedShare: 0,
		},
		Summary: diagnose.Summary{
			RatePerS: diagnose.Unknown(), LeadMS: unknown(), LatencyMS: unknown(),
			MachineLatencyMS: unknown(), TravelMS: unknown(), ReadyMS: unknown(),
		},
	}
}

// smallTake is six strokes on two lines in which everything happens once: a
// crowded letter, a piled one, a missed space, a skip, a space bar and a stroke
// of which only the strike was heard.
func smallTake() *diagnose.Take {
	t := blankTake("shelf 14, green.wav")
	set := func(s diagnose.Stroke, trip, release, landing, interval float64) diagnose.Stroke {
		at := float64(s.StrikeS)
		s.TripS, s.ReleaseS, s.LandingS = num(at-trip/1000), num(at+release/1000), num(at+landing/1000)
		s.Confidence = diagnose.Confidence{Trip: 0.9, Strike: 0.99, Release: 0.8, Landing: 0.95}
		s.LatencyMS, s.TravelMS, s.ReadyMS = num(release), num(landing-release), num(landing)
		if !math.IsNaN(interval) {
			s.IntervalMS, s.SlackMS = num(interval), num(interval-landing)
		}
		return s
	}
	no := math.NaN()
	s0 := set(blankStroke(0, 0, 0, 1), 3.25, 50, 90, 70)
	s0.Char = str("=")
	s1 := set(blankStroke(1, 0, 1, 1.07), 3, 48.5, 88, 230)
	s1.Spacing, s1.ShortBy, s1.Char = str(diagnose.SpacingCrowded), 0.75, str("e")
	s2 := blankStroke(2, 0, 2, 1.3)
	s2.Spacing, s2.ShortBy, s2.MissedSpace, s2.IntervalMS = str(diagnose.SpacingClear), 0, true, 150
	s3 := set(blankStroke(3, 0, 2, 1.45), 12, 60, 101, no)
	s3.Kind, s3.Spacing, s3.ShortBy, s3.Skipped = diagnose.KindSpace, str(diagnose.SpacingPiled), 1, true
	s4 := blankStroke(4, 1, 0, 4)
	s4.IntervalMS = 210
	s5 := set(blankStroke(5, 1, 1, 4.21), 3.5, 51, 92, no)
	t.Strokes = []diagnose.Stroke{s0, s1, s2, s3, s4, s5}
	t.Lines = []diagnose.Line{
		{Line: 0, StartS: 1, EndS: 1.45, Strokes: 4, BellS: 1.5, ReturnS: 2.5},
		{Line: 1, StartS: 4, EndS: 4.21, Strokes: 2, BellS: diagnose.Unknown(), ReturnS: diagnose.Unknown()},
	}
	t.Summary.Strokes, t.Summary.Lines, t.Summary.RatePerS = 6, 2, 5.1
	t.Summary.LeadMS = diagnose.Figure{Median: 3.25, P95: diagnose.Unknown(), Low: 3, High: 3.5}
	t.Summary.LatencyMS = diagnose.Figure{Median: 50, P95: diagnose.Unknown(), Low: 48.5, High: 51}
	t.Summary.TravelMS = diagnose.Figure{Median: 40, P95: diagnose.Unknown(), Low: 39.5, High: 41}
	t.Summary.ReadyMS = diagnose.Figure{Median: 90, P95: diagnose.Unknown(), Low: 88, High: 101}
	t.Summary.Crowded, t.Summary.Piled, t.Summary.Skipped, t.Summary.MissedSpaces = 1, 1, 1, 1
	return t
}

// passage is a take of whole lines by a fixed rule: travel grows along the line
// from 34 to 46 ms, the hand hurries now and then, and every hurryth stroke or
// so the letters crowd.
func passage(lines, columns int, hurry float64) *diagnose.Take {
	r := rand.New(rand.NewPCG(7, 11))
	t := blankTake("harbour library, shelf 9, grey, before.wav")
	at := 0.8
	const text = "the ferry leaves at nine and comes back with the evening tide "
	for line := range lines {
		start := at
		first := len(t.Strokes)
		for column := range columns {
			i := len(t.Strokes)
			s := blankStroke(i, line, column, at)
			c := string(text[column%len(text)])
			s.Char = &c
			if c == " " {
				s.Kind = diagnose.KindSpace
			}
			travel := 34 + 12*float64(column)/float64(columns) + 0.8*r.NormFloat64()
			latency := 44 + 12*r.ExpFloat64()*r.Float64()
			interval := math.Max(190+45*r.NormFloat64(), 130)
			if r.Float64() < hurry {
				interval = 45 + 43*r.Float64()
			}
			lead := 3.4 + 0.5*r.NormFloat64()
			s.TripS = num(at - lead/1000)
			s.Confidence = diagnose.Confidence{Trip: 0.9, Strike: 0.99, Release: 0.8, Landing: 0.9}
			overlapped := interval < latency+4
			if !overlapped {
				s.ReleaseS, s.LandingS = num(at+latency/1000), num(at+(latency+travel)/1000)
				s.LatencyMS, s.TravelMS, s.ReadyMS = num(latency), num(travel), num(latency+travel)
			} else {
				s.Confidence.Release, s.Confidence.Landing = diagnose.Unknown(), diagnose.Unknown()
			}
			if column+1 < columns {
				s.IntervalMS = num(interval)
				s.SlackMS = s.IntervalMS - s.ReadyMS
			}
			if column > 0 {
				judge(&t.Summary, &s, t.Strokes[i-1])
			}
			t.Strokes = append(t.Strokes, s)
			at += interval / 1000
		}
		end := float64(t.Strokes[len(t.Strokes)-1].StrikeS)
		t.Lines = append(t.Lines, diagnose.Line{
			Line: line, StartS: num(start), EndS: num(end), Strokes: len(t.Strokes) - first,
			BellS: num(end - 1), ReturnS: num(end + 0.4),
		})
		at = end + 2
	}
	t.Recording.DurationS = at + 1
	t.Summary.Strokes, t.Summary.Lines, t.Summary.RatePerS = len(t.Strokes), lines, 5.3
	figure := func(m float64) diagnose.Figure {
		return diagnose.Figure{Median: num(m), P95: num(1.3 * m), Low: num(0.98 * m), High: num(1.02 * m)}
	}
	t.Summary.LeadMS, t.Summary.LatencyMS, t.Summary.MachineLatencyMS = figure(3.4), figure(48.1), figure(44.3)
	t.Summary.TravelMS, t.Summary.ReadyMS = figure(39.9), figure(88.6)
	return t
}

// judge gives a stroke its spacing against the one before, as a
// constant pull has it: short by 1 - (u/T)^2.
func judge(sum *diagnose.Summary, s *diagnose.Stroke, before diagnose.Stroke) {
	switch {
	case !before.LandingS.Known():
		s.Spacing, s.ShortBy = str(diagnose.SpacingPiled), 1
		sum.Piled++
	case before.SlackMS < 0:
		u := float64(s.StrikeS-before.ReleaseS) * 1000 / float64(before.TravelMS)
		s.Spacing, s.ShortBy = str(diagnose.SpacingCrowded), num(1-u*u)
		sum.Crowded++
	default:
		s.Spacing, s.ShortBy = str(diagnose.SpacingClear), 0
	}
}

// deaf takes from every stroke what only a good recording holds.
func deaf(t *diagnose.Take, landingToo bool) *diagnose.Take {
	u := diagnose.Unknown()
	for i := range t.Strokes {
		s := &t.Strokes[i]
		s.TripS, s.ReleaseS, s.LatencyMS, s.TravelMS = u, u, u, u
		if landingToo {
			s.LandingS, s.ReadyMS, s.SlackMS, s.ShortBy, s.Spacing = u, u, u, u, nil
		}
	}
	t.Summary.LeadMS, t.Summary.LatencyMS, t.Summary.MachineLatencyMS, t.Summary.TravelMS = unknown(), unknown(), unknown(), unknown()
	if landingToo {
		t.Summary.ReadyMS = unknown()
		t.Summary.Crowded, t.Summary.Piled = 0, 0
	}
	return t
}

// withFindings adds a machine's and a hand's fault, and a problem of the
// recording.
func withFindings(t *diagnose.Take) *diagnose.Take {
	t.Recording.Problems = []audio.Problem{{
		Code: "band-limit",
		Text: "The recording holds nothing above 15 kHz, as lossy recorders leave it: record as WAV, or accept that releases are placed less exactly.",
	}}
	t.Findings = []diagnose.Finding{
		{
			Fault: "weak-pull", Share: "machine", Strength: "strong",
			Evidence: []diagnose.Evidence{
				{Measure: "net pull lost along the line", Value: 45.3, Unit: "%", Low: 41, High: 49, Reference: 25, Source: "design assumption"},
				{Measure: "drag", Value: diagnose.Unknown(), Unit: "N", Low: diagnose.Unknown(), High: diagnose.Unknown(), Reference: diagnose.Unknown()},
			},
			Where:   []int{3, 9, 27, 60, 61, 70, 71, 80, -4, 9999},
			Check:   "See whether the carriage runs freely by hand with the mainspring's cord unhooked; then the cord and the mainspring's pre-wind.",
			Caution: "The mainspring is under tension: hold it while you unhook the cord.",
		},
		{Fault: "hurried-hand", Share: "hand", Strength: "likely", Check: "Type the passage again at an even beat."},
		{Fault: "unsteady-desk", Share: "machine", Strength: "possible"},
	}
	return t
}

// unusable is a recording that must not be believed, with strokes that were sure.
func unusable() *diagnose.Take {
	t := smallTake()
	t.Recording.Usable = false
	t.Recording.ClippedShare = 0.031
	t.Recording.Problems = []audio.Problem{
		{Code: "clipped", Text: "The strikes are cut off at full scale: lay the phone beside the machine instead of on it, or turn the input level down, and record again."},
		{Code: "gated", Text: "The quiet parts are cut to silence: switch noise reduction off in the recorder."},
	}
	return t
}

// clickTrack is the sound of a take between two times: a decaying burst at each
// event, of a loudness by kind, over faint noise.
func clickTrack(t *diagnose.Take, start, end float64) Waveform {
	const rate = 48000
	w := Waveform{Start: start, SampleRate: rate, Samples: make([]float64, int((end-start)*rate))}
	r := rand.New(rand.NewPCG(3, 5))
	for i := range w.Samples {
		w.Samples[i] = 0.002 * r.NormFloat64()
	}
	for _, s := range t.Strokes {
		for _, e := range []struct {
			at   diagnose.Number
			loud float64
		}{{s.TripS, 0.03}, {s.StrikeS, 0.6}, {s.ReleaseS, 0.02}, {s.LandingS, 0.06}} {
			if !e.at.Known() || float64(e.at) < start-0.1 || float64(e.at) > end {
				continue
			}
			for k := range rate / 20 {
				i := int((float64(e.at)-start)*rate) + k
				if i >= 0 && i < len(w.Samples) {
					w.Samples[i] += e.loud * math.Exp(-float64(k)/350) * r.NormFloat64()
				}
			}
		}
	}
	return w
}
