package report

import (
	"fmt"
	"image"
	"io"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"loosedog/diagnose/compare"
	"loosedog/diagnose/record"
)

// mostRows is how many machines the picture of a shelf shows.
const mostRows = 26

// ShelfPNG writes the picture of a shelf, 2000 x 1400 pixels at 200 dots per inch:
// one row a machine, that which needs attention first on top, with its letters a
// page at the same hand, what its travel changed by, and the strongest finding.
func ShelfPNG(w io.Writer, s *record.Shelf) error {
	if s == nil {
		return errNoShelf
	}
	return writePicture(w, drawShelf(s))
}

// scale places values between two edges.
type scale struct {
	lo, hi      float64
	left, right vg.Length
}

func (a scale) at(v float64) vg.Length {
	v = math.Min(math.Max(v, a.lo), a.hi)
	return a.left + vg.Length((v-a.lo)/(a.hi-a.lo))*(a.right-a.left)
}

func drawShelf(s *record.Shelf) image.Image {
	canvas, in := newPicture()
	head, caption := sans(headSize, true, ink), sans(captionSize, false, quiet)
	y := in.Max.Y - vg.Points(titleSize) + 1
	in.write(sans(titleSize, true, ink), in.Min.X, y, "Which machine needs attention first?")
	name, _ := drawable(baseName(s.Folder))
	in.write(alignX(sans(textSize, false, quiet), draw.XRight), in.Max.X, y+3, fmt.Sprintf("%s: %s", name, count(len(s.Machines), "machine")))
	y -= 10
	in.line(rule(ink, 0.9), in.Min.X, y, in.Max.X, y)
	y -= 20

	rows := s.Machines
	if len(rows) > mostRows {
		rows = rows[:mostRows]
	}
	in.block(caption, in.Min.Y+36, 11, 3, shelfFoot(s))
	axis := in.Min.Y + 66
	letters := scale{0, 5, in.Min.X + 150, in.Min.X + 362}
	change := scale{-2, 2, in.Min.X + 392, in.Min.X + 522}
	for _, r := range rows {
		letters.hi = math.Max(letters.hi, 1.04*largest(r.Letters))
		if r.TravelChange.Value.Known() {
			reach := 1.1 * math.Max(largest(r.TravelChange), -smallest(r.TravelChange))
			change.hi = math.Max(change.hi, reach)
			change.lo = -change.hi
		}
	}
	in.write(head, in.Min.X, y, "Machine")
	in.write(head, letters.left, y, "Letters a page at the same hand")
	in.write(head, change.left-8, y, "Travel since the first take")
	words := change.right + 18
	in.write(head, words, y, "What stands out")
	y -= 8
	for _, a := range []struct {
		scale
		unit string
	}{{letters, "letters crowded or piled"}, {change, "ms, longer to the right"}} {
		in.line(rule(ink, 0.7), a.left, axis, a.right, axis)
		for _, t := range roundTicks(a.lo, a.hi, 5) {
			in.line(rule(ink, 0.7), a.at(t.Value), axis, a.at(t.Value), axis-3)
			in.line(rule(tint, 0.8), a.at(t.Value), axis, a.at(t.Value), y)
			in.write(alignX(sans(axisSize, false, ink), draw.XCenter), a.at(t.Value), axis-13, t.Label)
		}
		in.write(alignX(caption, draw.XCenter), (a.left+a.right)/2, axis-25, a.unit)
	}
	in.line(rule(quiet, 0.7), change.at(0), axis, change.at(0), y)
	row := (y - axis) / vg.Length(max(len(rows), 6))
	for i, r := range rows {
		in.part(in.Min.X, in.Max.X, y-row*vg.Length(i+1), y-row*vg.Length(i)).drawRow(r, letters, change, words)
	}
	return canvas.Image()
}

// drawRow draws one machine within s.
func (s sheet) drawRow(r record.Row, letters, change scale, words vg.Length) {
	mid := (s.Min.Y + s.Max.Y) / 2
	s.line(rule(tint, 0.8), s.Min.X, s.Min.Y, s.Max.X, s.Min.Y)
	bold, body, caption := sans(textSize, true, ink), sans(textSize, false, ink), sans(captionSize, false, quiet)
	no := "-"
	if r.Attention > 0 {
		no = fmt.Sprint(r.Attention)
	}
	s.write(alignX(bold, draw.XRight), s.Min.X+14, mid-3.5, no)
	name, _ := drawable(clean(r.Machine))
	s.write(body, s.Min.X+20, mid-3.5, shortenEnd(body, letters.left-s.Min.X-28, name))
	if r.Last == nil {
		s.write(caption, letters.left+4, mid-3.5, "no take can be measured: record a page")
	} else {
		s.mark(r.Letters, letters.at, mid, false)
		if r.TravelChange.Value.Known() {
			s.mark(r.TravelChange, change.at, mid, !r.Changed)
		}
	}
	text, _ := drawable(rowWords(r))
	lines := wrapTo(caption, s.Max.X-words, text)
	if most := max(1, int((s.Max.Y-s.Min.Y)/10)); len(lines) > most {
		lines = lines[:most]
		lines[most-1] = shortenEnd(caption, s.Max.X-words, lines[most-1]+" ...")
	}
	for k, l := range lines {
		s.write(caption, words, mid-3.5+vg.Length(len(lines)-1)*4.8-vg.Length(k)*9.6, l)
	}
}

// rowWords is what stands out of a machine, in a few words.
func rowWords(r record.Row) string {
	text := ""
	if r.Strongest != nil {
		text = findingTitle(*r.Strongest)
	}
	if r.LastDone != "" {
		if text != "" {
			text += "; "
		}
		text += "done"
		if r.LastDoneDate != "" {
			text += " " + r.LastDoneDate
		}
		text += ": " + clean(r.LastDone)
	}
	return text
}

func shelfFoot(s *record.Shelf) string {
	text := fmt.Sprintf("Letters crowded or piled a page of %d strokes when the same fixed hand types on every machine, by its last take that can be measured; bars: 95 %% interval. Travel: full mark, changed by more than chance; open mark, no change shown. Before anything is adjusted: the maker's service sheet and a trained repairer come first, and the mainspring is under tension even at rest.", compare.PageStrokes)
	if n := len(s.Machines) - mostRows; n > 0 {
		text = fmt.Sprintf("%s more stand in the table. ", count(n, "machine")) + text
	}
	return text
}

func largest(r compare.Range) float64 {
	most := 0.0
	for _, n := range []float64{float64(r.Value), float64(r.High)} {
		if inPicture(n) {
			most = math.Max(most, n)
		}
	}
	return most
}

func smallest(r compare.Range) float64 {
	least := 0.0
	for _, n := range []float64{float64(r.Value), float64(r.Low)} {
		if inPicture(n) {
			least = math.Min(least, n)
		}
	}
	return least
}
