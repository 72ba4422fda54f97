package report

import (
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"loosedog/diagnose"
)

// drawTravel draws travel against carriage position, or the ready time where no
// travel could be heard.
func drawTravel(s sheet, t *diagnose.Take) {
	type point struct {
		x, y   float64
		marked bool
	}
	marks, marked := travelMarks(t)
	gather := func(of func(diagnose.Stroke) diagnose.Number) []point {
		var out []point
		for _, st := range t.Strokes {
			if y := float(of(st)); inPicture(y) && y >= 0 && inPicture(float64(st.Position)) {
				out = append(out, point{float64(st.Position), y, marks[st.Index]})
			}
		}
		return out
	}
	head, caption := sans(headSize, true, ink), sans(captionSize, false, quiet)
	width := s.Max.X - s.Min.X
	y := s.Max.Y - vg.Points(headSize)

	title, label, notes := "Travel along the line", "travel, ms", []string(nil)
	points := gather(func(st diagnose.Stroke) diagnose.Number { return st.TravelMS })
	heard := len(points) > 0
	if !heard {
		title, label = "Ready time along the line", "ready time, ms"
		notes = append(notes, "No travel could be heard: ready time instead")
		points = gather(func(st diagnose.Stroke) diagnose.Number { return st.ReadyMS })
	}
	if len(points) == 0 {
		s.write(head, s.Min.X, y, "Travel along the line")
		s.block(caption, y-9, 11.5, 4, "No travel could be heard, and no ready time either.")
		return
	}
	s.write(head, s.Min.X, y, title)

	var xs, ys []float64
	for _, p := range points {
		xs, ys = append(xs, p.x), append(ys, p.y)
	}
	xMin, xMax := middleRange(xs, 0, 1, 0.02)
	xMax = math.Max(xMax, xMin+11)
	yMin, yMax := middleRange(ys, 0.01, 0.99, 0.12)
	// Little scatter must not be blown up into a drama.
	if mid := (yMin + yMax) / 2; yMax-yMin < 0.25*mid {
		yMin, yMax = 0.875*mid, 1.125*mid
	}
	for _, p := range points {
		if p.marked {
			yMax = math.Max(yMax, p.y+1) // what is marked is to be seen
		}
	}
	yMin = math.Max(0, yMin)

	fit := diagnose.TravelProfile(t)
	from, to := float64(fit.From), float64(fit.To)
	a, b := float(fit.TravelAt(from)), float(fit.TravelAt(to))
	fitted := heard && inPicture(a) && inPicture(b) && to > from
	switch {
	case fitted:
		yMin, yMax = math.Min(yMin, math.Max(0, math.Min(a, b)-1)), math.Max(yMax, math.Max(a, b)+1)
		notes = append(notes, fmt.Sprintf("dashed: robust line, %.1f ms at %d, %.1f at %d", a, fit.From, b, fit.To))
	case heard && fit.Why != "":
		notes = append(notes, "no line: "+fit.Why)
	}
	var in []point
	for _, p := range points {
		if p.y >= yMin && p.y <= yMax {
			in = append(in, p)
		}
	}
	if marked != "" {
		notes = append(notes, marked)
	}
	every := thinning(len(in))
	var left string
	if fitted && fit.PullLost.Known() && fit.LostLow.Known() && fit.LostHigh.Known() {
		left = fmt.Sprintf("net pull lost %.0f %% (%.0f to %.0f)",
			100*float64(fit.PullLost), 100*float64(fit.LostLow), 100*float64(fit.LostHigh))
	}
	if n := len(points) - len(in); n > 0 {
		if left != "" {
			left += "; "
		}
		left += fmt.Sprintf("%d outside", n)
	}
	if every > 1 {
		drawn := fmt.Sprintf("1 of %d drawn", every)
		switch both := left + "; " + drawn; {
		case left == "":
			left = drawn
		case caption.Width(both) <= width:
			left = both
		default: // a long take; cut off, it would not say what it is
			notes, left = append(notes, left), drawn
		}
	}
	if left != "" {
		notes = append(notes, left)
	}
	y -= 2.5
	for _, n := range notes {
		y -= 11.5
		s.write(caption, s.Min.X, y, shortenEnd(caption, width, n))
	}
	if len(notes) < 2 {
		y -= 11.5 // the frame stands level with its neighbour's
	}

	p := newPlot("carriage position, spaces", label)
	setRange(&p.X, xMin, xMax, 5)
	setRange(&p.Y, yMin, yMax, 5)
	p.Add(drawFunc(func(c draw.Canvas, p *plot.Plot) {
		fx, fy := p.Transforms(&c)
		for i, q := range in {
			if i%every == 0 && !q.marked {
				ring(&c, vg.Point{X: fx(q.x), Y: fy(q.y)})
			}
		}
		for _, q := range in {
			if q.marked {
				blot(&c, vg.Point{X: fx(q.x), Y: fy(q.y)})
			}
		}
		if !fitted {
			return
		}
		var curve []vg.Point
		for k := range 41 {
			x := from + (to-from)*float64(k)/40
			if y := float(fit.TravelAt(x)); inPicture(y) {
				curve = append(curve, vg.Point{X: fx(x), Y: fy(y)})
			}
		}
		c.StrokeLines(rule(paper, 3.2), curve)
		c.StrokeLines(rule(ink, 1.5, 6, 3), curve)
	}))
	p.Draw(s.part(s.Min.X, s.Max.X-3, s.Min.Y, y-5).Canvas)
}
