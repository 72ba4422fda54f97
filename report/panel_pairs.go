package report

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"loosedog/diagnose"
)

// pairView is the panel of all pairs before it is drawn: where its axes end, and
// how much lies outside of them.
type pairView struct {
	// calm are the pairs in time, flagged the others, with a ready time; bare
	// the pairs that have an interval but no ready time.
	calm, flagged, bare []pair
	intervals           []float64 // of all of them, rising
	// Axis ranges in ms; gutter is the width of the column for bare pairs.
	xMin, xMax, yMax, gutter float64
	// outside counts the pairs in time that the axes leave out because their
	// interval is long or their ready time unusual; edge the flagged ones that
	// are drawn on the frame for the same reason.
	outside, edge int
	every         int
	// ready tells whether any pair has a ready time.
	ready bool
}

// viewPairs chooses the panel's ranges. The pairs of interest lie near the line
// of zero slack, so long intervals, which are pauses, do not stretch the axis.
func viewPairs(pairs []pair) (v pairView, ok bool) {
	var ready, intervals []float64
	for _, p := range pairs {
		if !inPicture(p.interval) || p.interval < 0 {
			continue
		}
		switch {
		case !inPicture(p.ready) || p.ready < 0:
			v.bare = append(v.bare, p)
		case p.flagged():
			v.flagged = append(v.flagged, p)
		default:
			v.calm = append(v.calm, p)
		}
		intervals = append(intervals, p.interval)
		if inPicture(p.ready) && p.ready >= 0 {
			ready = append(ready, p.ready)
		}
	}
	if len(intervals) == 0 {
		return v, false
	}
	v.intervals = intervals
	sort.Float64s(intervals)
	v.ready = len(ready) > 0
	v.xMin, v.xMax = 0, 1
	middle := 0.0
	if len(ready) > 0 {
		v.xMin, v.xMax = middleRange(ready, 0.01, 0.99, 0.06)
		// The numbered pairs are what the reader looks for.
		for _, p := range v.flagged {
			if p.number <= defaultPairs && p.ready < 2*v.xMax {
				v.xMin, v.xMax = math.Min(v.xMin, p.ready-2), math.Max(v.xMax, p.ready+2)
			}
		}
		v.xMin = math.Max(0, v.xMin)
		v.xMax = math.Max(v.xMax, v.xMin+10)
		middle = median(ready)
	}
	q := func(p float64) float64 { return stat.Quantile(p, stat.Empirical, intervals, nil) }
	v.yMax = math.Max(math.Max(1.2*v.xMax, q(0.5)), math.Min(1.04*q(0.97), 3*middle))
	if len(v.bare) > 0 {
		share, marked := 0.16, 0
		for _, p := range v.bare {
			if p.flagged() {
				marked++
			}
		}
		if marked > 4 {
			share = 0.3 // numbers need room between the marks
		}
		v.gutter = share * (v.xMax - v.xMin)
	}

	in := v.calm[:0:0]
	for _, p := range v.calm {
		if p.interval > v.yMax || p.ready < v.xMin || p.ready > v.xMax {
			v.outside++
			continue
		}
		in = append(in, p)
	}
	v.calm = in
	bare := v.bare[:0:0]
	for _, p := range v.bare {
		if p.interval > v.yMax && !p.flagged() {
			v.outside++
			continue
		}
		bare = append(bare, p)
		if p.flagged() && p.interval > v.yMax {
			v.edge++
		}
	}
	v.bare = bare
	for _, p := range v.flagged {
		if p.interval > v.yMax || p.ready < v.xMin || p.ready > v.xMax {
			v.edge++
		}
	}
	v.every = thinning(len(v.calm))
	return v, true
}

// drawPairs draws every pair's interval against its ready time.
func drawPairs(s sheet, t *diagnose.Take, pairs []pair) {
	head, caption := sans(headSize, true, ink), sans(captionSize, false, quiet)
	y := s.Max.Y - vg.Points(headSize)
	s.write(head, s.Min.X, y, "Was the carriage ready? Every pair of strokes")
	v, ok := viewPairs(pairs)
	if !ok {
		s.block(caption, y-10, 11, 4, "No two strokes of one line were heard, so no interval can be shown.")
		return
	}
	if !v.ready {
		n := len(v.intervals)
		s.block(caption, y-10, 11.5, 6, fmt.Sprintf("No landing was heard that belongs to a pair, so no ready time is known and whether the carriage was ready cannot be told. The %s run from %s to %s ms, half of them under %s ms.",
			count(n, "interval"), ms(v.intervals[0]), ms(v.intervals[n-1]), ms(v.intervals[n/2])))
		return
	}
	y -= 14
	drawKey(s, pairs, y)
	y -= 11.5
	s.write(caption, s.Min.X, y, shortenEnd(caption, s.Max.X-s.Min.X, v.note()))

	p := newPlot("ready time after the first strike, ms", "interval to the next strike, ms")
	left := v.xMin - v.gutter
	setRange(&p.Y, 0, v.yMax, 5)
	setRange(&p.X, v.xMin, v.xMax, 6)
	if v.gutter > 0 {
		ticks := p.X.Tick.Marker.(plot.ConstantTicks)
		ticks = append(plot.ConstantTicks{{Value: v.xMin - v.gutter/2, Label: "none"}}, clearOf(ticks, v.xMin+0.04*(v.xMax-v.xMin))...)
		p.X.Min, p.X.Tick.Marker = left, ticks
	}
	p.Add(drawFunc(func(c draw.Canvas, _ *plot.Plot) { drawPairPoints(sheet{c}, v) }))
	p.Draw(s.part(s.Min.X, s.Max.X-3, s.Min.Y, y-5).Canvas)
}

// clearOf drops the ticks under a value, whose numbers would meet another's.
func clearOf(ticks plot.ConstantTicks, least float64) plot.ConstantTicks {
	var out plot.ConstantTicks
	for _, t := range ticks {
		if t.Value >= least {
			out = append(out, t)
		}
	}
	return out
}

// drawKey explains the marks, with how many there are of each.
func drawKey(s sheet, pairs []pair, y vg.Length) {
	var inTime, crowded, piled, unknown int
	for _, p := range pairs {
		switch {
		case p.spacing == diagnose.SpacingPiled:
			piled++
		case p.flagged():
			crowded++
		case math.IsNaN(p.slack):
			unknown++
		default:
			inTime++
		}
	}
	calmly := fmt.Sprintf("in time: %d", inTime)
	if unknown > 0 {
		calmly += fmt.Sprintf(", not known: %d", unknown)
	}
	sty := sans(captionSize, false, ink)
	x := s.Min.X + 4
	for _, k := range []struct {
		mark func(*draw.Canvas, vg.Point)
		text string
	}{
		{ring, calmly},
		{wedge, fmt.Sprintf("crowded: %d", crowded)},
		{saltire, fmt.Sprintf("piled: %d", piled)},
	} {
		k.mark(&s.Canvas, vg.Point{X: x, Y: y + 2.7})
		s.write(sty, x+7, y, k.text)
		x += 7 + sty.Width(k.text) + 16
	}
}

// note says what the axes leave out.
func (v pairView) note() string {
	var str string
	add := func(s string) {
		if str != "" {
			str += "; "
		}
		str += s
	}
	if v.outside > 0 {
		add(fmt.Sprintf("%d rings lie outside", v.outside))
	}
	if v.edge > 0 {
		add(fmt.Sprintf("%d flagged at the frame's edge", v.edge))
	}
	if v.every > 1 {
		add(fmt.Sprintf("1 of %d rings is drawn", v.every))
	}
	if v.gutter > 0 {
		add("none: no landing heard")
	}
	return str
}

// drawPairPoints draws into the frame of the axes.
func drawPairPoints(s sheet, v pairView) {
	left := v.xMin - v.gutter
	fx := func(x float64) vg.Length {
		return s.Min.X + vg.Length((x-left)/(v.xMax-left))*(s.Max.X-s.Min.X)
	}
	fy := func(y float64) vg.Length { return s.Min.Y + vg.Length(y/v.yMax)*(s.Max.Y-s.Min.Y) }
	beside := map[int]int{}
	byInterval := append([]pair(nil), v.bare...)
	sort.SliceStable(byInterval, func(i, j int) bool { return byInterval[i].interval < byInterval[j].interval })
	for i, p := range byInterval {
		beside[p.first] = i
	}
	at := func(p pair) vg.Point {
		x := math.Min(math.Max(p.ready, v.xMin), v.xMax)
		if !inPicture(p.ready) || p.ready < 0 {
			// Side by side, or the marks of one column would hide one another.
			x = v.xMin - v.gutter*(0.5+0.3*float64(beside[p.first]%3-1))
		}
		return vg.Point{X: fx(x), Y: fy(math.Min(p.interval, v.yMax))}
	}

	room := &placer{within: vg.Rectangle{
		Min: vg.Point{X: s.Min.X + 1, Y: s.Min.Y + 1}, Max: vg.Point{X: s.Max.X, Y: s.Max.Y + 2},
	}}
	// Under the line of zero slack.
	s.FillPolygon(tint, []vg.Point{
		{X: fx(v.xMin), Y: fy(0)}, {X: fx(v.xMax), Y: fy(0)},
		{X: fx(v.xMax), Y: fy(v.xMax)}, {X: fx(v.xMin), Y: fy(v.xMin)},
	})
	if v.gutter > 0 {
		s.line(rule(quiet, 0.5, 1, 2), fx(v.xMin), s.Min.Y, fx(v.xMin), s.Max.Y)
	}
	for i, p := range v.calm {
		if i%v.every == 0 {
			ring(&s.Canvas, at(p))
		}
	}
	s.line(rule(ink, 1.1), fx(v.xMin), fy(v.xMin), fx(v.xMax), fy(v.xMax))
	zone := sans(captionSize, false, ink)
	str := "too fast: carriage still moving"
	s.write(alignX(zone, draw.XRight), fx(v.xMax)-5, s.Min.Y+5, str)
	room.taken = append(room.taken, vg.Rectangle{
		Min: vg.Point{X: fx(v.xMax) - 7 - zone.Width(str), Y: s.Min.Y + 2},
		Max: vg.Point{X: fx(v.xMax), Y: s.Min.Y + 16},
	})
	// Just above the line's right end, along it.
	slope := math.Atan2(float64(fy(v.xMax)-fy(v.xMin)), float64(fx(v.xMax)-fx(v.xMin)))
	zero := sans(captionSize, true, ink)
	zero.Rotation, zero.XAlign = slope, draw.XRight
	s.write(zero, fx(v.xMax)-4-3*vg.Length(math.Sin(slope)), fy(v.xMax)+3, "slack zero")
	room.taken = append(room.taken, vg.Rectangle{
		Min: vg.Point{X: fx(v.xMax) - 52, Y: fy(v.xMax) - 44*vg.Length(math.Tan(slope)) - 2},
		Max: vg.Point{X: fx(v.xMax), Y: fy(v.xMax) + 14},
	})

	var marked []pair
	for i, p := range v.bare {
		switch {
		case p.flagged():
			marked = append(marked, p)
		case i%thinning(len(v.bare)) == 0:
			ring(&s.Canvas, at(p))
		}
	}
	marked = append(marked, v.flagged...)
	// The worst are drawn last, on top.
	sort.Slice(marked, func(i, j int) bool { return marked[i].number > marked[j].number })
	every := thinning(len(marked))
	for i, p := range marked {
		if p.number > defaultPairs && i%every != 0 {
			continue
		}
		m := at(p)
		if p.spacing == diagnose.SpacingPiled {
			saltire(&s.Canvas, m)
		} else {
			wedge(&s.Canvas, m)
		}
		if len(room.taken) < 1500 {
			room.taken = append(room.taken, around(m, 7, 7))
		}
	}
	number := sans(axisSize, true, ink)
	number.XAlign, number.YAlign = draw.XCenter, draw.YCenter
	for i := len(marked) - 1; i >= 0; i-- {
		p := marked[i]
		if p.number > defaultPairs {
			continue
		}
		str := fmt.Sprint(p.number)
		w, h := number.Width(str)+2, vg.Points(axisSize)
		m := at(p)
		mid, far, ok := room.near(m, w, h)
		if !ok {
			continue
		}
		if far {
			d := vg.Length(math.Hypot(float64(mid.X-m.X), float64(mid.Y-m.Y)))
			ux, uy := (mid.X-m.X)/d, (mid.Y-m.Y)/d
			s.line(rule(ink, 0.5), m.X+3.5*ux, m.Y+3.5*uy, mid.X-5*ux, mid.Y-5*uy)
		}
		s.box(paper, mid.X-w/2, mid.X+w/2, mid.Y-h/2+0.5, mid.Y+h/2-0.5)
		s.write(number, mid.X, mid.Y, str)
	}
}
