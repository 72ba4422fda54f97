package report

import (
	"fmt"
	"image/color"
	"math"
	"sort"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"loosedog/diagnose"
)

// The stretch of sound around a pair, in seconds.
const (
	spanBefore  = 0.015
	spanAfter   = 0.022
	shortestPic = 0.12
	longestPic  = 1.2
)

// PictureSpan tells which stretch of the take's sound [PNG] shows: its start and
// end in seconds from the start of the file, around the worst flagged pair, or
// the tightest when none is flagged. ok is false when there is no pair to show.
func PictureSpan(t *diagnose.Take) (start, end float64, ok bool) {
	if t == nil || !t.Recording.Usable {
		return 0, 0, false
	}
	p, ok := shownPair(t, pairsOf(t))
	if !ok {
		return 0, 0, false
	}
	start, end = spanOf(t, p)
	return start, end, true
}

// spanOf is the stretch of sound that shows a pair of strokes.
func spanOf(t *diagnose.Take, p pair) (start, end float64) {
	strike := float(t.Strokes[p.first].StrikeS)
	first, last := strike, strike
	for _, m := range append(marksOf(t.Strokes[p.first]), marksOf(t.Strokes[p.second])...) {
		// A sound far from the strikes is a mistake, or a key held down.
		if m.at < strike-0.2 || m.at > strike+longestPic {
			continue
		}
		first, last = math.Min(first, m.at), math.Max(last, m.at)
	}
	start = math.Max(0, first-spanBefore)
	end = math.Max(last+spanAfter, start+shortestPic)
	end = math.Min(end, start+longestPic)
	if d := t.Recording.DurationS; d > start+spanBefore {
		end = math.Min(end, d)
	}
	return start, end
}

// mark is one sound of a stroke with its name.
type mark struct {
	at   float64
	name string
}

// marksOf are the sounds of a stroke that were heard, in order of time.
func marksOf(s diagnose.Stroke) []mark {
	struck := "strike"
	if s.Kind == diagnose.KindSpace {
		struck = "thump"
	}
	var out []mark
	for _, m := range []mark{
		{float(s.TripS), "trip"}, {float(s.StrikeS), struck},
		{float(s.ReleaseS), "release"}, {float(s.LandingS), "landing"},
	} {
		if math.Abs(m.at) < longestTake {
			out = append(out, m)
		}
	}
	for i := range out {
		for j := i; j > 0 && out[j].at < out[j-1].at; j-- {
			out[j], out[j-1] = out[j-1], out[j]
		}
	}
	return out
}

// drawSound draws the sound around one pair with the events of both strokes.
func drawSound(s sheet, t *diagnose.Take, pairs []pair, clip Waveform) {
	head, caption := sans(headSize, true, ink), sans(captionSize, false, quiet)
	y := s.Max.Y - vg.Points(headSize)
	shown, ok := shownPair(t, pairs)
	if !ok {
		s.write(head, s.Min.X, y, "The sound of a pair")
		s.block(caption, y-9, 11.5, 3, "No two strokes of one line were heard, so there is no pair to show.")
		return
	}
	title := soundTitle(t, shown)
	s.write(head, s.Min.X, y, title)
	start, end := spanOf(t, shown)
	samples, from := clip.between(start, end)
	note := "heights on a square-root scale, so that quiet clicks show"
	if len(samples) == 0 {
		note = "the sound was not at hand: events only"
	}
	if room := s.Max.X - s.Min.X - head.Width(title) - 10; caption.Width(note) < room {
		s.write(alignX(caption, draw.XRight), s.Max.X, y, note)
	}

	zero := float(t.Strokes[shown.first].StrikeS)
	p := newPlot("time after the first strike, ms", "")
	setRange(&p.X, 1000*(start-zero), 1000*(end-zero), 10)
	p.Y.Min, p.Y.Max = 0, 1
	p.Y.Tick.Length, p.Y.Width, p.Y.Tick.Marker = 0, 0, plot.ConstantTicks{}
	p.Add(drawFunc(func(c draw.Canvas, _ *plot.Plot) {
		v := soundView{sheet: sheet{c}, start: start, end: end,
			first: t.Strokes[shown.first], second: t.Strokes[shown.second], shown: shown,
			others: neighbours(t, shown)}
		v.draw(samples, from, clip.SampleRate)
	}))
	p.Draw(s.part(s.Min.X+58, s.Max.X-8, s.Min.Y, y-7).Canvas)
}

// soundTitle says which pair is shown.
func soundTitle(t *diagnose.Take, p pair) string {
	b := t.Strokes[p.second]
	where := fmt.Sprintf("line %d, position %d", b.Line+1, b.Position)
	if p.number == 0 {
		what := "The tightest pair"
		if math.IsNaN(p.slack) {
			what = "The closest pair"
		}
		return what + ": " + where
	}
	str := fmt.Sprintf("Pair %d: %s, %s", p.number, where, pairWord(p))
	switch {
	case p.spacing == diagnose.SpacingPiled:
	case p.short >= 0 && p.short <= 1:
		str += fmt.Sprintf(", short by %.2f space", p.short)
	}
	return str
}

// soundView is the frame in which a pair's sound is drawn.
type soundView struct {
	sheet
	start, end    float64 // s
	first, second diagnose.Stroke
	shown         pair
	others        []mark // strikes of the strokes before and after the pair
}

// neighbours are the strikes beside a pair that may stand in its stretch of
// sound: a loud burst without a name would puzzle the reader.
func neighbours(t *diagnose.Take, p pair) []mark {
	var out []mark
	add := func(i int, name string) {
		if i >= 0 && i < len(t.Strokes) && t.Strokes[i].StrikeS.Known() {
			out = append(out, mark{float(t.Strokes[i].StrikeS), name})
		}
	}
	add(p.first-1, "earlier strike")
	add(p.second+1, "next strike")
	return out
}

// Heights of the rows in points: names of the events, and spans between them.
const (
	nameRow = 23
	spanRow = 13
)

// x is where a time in seconds stands.
func (v soundView) x(at float64) vg.Length {
	return v.Min.X + vg.Length((at-v.start)/(v.end-v.start))*(v.Max.X-v.Min.X)
}

func (v soundView) draw(samples []float64, from, sampleRate float64) {
	top, bottom := v.Max.Y-nameRow-spanRow, v.Min.Y+nameRow+spanRow
	v.drawEarly(bottom, top)
	mid := (top + bottom) / 2
	if len(samples) > 0 {
		right := v.x(from + float64(len(samples))/sampleRate)
		half := 0.47 * (top - bottom)
		drawWaveform(&v.Canvas, samples, v.x(from), right, func(a float64) vg.Length { return mid + vg.Length(a)*half })
	} else {
		v.line(rule(wave, 0.6), v.Min.X, mid, v.Max.X, mid)
	}
	first := nameStyle{rule(ink, 0.9), ink, v.Max.Y - textSize, v.Max.Y - textSize - 2.5, top + spanRow, bottom}
	second := nameStyle{rule(alarm, 1.1, 3.5, 2), alarm, v.Min.Y + 3, v.Min.Y + textSize + 3.5, bottom - spanRow, top}
	other := first
	other.line, other.color = rule(quiet, 0.7, 0.8, 1.8), quiet
	v.names(
		named{marksOf(v.first), first},
		named{v.others, other},
	)
	v.names(named{marksOf(v.second), second})
	v.spans(top+spanRow/2+0.5, bottom-spanRow/2-0.5)

	tag, small := alignX(sans(textSize, true, ink), draw.XRight), alignX(sans(captionSize, false, quiet), draw.XRight)
	x := v.Min.X - 7
	v.write(tag, x, v.Max.Y-10, "first")
	v.write(small, x, v.Max.Y-20, letterOf(v.first))
	v.write(small, x, mid-3, "sound")
	v.write(alignX(sans(textSize, true, alarm), draw.XRight), x, v.Min.Y+13, "second")
	v.write(small, x, v.Min.Y+3, letterOf(v.second))
}

// letterOf names a stroke beside its row, as far as it is known.
func letterOf(s diagnose.Stroke) string {
	switch {
	case s.Kind == diagnose.KindSpace:
		return "space bar"
	case s.Char != nil:
		str, _ := drawable(*s.Char)
		return str
	default:
		return "letter"
	}
}

// drawEarly tints the time by which the second strike came too early.
func (v soundView) drawEarly(bottom, top vg.Length) {
	a, b := float(v.second.StrikeS), float(v.first.LandingS)
	if v.shown.slack < 0 && b > a && b <= v.end {
		v.box(hatch, v.x(a), v.x(b), bottom, top)
	}
}

// nameStyle says how one stroke's events are drawn: the line across the sound
// from inner to far, and the heights of the name and of the line that leads to
// it.
type nameStyle struct {
	line                   draw.LineStyle
	color                  color.Color
	text, lead, inner, far vg.Length
}

// named are events that share a style.
type named struct {
	marks []mark
	style nameStyle
}

// names draws the events of one row: a line across the sound and the name at the
// outer edge, moved aside where names would meet.
func (v soundView) names(groups ...named) {
	type event struct {
		mark
		nameStyle
	}
	var in []event
	for _, g := range groups {
		for _, m := range g.marks {
			if m.at >= v.start && m.at <= v.end {
				in = append(in, event{m, g.style})
			}
		}
	}
	sort.SliceStable(in, func(i, j int) bool { return in[i].at < in[j].at })
	sty := alignX(sans(textSize, false, ink), draw.XCenter)
	var middles, widths []vg.Length
	for _, e := range in {
		middles = append(middles, v.x(e.at))
		widths = append(widths, sty.Width(e.name)+7)
	}
	for i, x := range spread(middles, widths, v.Min.X-4, v.Max.X+8) {
		e, at := in[i], middles[i]
		v.line(e.line, at, e.inner, at, e.far)
		v.line(rule(e.color, 0.7), at, e.inner, x, e.lead)
		sty.Color = e.color
		v.write(sty, x, e.text, e.name)
	}
}

// spans draws what lies between the events: over the sound the first stroke's
// latency and travel, under it the slack.
func (v soundView) spans(over, under vg.Length) {
	strike, release, landing := float(v.first.StrikeS), float(v.first.ReleaseS), float(v.first.LandingS)
	sty := sans(captionSize, false, ink)
	in := func(x float64) bool { return x >= v.start && x <= v.end }
	switch {
	case in(release) && in(landing):
		v.span(sty, over, strike, release, "latency "+ms(1000*(release-strike))+" ms", false)
		v.span(sty, over, release, landing, "travel "+ms(1000*(landing-release))+" ms", true)
	case in(release):
		v.span(sty, over, strike, release, "latency "+ms(1000*(release-strike))+" ms", false)
	case in(landing):
		v.span(sty, over, strike, landing, "ready time "+ms(1000*(landing-strike))+" ms", true)
	default:
		v.write(sty, v.x(strike)+6, over-3, "no release and no landing of its own were heard")
	}
	second := float(v.second.StrikeS)
	if !in(second) || !in(landing) {
		return
	}
	if landing > second {
		v.span(sans(captionSize, true, alarm), under, second, landing, ms(1000*(landing-second))+" ms too early", true)
	} else {
		v.span(sty, under, landing, second, "slack "+ms(1000*(second-landing))+" ms", true)
	}
}

// span draws a measure between two times with its text inside, or beside it
// where it is too narrow: to its right, else to its left.
func (v soundView) span(sty text.Style, y vg.Length, from, to float64, str string, right bool) {
	a, b := v.x(from), v.x(to)
	w := sty.Width(str)
	line := rule(sty.Color, 0.7)
	bar := func(x vg.Length) { v.line(line, x, y-3.2, x, y+3.2) }
	bar(a)
	bar(b)
	textAt, room := (a+b-w)/2, b-a > w+18
	if room {
		v.line(line, a, y, textAt-3, y)
		v.line(line, textAt+w+3, y, b, y)
	} else {
		v.line(line, a, y, b, y)
		textAt = b + 5
		if !right || textAt+w > v.Max.X+8 {
			textAt = a - 5 - w
		}
	}
	v.box(paper, textAt-1, textAt+w+1, y-4, y+4.5)
	v.write(sty, textAt, y-2.8, str)
}
