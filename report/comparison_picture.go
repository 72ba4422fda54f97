package report

import (
	"fmt"
	"image"
	"image/color"
	"io"
	"math"
	"sort"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"loosedog/diagnose"
	"loosedog/diagnose/compare"
)

// The two sides' looks: before is open and pale, after is full and dark, so that
// grey print keeps them apart.
var (
	beforeFill = color.NRGBA{0xd9, 0xd2, 0xc3, 0xff}
	beforeInk  = color.NRGBA{0x7a, 0x6a, 0x4a, 0xff}
	afterInk   = color.NRGBA{0x1f, 0x4e, 0x63, 0xff}
)

// ComparisonPNG writes the picture of a comparison, 2000 x 1400 pixels at 200 dots
// per inch: the verdict in words, the ready times before and after back to back,
// travel along the line, and the letters a page at equal typing with their
// intervals. before and after are the takes that c compares. Takes that cannot be
// compared get a picture that says so in words.
func ComparisonPNG(w io.Writer, c *compare.Comparison, before, after []*diagnose.Take) error {
	if c == nil {
		return errNoComparison
	}
	return writePicture(w, drawComparison(c, [2][]*diagnose.Take{before, after}))
}

func drawComparison(c *compare.Comparison, takes [2][]*diagnose.Take) image.Image {
	canvas, page := newPicture()
	if c.Stopped() {
		drawNoVerdict(page, c)
		return canvas.Image()
	}
	left, right, bottom := page.Min.X, page.Max.X, page.Min.Y
	y := drawVerdict(page, c)
	const gap = 26
	middle := bottom + (y-bottom)*0.48
	half := (left + right) / 2
	drawReady(page.part(left, half-gap/2, middle+gap/2, y), takes)
	drawTravels(page.part(half+gap/2, right, middle+gap/2, y), takes)
	drawTyping(page.part(left, right, bottom, middle-gap/2), c)
	return canvas.Image()
}

// verdictTitles are the verdicts as headings.
var verdictTitles = map[string]string{
	compare.Better:       "Better than before",
	compare.Worse:        "Worse than before",
	compare.NoDifference: "No difference shown",
	compare.CannotTell:   "Cannot tell from these takes",
}

// drawVerdict writes the head and returns the top of what is left.
func drawVerdict(s sheet, c *compare.Comparison) vg.Length {
	width := s.Max.X - s.Min.X
	y := s.Max.Y - vg.Points(titleSize) + 1
	title := sans(titleSize, true, ink)
	s.write(title, s.Min.X, y, verdictTitles[c.Verdict])
	names, _ := drawable("before: " + takeNames(c.Before) + "     after: " + takeNames(c.After))
	small := sans(textSize, false, quiet)
	room := width - title.Width(verdictTitles[c.Verdict]) - 24
	s.write(alignX(small, draw.XRight), s.Max.X, y+3, shorten(small, room, names))
	y -= 8
	body := sans(textSize, false, ink)
	lines := append([]string{}, c.Because...)
	if c.Done != "" {
		lines = append([]string{"Done: " + c.Done}, lines...)
	}
	const most = 5
	for i, str := range lines {
		if i == most {
			break
		}
		str, _ = drawable(str)
		y = s.part(s.Min.X, s.Max.X, s.Min.Y, y).block(body, y, 12, 2, str) - 1
	}
	y -= 3
	s.line(rule(ink, 0.9), s.Min.X, y, s.Max.X, y)
	return y - 12
}

// drawNoVerdict says in words why there is no comparison, and what to record.
func drawNoVerdict(s sheet, c *compare.Comparison) {
	body, head := sans(11, false, ink), sans(11, true, ink)
	y := s.block(sans(titleSize, true, alarm), s.Max.Y, 22, 2, "These takes cannot be compared") - 4
	names, _ := drawable("Before: " + takeNames(c.Before) + ". After: " + takeNames(c.After) + ".")
	y = s.block(sans(textSize, false, quiet), y, 12, 3, names) - 12
	part := func(title string, list []string) {
		y = s.block(head, y, 15, 1, title) - 4
		for _, str := range list {
			if y < s.Min.Y+70 {
				return
			}
			str, _ = drawable(str)
			s.write(alignY(body, draw.YTop), s.Min.X, y, "-")
			y = s.part(s.Min.X+12, s.Max.X, s.Min.Y, y).block(body, y, 15, 4, str) - 6
		}
		y -= 8
	}
	part("Why", c.Because)
	part("What to record", c.Record)
	s.block(body, y, 15, 2, "Nothing on the machine should be adjusted because of it.")
}

func takeNames(s compare.Side) string {
	var names []string
	for _, t := range s.Takes {
		names = append(names, baseName(t.Path))
	}
	return strings.Join(names, ", ")
}

// collect takes one number of every stroke of a side.
func collect(takes []*diagnose.Take, of func(diagnose.Stroke) diagnose.Number) []float64 {
	var out []float64
	for _, t := range takes {
		for _, s := range t.Strokes {
			if v := float(of(s)); inPicture(v) && v >= 0 {
				out = append(out, v)
			}
		}
	}
	return out
}

// drawReady draws the ready times back to back: before above the line, after below.
func drawReady(s sheet, takes [2][]*diagnose.Take) {
	head, caption := sans(headSize, true, ink), sans(captionSize, false, quiet)
	y := s.Max.Y - vg.Points(headSize)
	s.write(head, s.Min.X, y, "Ready time: from a strike until the carriage stands")
	var ready [2][]float64
	for i := range takes {
		ready[i] = collect(takes[i], func(st diagnose.Stroke) diagnose.Number { return st.ReadyMS })
	}
	if len(ready[0]) == 0 || len(ready[1]) == 0 {
		s.block(caption, y-9, 11.5, 3, "The landing was not heard in both, so there is nothing to draw.")
		return
	}
	s.write(caption, s.Min.X, y-12, "as typed: the hand's time on the key is in it; share of strokes, before upward, after downward")
	lo, hi := middleRange(append(append([]float64{}, ready[0]...), ready[1]...), 0.005, 0.99, 0.03)
	lo = math.Max(0, lo)
	const bins = 40
	step := (hi - lo) / bins
	var share [2][bins]float64
	highest := 0.0
	for i := range ready {
		for _, v := range ready[i] {
			if k := int((v - lo) / step); v >= lo && k < bins {
				share[i][k] += 100 / float64(len(ready[i]))
			}
		}
		for _, v := range share[i] {
			highest = math.Max(highest, v)
		}
	}
	p := newPlot("ready time, ms", "share of strokes, %")
	setRange(&p.X, lo, hi, 7)
	setRange(&p.Y, -1.35*highest, 1.35*highest, 6)
	ticks := p.Y.Tick.Marker.(plot.ConstantTicks)
	for i := range ticks {
		ticks[i].Label = strings.TrimPrefix(ticks[i].Label, "-")
	}
	p.Add(drawFunc(func(c draw.Canvas, p *plot.Plot) {
		fx, fy := p.Transforms(&c)
		in := sheet{c}
		for i := range ready {
			sign := 1 - 2*float64(i)
			for k, v := range share[i] {
				if v == 0 {
					continue
				}
				x0, x1 := fx(lo+float64(k)*step), fx(lo+float64(k+1)*step)
				y0, y1 := fy(0), fy(sign*v)
				fill := beforeFill
				if i == 1 {
					fill = afterInk
				}
				in.box(fill, x0, x1-0.4, y0, y1)
				if i == 0 {
					c.StrokeLines(rule(beforeInk, 0.6), []vg.Point{{X: x0, Y: y0}, {X: x0, Y: y1}, {X: x1 - 0.4, Y: y1}, {X: x1 - 0.4, Y: y0}})
				}
			}
			sort.Float64s(ready[i])
			m := median(ready[i])
			at := fx(math.Min(math.Max(m, lo), hi))
			end := fy(sign * 1.3 * highest)
			c.StrokeLine2(rule(paper, 2.4), at, fy(0), at, end)
			c.StrokeLine2(rule(ink, 1.1, 4, 2), at, fy(0), at, end)
			label := fmt.Sprintf("%s: half are ready in %s ms", [2]string{"before", "after"}[i], ms(m))
			sty := sans(captionSize, true, ink)
			x := math.Min(float64(at)+4, float64(c.Max.X)-float64(sty.Width(label))-2)
			ly := end - 2
			if i == 0 {
				ly = end - 8
			}
			in.box(paper, vg.Length(x)-1, vg.Length(x)+sty.Width(label)+1, ly, ly+10)
			in.write(sty, vg.Length(x), ly, label)
		}
		c.StrokeLine2(rule(ink, 0.9), c.Min.X, fy(0), c.Max.X, fy(0))
	}))
	p.Draw(s.part(s.Min.X, s.Max.X, s.Min.Y, y-18).Canvas)
}

// drawTravels draws travel against carriage position: before open, after full, with
// the medians along the line.
func drawTravels(s sheet, takes [2][]*diagnose.Take) {
	head, caption := sans(headSize, true, ink), sans(captionSize, false, quiet)
	y := s.Max.Y - vg.Points(headSize)
	s.write(head, s.Min.X, y, "Travel along the line: the machine's alone")
	type point struct{ x, y float64 }
	var points [2][]point
	var xs, ys []float64
	for i := range takes {
		for _, t := range takes[i] {
			for _, st := range t.Strokes {
				if v := float(st.TravelMS); inPicture(v) && v >= 0 && inPicture(float64(st.Position)) {
					points[i] = append(points[i], point{float64(st.Position), v})
					xs, ys = append(xs, float64(st.Position)), append(ys, v)
				}
			}
		}
	}
	if len(points[0]) == 0 || len(points[1]) == 0 {
		s.block(caption, y-9, 11.5, 3, "Release and landing were not heard apart in both, so there is no travel to draw.")
		return
	}
	xMin, xMax := middleRange(xs, 0, 1, 0.02)
	yMin, yMax := middleRange(ys, 0.01, 0.99, 0.15)
	if mid := (yMin + yMax) / 2; yMax-yMin < 0.25*mid {
		yMin, yMax = 0.875*mid, 1.125*mid
	}
	yMin = math.Max(0, yMin)
	// The key, in the caption's line.
	kx := s.Min.X + 4
	openDot(&s.Canvas, vg.Point{X: kx, Y: y - 9}, beforeInk)
	before := "before, broken line: its middle"
	s.write(caption, kx+6, y-12, before)
	kx += 6 + caption.Width(before) + 18
	fullDot(&s.Canvas, vg.Point{X: kx, Y: y - 9}, afterInk)
	s.write(caption, kx+6, y-12, "after, whole line: its middle")

	p := newPlot("carriage position, spaces", "travel, ms")
	setRange(&p.X, xMin, xMax, 7)
	setRange(&p.Y, yMin, yMax, 6)
	p.Add(drawFunc(func(c draw.Canvas, p *plot.Plot) {
		fx, fy := p.Transforms(&c)
		for i := range points {
			every := thinning(2 * len(points[i]))
			for k, q := range points[i] {
				if k%every != 0 || q.y < yMin || q.y > yMax {
					continue
				}
				at := vg.Point{X: fx(q.x), Y: fy(q.y)}
				if i == 0 {
					openDot(&c, at, beforeInk)
				} else {
					fullDot(&c, at, afterInk)
				}
			}
		}
		for i := range points {
			by := map[int][]float64{}
			for _, q := range points[i] {
				by[int(q.x)/6] = append(by[int(q.x)/6], q.y)
			}
			var keys []int
			for k, v := range by {
				if len(v) >= 4 {
					keys = append(keys, k)
				}
			}
			sort.Ints(keys)
			var curve []vg.Point
			for _, k := range keys {
				if v := median(by[k]); v >= yMin && v <= yMax {
					curve = append(curve, vg.Point{X: fx(float64(k)*6 + 2.5), Y: fy(v)})
				}
			}
			c.StrokeLines(rule(paper, 3.4), curve)
			if i == 0 {
				c.StrokeLines(rule(ink, 1.7, 6, 3), curve)
			} else {
				c.StrokeLines(rule(ink, 1.7), curve)
			}
		}
	}))
	p.Draw(s.part(s.Min.X, s.Max.X-3, s.Min.Y, y-18).Canvas)
}

func openDot(c *draw.Canvas, at vg.Point, col color.Color) {
	c.DrawGlyphNoClip(draw.GlyphStyle{Color: col, Radius: vg.Points(1.7), Shape: thinRing{}}, at)
}

func fullDot(c *draw.Canvas, at vg.Point, col color.Color) {
	c.DrawGlyphNoClip(draw.GlyphStyle{Color: col, Radius: vg.Points(1.3), Shape: draw.CircleGlyph{}}, at)
}

// drawTyping draws the letters a page of either machine under each hand, and says
// beside it what the difference is and who made that of the pages.
func drawTyping(s sheet, c *compare.Comparison) {
	head, caption := sans(headSize, true, ink), sans(captionSize, false, quiet)
	y := s.Max.Y - vg.Points(headSize)
	s.write(head, s.Min.X, y, "The same typing on both: letters crowded or piled a page")
	at := func(x vg.Length) func(float64) vg.Length { return func(float64) vg.Length { return x } }
	note := fmt.Sprintf("a page of %d strokes; bars: 95 %% interval;", compare.PageStrokes)
	s.write(caption, s.Min.X, y-12, note)
	kx := s.Min.X + caption.Width(note) + 14
	s.mark(pointRange(0), at(kx), y-8.5, true)
	s.write(caption, kx+7, y-12, "before")
	s.mark(pointRange(0), at(kx+48), y-8.5, false)
	s.write(caption, kx+55, y-12, "after")
	highest := 0.0
	for _, e := range c.Typing {
		for _, r := range []compare.Range{e.Before, e.After} {
			for _, n := range []diagnose.Number{r.Value, r.High} {
				if v := float(n); inPicture(v) {
					highest = math.Max(highest, v)
				}
			}
		}
	}
	highest = math.Max(highest*1.05, 5)
	names, right := s.Min.X+92, s.Min.X+366
	axis := s.Min.Y + 28
	fx := func(v float64) vg.Length { return names + vg.Length(v/highest)*(right-names) }
	top := y - 22
	row := (top - axis) / vg.Length(max(len(c.Typing), 1))
	s.line(rule(ink, 0.7), names, axis, right, axis)
	for _, t := range roundTicks(0, highest, 6) {
		s.line(rule(ink, 0.7), fx(t.Value), axis, fx(t.Value), axis-3.5)
		if t.Value > 0 {
			s.line(rule(tint, 0.8), fx(t.Value), axis, fx(t.Value), top)
		}
		s.write(alignX(sans(axisSize, false, ink), draw.XCenter), fx(t.Value), axis-14, t.Label)
	}
	s.write(alignX(sans(axisSize, false, ink), draw.XCenter), (names+right)/2, axis-27, "letters a page")
	label := sans(textSize, false, ink)
	for i, e := range c.Typing {
		mid := top - row*(vg.Length(i)+0.5)
		lines := wrapTo(label, names-s.Min.X-8, e.Hand)
		for k, l := range lines {
			s.write(label, s.Min.X, mid-4+vg.Length(len(lines)-1)*5.5-vg.Length(k)*11, l)
		}
		s.mark(e.Before, fx, mid+row*0.17, true)
		s.mark(e.After, fx, mid-row*0.17, false)
		s.write(sans(textSize, true, ink), right+16, mid+1, differenceText(e))
		s.write(caption, right+16, mid-10, intervalText(e))
		if i > 0 {
			s.line(rule(tint, 0.8), s.Min.X, mid+row/2, right+90, mid+row/2)
		}
	}
	// The words on the right.
	x := right + 112
	words := s.part(x, s.Max.X, s.Min.Y, s.Max.Y)
	y = words.block(head, s.Max.Y+1, 13, 2, "The pages as they are") - 2
	for _, str := range rawText(c)[:2] {
		y = words.block(label, y, 12, 5, str) - 4
	}
	y -= 4
	for _, m := range c.Smallest {
		if m.Name == "letters" && strings.HasSuffix(m.Text, compare.Pooled) || m.Name == "travel" {
			what := "of travel"
			unit := m.Unit
			if m.Name == "letters" {
				what, unit = "with this typing", "letters a page"
			}
			y = words.block(caption, y, 11, 3, fmt.Sprintf("A change of %s %s %s would have shown four times in five.", short(float(m.Change)), unit, what)) - 2
		}
	}
}

func pointRange(v float64) compare.Range {
	n := diagnose.Number(v)
	return compare.Range{Value: n, Low: n, High: n}
}

// mark draws one value with its interval: open for before, full for after.
func (s sheet) mark(r compare.Range, fx func(float64) vg.Length, y vg.Length, open bool) {
	v, low, high := float(r.Value), float(r.Low), float(r.High)
	if !inPicture(v) {
		s.write(sans(captionSize, false, quiet), fx(0)+4, y-4, cannotTell)
		return
	}
	col := color.Color(afterInk)
	if open {
		col = beforeInk
	}
	if inPicture(low) && inPicture(high) && high > low {
		s.line(rule(col, 1.4), fx(low), y, fx(high), y)
		for _, e := range []float64{low, high} {
			s.line(rule(col, 1.4), fx(e), y-3, fx(e), y+3)
		}
	}
	at := vg.Point{X: fx(v), Y: y}
	if open {
		s.DrawGlyphNoClip(draw.GlyphStyle{Color: paper, Radius: vg.Points(3.2), Shape: draw.CircleGlyph{}}, at)
		s.SetLineStyle(rule(col, 1.4))
		var path vg.Path
		path.Move(vg.Point{X: at.X + 3.2, Y: at.Y})
		path.Arc(at, 3.2, 0, 2*math.Pi)
		path.Close()
		s.Stroke(path)
		return
	}
	s.DrawGlyphNoClip(draw.GlyphStyle{Color: col, Radius: vg.Points(3.4), Shape: draw.CircleGlyph{}}, at)
}

func differenceText(e compare.EqualTyping) string {
	v := float(e.Difference.Value)
	switch {
	case math.IsNaN(v):
		return cannotTell
	case math.Abs(v) < 0.5:
		return "no difference"
	case v < 0:
		return fmt.Sprintf("%.0f fewer", -v)
	}
	return fmt.Sprintf("%.0f more", v)
}

func intervalText(e compare.EqualTyping) string {
	low, high := float(e.Difference.Low), float(e.Difference.High)
	if math.IsNaN(low) || math.IsNaN(high) {
		return ""
	}
	return fmt.Sprintf("%+.0f to %+.0f", low+0, high+0)
}
