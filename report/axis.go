package report

import (
	"math"
	"sort"
	"strconv"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// inPicture tells whether a value is one that an axis can show. 100 s between
// strokes is no interval, and values near the end of float64 break the layout.
func inPicture(x float64) bool { return math.Abs(x) < 1e5 }

// mostPoints is how many ordinary points a panel draws at most; beyond it they
// hide one another and only cost time.
const mostPoints = 3000

// thinning is how many points stand for one that is drawn.
func thinning(n int) int { return (n + mostPoints - 1) / mostPoints }

// drawFunc is a plotter made of a function.
type drawFunc func(c draw.Canvas, p *plot.Plot)

func (f drawFunc) Plot(c draw.Canvas, p *plot.Plot) { f(c, p) }

// newPlot is an empty plot in the picture's style: bare left and bottom axes
// that meet at the corner, ticks outside.
func newPlot(xLabel, yLabel string) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Padding = 0
		a.LineStyle = rule(ink, 0.7)
		a.Tick.LineStyle = rule(ink, 0.7)
		a.Tick.Length = vg.Points(3.5)
		old := a.Tick.Label
		a.Tick.Label = sans(axisSize, false, ink)
		a.Tick.Label.XAlign, a.Tick.Label.YAlign = old.XAlign, old.YAlign
		old = a.Label.TextStyle
		a.Label.TextStyle = sans(axisSize, false, ink)
		a.Label.TextStyle.XAlign, a.Label.TextStyle.YAlign = old.XAlign, old.YAlign
		a.Label.TextStyle.Rotation = old.Rotation
		a.Label.Padding = vg.Points(2)
	}
	p.X.Label.Text, p.Y.Label.Text = xLabel, yLabel
	return p
}

// setRange gives an axis its range and round ticks.
func setRange(a *plot.Axis, lo, hi float64, ticks int) {
	if !(hi > lo) {
		lo, hi = lo-1, lo+1
	}
	a.Min, a.Max = lo, hi
	a.Tick.Marker = plot.ConstantTicks(roundTicks(lo, hi, ticks))
}

// roundTicks are about n ticks at multiples of 1, 2 or 5 times a power of ten.
func roundTicks(lo, hi float64, n int) []plot.Tick {
	raw := (hi - lo) / float64(n)
	step := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, f := range []float64{1, 2, 5, 10} {
		if f*step >= raw*0.999 {
			step *= f
			break
		}
	}
	decimals := max(0, int(-math.Floor(math.Log10(step)+1e-9)))
	var ticks []plot.Tick
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+step*1e-9; k++ {
		x := k * step
		if x == 0 {
			x = 0 // not -0
		}
		ticks = append(ticks, plot.Tick{Value: x, Label: strconv.FormatFloat(x, 'f', decimals, 64)})
		if len(ticks) > 100 {
			break
		}
	}
	return ticks
}

// middleRange spans the given quantiles of xs with some air around them. xs must
// not be empty.
func middleRange(xs []float64, low, high, air float64) (lo, hi float64) {
	s := append([]float64(nil), xs...)
	sort.Float64s(s)
	lo = stat.Quantile(low, stat.Empirical, s, nil)
	hi = stat.Quantile(high, stat.Empirical, s, nil)
	pad := math.Max(air*(hi-lo), 1)
	return lo - pad, hi + pad
}

// The picture's marks. Shape tells them apart where colour does not.

// ring is a small open circle.
func ring(c *draw.Canvas, at vg.Point) {
	c.DrawGlyphNoClip(draw.GlyphStyle{Color: calm, Radius: vg.Points(1.7), Shape: thinRing{}}, at)
}

type thinRing struct{}

// DrawGlyph draws a circle with a thin edge; draw.RingGlyph takes whatever line
// the canvas was left with.
func (thinRing) DrawGlyph(c *draw.Canvas, sty draw.GlyphStyle, at vg.Point) {
	c.SetLineStyle(rule(sty.Color, 0.65))
	var p vg.Path
	p.Move(vg.Point{X: at.X + sty.Radius, Y: at.Y})
	p.Arc(at, sty.Radius, 0, 2*math.Pi)
	p.Close()
	c.Stroke(p)
}

// wedge is a filled triangle that points down: a crowded letter.
func wedge(c *draw.Canvas, at vg.Point) {
	r := vg.Points(3.3)
	pts := func(r vg.Length) []vg.Point {
		return []vg.Point{{X: at.X - r, Y: at.Y + 0.7*r}, {X: at.X + r, Y: at.Y + 0.7*r}, {X: at.X, Y: at.Y - r}}
	}
	c.FillPolygon(paper, pts(r+vg.Points(1.1)))
	c.FillPolygon(alarm, pts(r))
}

// saltire is a bold diagonal cross: a piled letter.
func saltire(c *draw.Canvas, at vg.Point) {
	r := vg.Points(2.9)
	for _, s := range []draw.LineStyle{rule(paper, 3), rule(alarm, 1.6)} {
		e := r
		if s.Color == paper {
			e += vg.Points(0.6)
		}
		c.StrokeLine2(s, at.X-e, at.Y-e, at.X+e, at.Y+e)
		c.StrokeLine2(s, at.X-e, at.Y+e, at.X+e, at.Y-e)
	}
}

// median of xs, which it sorts; NaN when there are none.
func median(xs []float64) float64 {
	if len(xs) == 0 {
		return math.NaN()
	}
	sort.Float64s(xs)
	return stat.Quantile(0.5, stat.Empirical, xs, nil)
}
