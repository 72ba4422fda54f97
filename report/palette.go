package report

import (
	"image/color"

	"golang.org/x/image/font"
	"gonum.org/v1/plot"
	plotfont "gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// The picture's colours. Blue against orange-red stays apart for every common
// kind of colour blindness; in grey print the two are told by shape and dash,
// and the paper tint stays lighter than any mark.
var (
	paper = color.NRGBA{0xff, 0xff, 0xff, 0xff}
	ink   = color.NRGBA{0x1e, 0x22, 0x2a, 0xff}
	quiet = color.NRGBA{0x55, 0x5b, 0x66, 0xff}
	tint  = color.NRGBA{0xef, 0xec, 0xe5, 0xff}
	calm  = color.NRGBA{0x3a, 0x76, 0x8f, 0xff}
	alarm = color.NRGBA{0xa8, 0x38, 0x18, 0xff}
	wave  = color.NRGBA{0x77, 0x7e, 0x89, 0xff}
	hatch = color.NRGBA{0xf1, 0xdf, 0xd6, 0xff}
)

// Sizes of type in points at print size. Axis numbers are never under 8.
const (
	titleSize   = 17
	headSize    = 10.5
	textSize    = 9
	captionSize = 8.2
	axisSize    = 8.5
)

// sans is the picture's type: gonum/plot's embedded Liberation Sans, so that no
// font has to be installed.
func sans(size float64, bold bool, c color.Color) text.Style {
	f := plotfont.Font{Typeface: "Liberation", Variant: "Sans", Size: vg.Points(size)}
	if bold {
		f.Weight = font.WeightBold
	}
	return text.Style{Color: c, Font: f, Handler: plot.DefaultTextHandler, YAlign: draw.YBottom}
}

func alignX(s text.Style, x text.XAlignment) text.Style { s.XAlign = x; return s }

func alignY(s text.Style, y text.YAlignment) text.Style { s.YAlign = y; return s }

// rule is a line of the given width in points; dashes make it broken.
func rule(c color.Color, width float64, dashes ...float64) draw.LineStyle {
	s := draw.LineStyle{Color: c, Width: vg.Points(width)}
	for _, d := range dashes {
		s.Dashes = append(s.Dashes, vg.Points(d))
	}
	return s
}
