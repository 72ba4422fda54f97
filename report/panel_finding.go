package report

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"loosedog/diagnose"
)

// evidenceView is what a finding shows: points, of which those at the strokes
// where it shows are marked, and a level that they are compared with.
type evidenceView struct {
	title, note    string
	xLabel, yLabel string
	plain, marked  []plotPoint
	// level is drawn as a dashed line, NaN for none; levelName stands on it.
	level     float64
	levelName string
	// ends name the ends of the x axis in place of numbers.
	ends [2]string
}

type plotPoint struct{ x, y float64 }

// machineFinding is the strongest finding that blames the machine.
func machineFinding(t *diagnose.Take) (diagnose.Finding, bool) {
	for _, f := range t.Findings {
		if f.Share == diagnose.ShareMachine {
			return f, true
		}
	}
	return diagnose.Finding{}, false
}

// whereOf are the strokes at which a finding shows.
func whereOf(f diagnose.Finding) map[int]bool {
	at := map[int]bool{}
	for _, i := range f.Where {
		at[i] = true
	}
	return at
}

// travelMarks are the strokes that the panel of travel marks, and what they are:
// those of a finding that shows along the line.
func travelMarks(t *diagnose.Take) (at map[int]bool, note string) {
	f, ok := machineFinding(t)
	if !ok || len(f.Where) == 0 {
		return nil, ""
	}
	switch f.Fault {
	case diagnose.FaultBinding:
		note = "filled: where the carriage binds"
	case diagnose.FaultWornTooth:
		note = "filled: one tooth of the wheel"
	case diagnose.FaultSkipping, diagnose.FaultChippedRack:
		note = "filled: after these it skipped"
	default:
		return nil, ""
	}
	return whereOf(f), note
}

// viewEvidence is the view of the strongest machine finding that does not show
// along the line; ok is false when there is none, or nothing to draw.
func viewEvidence(t *diagnose.Take) (v evidenceView, ok bool) {
	f, ok := machineFinding(t)
	if !ok {
		return v, false
	}
	at := whereOf(f)
	v.level = math.NaN()
	v.title = "What speaks for: " + strings.ReplaceAll(clean(f.Fault), "-", " ")
	v.xLabel = "carriage position, spaces"
	add := func(i int, x, y float64) {
		switch {
		case !inPicture(x) || !inPicture(y) || y < 0:
		case at[i]:
			v.marked = append(v.marked, plotPoint{x, y})
		default:
			v.plain = append(v.plain, plotPoint{x, y})
		}
	}
	lead := func(kind string) {
		v.yLabel = "lead, ms"
		for i, s := range t.Strokes {
			if s.Kind == kind {
				add(i, float64(s.Position), float(s.LeadMS()))
			}
		}
	}
	compared := func(measure, name string) {
		for _, e := range f.Evidence {
			if strings.HasPrefix(e.Measure, measure) && e.Reference.Known() {
				v.level, v.levelName = float(e.Reference), name
			}
		}
	}
	switch f.Fault {
	case diagnose.FaultLateTrip:
		lead(diagnose.KindType)
		compared("lead", "common: this or more")
		v.note = "triangles: these letters made no space"
	case diagnose.FaultLateSpaceBar:
		lead(diagnose.KindSpace)
		v.yLabel = "trip to thump, ms"
		compared("the bar's trip", "the letters' lead")
		v.note = "triangles: the bar made no space"
	case diagnose.FaultTiltedBar:
		v.xLabel, v.yLabel = "place on the keyboard", "lead, ms"
		v.ends = [2]string{"left", "right"}
		for i, s := range t.Strokes {
			if s.Char == nil {
				continue
			}
			if x, known := diagnose.KeyPlace(*s.Char); known {
				add(i, x, float(s.LeadMS()))
			}
		}
		v.note = "triangles: these letters made no space"
	case diagnose.FaultSluggishEscapement, diagnose.FaultSluggishBar:
		v.xLabel, v.yLabel = "time in the take, s", "latency, ms"
		for i, s := range t.Strokes {
			if s.Kind == diagnose.KindType {
				add(i, float(s.StrikeS), float(s.LatencyMS))
			}
		}
		v.note = "triangles: the sluggish letters"
		if f.Fault == diagnose.FaultSluggishEscapement {
			v.note = "the quickest strokes should form one tight band"
		}
	default:
		return v, false
	}
	if len(v.marked) == 0 && strings.HasPrefix(v.note, "triangles") {
		v.note = ""
	}
	return v, len(v.plain)+len(v.marked) > 0
}

// drawEvidence draws that view.
func drawEvidence(s sheet, v evidenceView) {
	head, caption := sans(headSize, true, ink), sans(captionSize, false, quiet)
	width := s.Max.X - s.Min.X
	y := s.Max.Y - vg.Points(headSize)
	s.write(head, s.Min.X, y, shortenEnd(head, width, v.title))
	y -= 14
	note := v.note
	all := append(append([]plotPoint{}, v.plain...), v.marked...)
	var xs, ys []float64
	for _, q := range all {
		xs, ys = append(xs, q.x), append(ys, q.y)
	}
	xMin, xMax := middleRange(xs, 0, 1, 0.02)
	yMin, yMax := middleRange(ys, 0, 0.99, 0.1)
	if v.ends[0] != "" {
		xMin, xMax = -0.05, 1.05
	}
	if !math.IsNaN(v.level) {
		yMin, yMax = math.Min(yMin, v.level-0.5), math.Max(yMax, 1.25*v.level)
	}
	yMin = math.Max(0, yMin)
	out := 0
	for _, q := range all {
		if q.y > yMax {
			out++
		}
	}
	if out > 0 {
		note = strings.TrimPrefix(fmt.Sprintf("%s; %d outside", note, out), "; ")
	}
	s.write(caption, s.Min.X, y, shortenEnd(caption, width, note))

	p := newPlot(v.xLabel, v.yLabel)
	setRange(&p.X, xMin, xMax, 5)
	setRange(&p.Y, yMin, yMax, 4)
	if v.ends[0] != "" {
		p.X.Tick.Marker = plot.ConstantTicks([]plot.Tick{{Value: 0, Label: v.ends[0]}, {Value: 1, Label: v.ends[1]}})
	}
	every := thinning(len(v.plain))
	p.Add(drawFunc(func(c draw.Canvas, p *plot.Plot) {
		fx, fy := p.Transforms(&c)
		for i, q := range v.plain {
			if i%every == 0 && q.y <= yMax {
				ring(&c, vg.Point{X: fx(q.x), Y: fy(q.y)})
			}
		}
		for _, q := range v.marked {
			if q.y <= yMax {
				wedge(&c, vg.Point{X: fx(q.x), Y: fy(q.y)})
			}
		}
		if math.IsNaN(v.level) {
			return
		}
		at := fy(v.level)
		c.StrokeLine2(rule(ink, 1.2, 6, 3), c.Min.X, at, c.Max.X, at)
		sty := alignX(sans(captionSize, false, ink), draw.XRight)
		c.FillText(sty, vg.Point{X: c.Max.X, Y: at + 2}, v.levelName)
	}))
	p.Draw(s.part(s.Min.X, s.Max.X-3, s.Min.Y, y-5).Canvas)
}

// blot is a filled square: a stroke at which a finding shows along the line.
func blot(c *draw.Canvas, at vg.Point) {
	box := func(r vg.Length) []vg.Point {
		return []vg.Point{{X: at.X - r, Y: at.Y - r}, {X: at.X + r, Y: at.Y - r}, {X: at.X + r, Y: at.Y + r}, {X: at.X - r, Y: at.Y + r}}
	}
	c.FillPolygon(paper, box(vg.Points(2.9)))
	c.FillPolygon(alarm, box(vg.Points(2.1)))
}
