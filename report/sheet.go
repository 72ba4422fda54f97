package report

import (
	"image/color"
	"strings"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// sheet is the part of the picture that something is drawn on.
type sheet struct{ draw.Canvas }

// part is the part of s between the given edges, in the page's own coordinates.
func (s sheet) part(left, right, bottom, top vg.Length) sheet {
	return sheet{draw.Canvas{Canvas: s.Canvas.Canvas, Rectangle: vg.Rectangle{
		Min: vg.Point{X: left, Y: bottom}, Max: vg.Point{X: right, Y: top},
	}}}
}

// write draws one line of text at a point.
func (s sheet) write(sty text.Style, x, y vg.Length, str string) {
	if str != "" {
		s.FillText(sty, vg.Point{X: x, Y: y}, str)
	}
}

// line draws a straight line.
func (s sheet) line(sty draw.LineStyle, x0, y0, x1, y1 vg.Length) {
	s.StrokeLine2(sty, x0, y0, x1, y1)
}

// box fills a rectangle.
func (s sheet) box(c color.Color, left, right, bottom, top vg.Length) {
	s.FillPolygon(c, []vg.Point{{X: left, Y: bottom}, {X: right, Y: bottom}, {X: right, Y: top}, {X: left, Y: top}})
}

// block draws text wrapped to the sheet's width from the top down, at most most
// lines of it, and returns where the next line would have its top.
func (s sheet) block(sty text.Style, top, leading vg.Length, most int, str string) vg.Length {
	sty = alignY(sty, draw.YTop)
	lines := wrapTo(sty, s.Max.X-s.Min.X, str)
	if len(lines) > most {
		lines = lines[:most]
		lines[most-1] += " ..."
	}
	for _, l := range lines {
		s.write(sty, s.Min.X, top, shorten(sty, s.Max.X-s.Min.X, l))
		top -= leading
	}
	return top
}

// wrapTo breaks text at its blanks into lines that are at most limit wide.
func wrapTo(sty text.Style, limit vg.Length, str string) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(str) {
		if line != "" && sty.Width(line+" "+word) > limit {
			lines = append(lines, line)
			line = word
			continue
		}
		line = strings.TrimPrefix(line+" "+word, " ")
	}
	return append(lines, line)
}

// shorten cuts the middle out of a text that is wider than limit: both ends of
// a file's name tell takes apart.
func shorten(sty text.Style, limit vg.Length, str string) string {
	if sty.Width(str) <= limit {
		return str
	}
	r := []rune(str)
	for keep := min(len(r)-1, 400); keep > 1; keep-- {
		head := (keep + 1) / 2
		short := string(r[:head]) + "..." + string(r[len(r)-(keep-head):])
		if sty.Width(short) <= limit {
			return short
		}
	}
	return "..."
}

// shortenEnd cuts the end off a sentence that is wider than limit.
func shortenEnd(sty text.Style, limit vg.Length, str string) string {
	if sty.Width(str) <= limit {
		return str
	}
	r := []rune(str)
	for keep := min(len(r)-1, 400); keep > 1; keep-- {
		if s := string(r[:keep]) + " ..."; sty.Width(s) <= limit {
			return s
		}
	}
	return "..."
}
