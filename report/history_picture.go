package report

import (
	"fmt"
	"image"
	"io"
	"math"
	"time"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"loosedog/diagnose/compare"
	"loosedog/diagnose/record"
)

// mostDeeds is how many adjustments the picture of a history names.
const mostDeeds = 8

// HistoryPNG writes the picture of a machine's history, 2000 x 1400 pixels at 200
// dots per inch: each measure over the takes with its 95 % interval, numbered lines
// where something was done, and the changes that stand out from noise.
func HistoryPNG(w io.Writer, h *record.History) error {
	if h == nil {
		return errNoHistory
	}
	return writePicture(w, drawHistory(h))
}

// panels of the picture, by the names of the measures.
var historyPanels = []struct{ name, title string }{
	{"letters", "Letters a page, crowded or piled at the same hand"},
	{"travel", "Travel in ms: the machine's alone"},
	{"lead", "Lead in ms: how long before the strike it trips"},
	{"ready", "Ready time in ms: with the hand's time on the key in it"},
}

func drawHistory(h *record.History) image.Image {
	canvas, in := newPicture()
	y := in.Max.Y - vg.Points(titleSize) + 1
	name, _ := drawable(clean(h.Machine))
	in.write(sans(titleSize, true, ink), in.Min.X, y, shortenEnd(sans(titleSize, true, ink), in.Max.X-in.Min.X-120, name))
	in.write(alignX(sans(textSize, false, quiet), draw.XRight), in.Max.X, y+3, fmt.Sprintf("%s with figures", count(len(h.Takes), "take")))
	y -= 10
	in.line(rule(ink, 0.9), in.Min.X, y, in.Max.X, y)
	y -= 6
	if len(h.Takes) == 0 {
		in.block(sans(11, false, ink), y-6, 15, 3, "No take can be measured, so there is nothing to draw. Record a page as the README says.")
		return canvas.Image()
	}
	x, ticks := timeScale(h)
	x.left, x.right = in.Min.X+44, in.Max.X-150
	bottom := in.deeds(h) + 26
	axis := bottom + 9
	for _, d := range h.Done {
		at := x.at(float64(d.At().Unix()))
		in.line(rule(quiet, 0.8, 3, 2), at, axis, at, y-10)
	}
	row := (y - bottom) / vg.Length(len(historyPanels))
	for i, p := range historyPanels {
		top := y - row*vg.Length(i)
		in.part(in.Min.X, in.Max.X, top-row+9, top).drawCourse(h, courseOf(h, p.name), p.title, x)
	}
	in.line(rule(ink, 0.7), x.left, axis, x.right, axis)
	for _, t := range ticks {
		at := x.at(float64(t.Unix()))
		in.line(rule(ink, 0.7), at, axis, at, axis-3)
		in.write(alignX(sans(axisSize, false, ink), draw.XCenter), at, axis-13, t.Format("Jan 2006"))
	}
	for i, d := range h.Done[:min(len(h.Done), mostDeeds)] {
		in.badge(x.at(float64(d.At().Unix())), axis+7, i+1)
	}
	return canvas.Image()
}

// badge is the number of something that was done.
func (s sheet) badge(x, y vg.Length, no int) {
	s.DrawGlyphNoClip(draw.GlyphStyle{Color: paper, Radius: vg.Points(6), Shape: draw.CircleGlyph{}}, vg.Point{X: x, Y: y})
	s.DrawGlyphNoClip(draw.GlyphStyle{Color: ink, Radius: vg.Points(5.6), Shape: draw.CircleGlyph{}}, vg.Point{X: x, Y: y})
	s.write(alignX(sans(7.5, true, paper), draw.XCenter), x, y-3.2, fmt.Sprint(no))
}

// deeds lists what was done at the foot and returns the top of the list.
func (s sheet) deeds(h *record.History) vg.Length {
	caption := sans(captionSize, false, ink)
	list := h.Done
	if len(list) > mostDeeds {
		list = list[:mostDeeds]
	}
	rows := (len(list) + 1) / 2
	top := s.Min.Y + vg.Length(rows)*14 + 14
	half := (s.Max.X - s.Min.X) / 2
	for i, d := range list {
		left := s.Min.X + half*vg.Length(i/max(rows, 1))
		y := top - 14*vg.Length(i%max(rows, 1)) - 12
		s.badge(left+6, y+3.4, i+1)
		text, _ := drawable(d.Date + ": " + clean(d.Text))
		s.write(caption, left+16, y, shortenEnd(caption, half-24, text))
	}
	note := "Bars: 95 % interval. Level lines: between changes that stand out from noise. Numbered lines: what was done, by the log."
	if n := len(h.Done) - len(list); n > 0 {
		note += fmt.Sprintf(" %d more entries are in the log.", n)
	}
	s.write(sans(captionSize, false, quiet), s.Min.X, s.Min.Y, note)
	return top
}

// timeScale spans the takes and what was done between them, with a tick a month, a
// quarter or more.
func timeScale(h *record.History) (x scale, ticks []time.Time) {
	first, last := h.Takes[0].At(), h.Takes[len(h.Takes)-1].At()
	for _, d := range h.Done {
		if d.At().Before(first) {
			first = d.At()
		}
		if d.At().After(last) {
			last = d.At()
		}
	}
	pad := last.Sub(first) / 25
	if pad < 36*time.Hour {
		pad = 36 * time.Hour
	}
	first, last = first.Add(-pad), last.Add(pad)
	x.lo, x.hi = float64(first.Unix()), float64(last.Unix())
	months := int(last.Sub(first).Hours() / 24 / 30.4)
	every := 1
	for _, every = range []int{1, 2, 3, 6, 12, 24, 60, 120} {
		if months/every <= 8 {
			break
		}
	}
	for t := time.Date(first.Year(), 1, 1, 0, 0, 0, 0, time.Local); !t.After(last) && len(ticks) < 40; t = t.AddDate(0, every, 0) {
		if !t.Before(first) {
			ticks = append(ticks, t)
		}
	}
	return x, ticks
}

// drawCourse draws one measure over the takes.
func (s sheet) drawCourse(h *record.History, course *record.Course, title string, x scale) {
	caption := sans(captionSize, false, quiet)
	head := sans(headSize, true, ink)
	s.box(paper, s.Min.X, s.Min.X+head.Width(title)+4, s.Max.Y-15, s.Max.Y-1)
	s.write(head, s.Min.X, s.Max.Y-12, title)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, r := range course.Points {
		for _, n := range []float64{float64(r.Value), float64(r.Low), float64(r.High)} {
			if inPicture(n) {
				lo, hi = math.Min(lo, n), math.Max(hi, n)
			}
		}
	}
	if lo > hi {
		s.write(caption, x.left+4, s.Max.Y-28, "It was not heard in any take.")
		return
	}
	if span := math.Max(2, 0.15*hi); hi-lo < span {
		lo, hi = (lo+hi-span)/2, (lo+hi+span)/2
	}
	pad := 0.08 * (hi - lo)
	fy := scale{math.Max(0, lo-pad), hi + pad, s.Min.Y + 3, s.Max.Y - 18}
	s.line(rule(ink, 0.7), x.left, s.Min.Y, x.left, s.Max.Y-16)
	for _, t := range roundTicks(fy.lo, fy.hi, 4) {
		at := fy.at(t.Value)
		s.line(rule(ink, 0.7), x.left-3, at, x.left, at)
		s.line(rule(tint, 0.8), x.left, at, x.right, at)
		sty := alignX(sans(axisSize, false, ink), draw.XRight)
		s.write(sty, x.left-5, at-3.5, t.Label)
	}
	s.levels(h, course, x, fy)
	for i, r := range course.Points {
		if inPicture(float64(r.Value)) {
			s.upright(r, x.at(float64(h.Takes[i].At().Unix())), fy)
		}
	}
	s.beside(h, course, x.right+10)
}

// levels draws the medians between changes as level lines.
func (s sheet) levels(h *record.History, course *record.Course, x, fy scale) {
	if !course.Tested {
		return
	}
	from := 0
	level := func(to int) { // takes from to to-1
		var v []float64
		for _, r := range course.Points[from:to] {
			if inPicture(float64(r.Value)) {
				v = append(v, float64(r.Value))
			}
		}
		if len(v) == 0 {
			return
		}
		at := fy.at(median(v))
		s.line(rule(calm, 1.6), x.at(float64(h.Takes[from].At().Unix()))-5, at, x.at(float64(h.Takes[to-1].At().Unix()))+5, at)
	}
	for _, c := range h.Changes {
		if c.Measure == course.Name {
			level(c.Before + 1)
			from = c.After
		}
	}
	level(len(h.Takes))
}

// upright draws one value with its interval.
func (s sheet) upright(r compare.Range, x vg.Length, fy scale) {
	low, high := float64(r.Low), float64(r.High)
	if inPicture(low) && inPicture(high) && high > low {
		s.line(rule(afterInk, 1.2), x, fy.at(low), x, fy.at(high))
		for _, e := range []float64{low, high} {
			s.line(rule(afterInk, 1.2), x-2.5, fy.at(e), x+2.5, fy.at(e))
		}
	}
	s.DrawGlyphNoClip(draw.GlyphStyle{Color: afterInk, Radius: vg.Points(2.8), Shape: draw.CircleGlyph{}}, vg.Point{X: x, Y: fy.at(float64(r.Value))})
}

// beside says at the right what changed.
func (s sheet) beside(h *record.History, course *record.Course, left vg.Length) {
	body := sans(captionSize, false, ink)
	in := s.part(left, s.Max.X, s.Min.Y, s.Max.Y)
	y := s.Max.Y - 16
	n := 0
	for _, c := range h.Changes {
		if c.Measure != course.Name {
			continue
		}
		if n++; y < s.Min.Y+18 {
			break
		}
		how := "longer"
		if c.Shift.Value < 0 {
			how = "shorter"
		}
		y = in.block(body, y, 10.5, 1, fmt.Sprintf("from %s on: %s %s %s", h.Takes[c.After].At().Format("2 Jan 06"),
			decimal(math.Abs(float64(c.Shift.Value))), c.Unit, how)) - 3
	}
	if n > 0 {
		return
	}
	note := "shown, not tested"
	if course.Tested {
		note = "no change stands out from noise"
	}
	in.block(sans(captionSize, false, quiet), y, 10.5, 2, note)
}
