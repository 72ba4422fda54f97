package report

import (
	"fmt"
	"image"
	"image/color"
	"io"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"loosedog/diagnose"
)

// Size of the picture: 10 x 7 inches at 200 dots per inch, 2000 x 1400 pixels.
const (
	pictureDPI    = 200
	pictureWidth  = 10 * vg.Inch
	pictureHeight = 7 * vg.Inch
	pageMargin    = vg.Length(24)
)

// Waveform is a stretch of a take's sound.
type Waveform struct {
	// Start is the time of the first sample in seconds from the start of the
	// file.
	Start float64
	// SampleRate is in Hz.
	SampleRate float64
	// Samples are scaled so that full scale is 1; empty when there is no sound
	// to show.
	Samples []float64
}

// PNG writes the timing picture for a repair note: 2000 x 1400 pixels that know
// their density of 200 dots per inch. It shows every pair's interval against the
// ready time with the line on which slack is zero and the flagged pairs (the
// worst carry the numbers of [Text]), travel along the line, and the sound
// around the worst pair, or the tightest when none is flagged, with its events.
// clip is that sound: the stretch that [PictureSpan] asks for; it may be empty,
// which the picture says. A take that is not usable gets a picture that says so
// in words.
func PNG(w io.Writer, t *diagnose.Take, clip Waveform) error {
	if t == nil {
		return errNoTake
	}
	return writePicture(w, drawPicture(t, clip))
}

// newPicture is an empty picture, and its page within the margins.
func newPicture() (*vgimg.Canvas, sheet) {
	canvas := vgimg.NewWith(
		vgimg.UseWH(pictureWidth, pictureHeight),
		vgimg.UseDPI(pictureDPI),
		vgimg.UseBackgroundColor(color.White),
	)
	page := sheet{draw.New(canvas)}
	return canvas, page.part(page.Min.X+pageMargin, page.Max.X-pageMargin, page.Min.Y+20, page.Max.Y-20)
}

// writePicture writes a picture that was drawn.
func writePicture(w io.Writer, img image.Image) error {
	raw, err := encodePNG(img, pictureDPI)
	if err != nil {
		return fmt.Errorf("cannot make the picture: %w", err)
	}
	_, err = w.Write(raw)
	return err
}

func drawPicture(t *diagnose.Take, clip Waveform) image.Image {
	canvas, page := newPicture()
	left, right, bottom := page.Min.X, page.Max.X, page.Min.Y
	body := drawHead(page, t)
	if !t.Recording.Usable || len(t.Strokes) == 0 {
		drawRefusal(page.part(left, right, bottom, body-18), t)
		return canvas.Image()
	}

	pairs := pairsOf(t)
	worst := worstPairs(pairs)
	const gap = 20
	// What stands in the head takes its room from the strip, not from the panels.
	strip := min(bottom+(body-bottom)*0.445, body-gap-203)
	drawPairs(page.part(left, left+340, strip+gap, body), t, pairs)
	drawList(page.part(left+356, left+482, strip+gap, body), t, pairs, worst)
	drawTravel(page.part(left+500, right, strip+gap, body), t)
	soundEnd := right
	if v, ok := viewEvidence(t); ok {
		soundEnd = left + 482
		drawEvidence(page.part(left+500, right, bottom, strip), v)
	}
	drawSound(page.part(left, soundEnd, bottom, strip), t, pairs, clip)
	return canvas.Image()
}

// drawHead writes the take's name and its line of figures and returns the top of
// what is left of the page.
func drawHead(s sheet, t *diagnose.Take) vg.Length {
	width := s.Max.X - s.Min.X
	name, lost := drawable(baseName(t.Recording.Path))
	if name == "" {
		name = "unnamed take"
	}
	title := sans(titleSize, true, ink)
	y := s.Max.Y - vg.Points(titleSize) + 1
	s.write(title, s.Min.X, y, shorten(title, width, name))
	y -= 17

	// The line of figures must stay one line and legible.
	figures := sans(textSize+0.5, false, ink)
	line := figureLine(t)
	for figures.Font.Size > 7.6 && figures.Width(line) > width {
		figures.Font.Size -= 0.25
	}
	s.write(figures, s.Min.X, y, shortenEnd(figures, width, line))

	small := sans(captionSize, false, quiet)
	for _, note := range headNotes(t, lost) {
		y -= 12
		note, _ = drawable(note)
		s.write(small, s.Min.X, y, shortenEnd(small, width, note))
	}
	y -= 7
	s.line(rule(ink, 0.9), s.Min.X, y, s.Max.X, y)
	return y - 11
}

// figureLine is the take in one line.
func figureLine(t *diagnose.Take) string {
	if len(t.Strokes) == 0 || !t.Recording.Usable {
		return heard(t)
	}
	s := t.Summary
	med := func(f diagnose.Figure) string { return short(float(f.Median)) }
	return strings.Join([]string{
		fmt.Sprintf("%s on %s, %s", count(s.Strokes, "stroke"), count(s.Lines, "line"), rate(s.RatePerS)),
		fmt.Sprintf("median ms: lead %s, latency %s (machine's share %s), travel %s, ready time %s",
			med(s.LeadMS), med(s.LatencyMS), med(s.MachineLatencyMS), med(s.TravelMS), med(s.ReadyMS)),
		fmt.Sprintf("crowded %d, piled %d, missed spaces %d, skipped %d", s.Crowded, s.Piled, s.MissedSpaces, s.Skipped),
	}, "   |   ")
}

// short is a number of milliseconds for a line with little room.
func short(x float64) string {
	if s := ms(x); s != cannotTell {
		return s
	}
	return "?"
}

// headNotes are the further lines that a reader of the picture must not miss.
func headNotes(t *diagnose.Take, lost bool) []string {
	var notes []string
	if s := byHand(t); s != "" {
		notes = append(notes, upperFirst(s)+".")
	}
	if len(t.Findings) > 0 && t.Recording.Usable {
		var titles []string
		for _, f := range t.Findings {
			titles = append(titles, findingTitle(f))
		}
		notes = append(notes, "Evidence for: "+strings.Join(titles, "; "))
	}
	if n := len(t.Recording.Problems); n > 0 && t.Recording.Usable {
		note := "With care: " + clean(t.Recording.Problems[0].Text)
		if n > 1 {
			note += fmt.Sprintf(" (and %d more, see the summary)", n-1)
		}
		notes = append(notes, note)
	}
	if lost {
		notes = append(notes, "The name holds characters that this picture cannot draw.")
	}
	return notes
}

// drawRefusal says in words why there is no picture, and what to change.
func drawRefusal(s sheet, t *diagnose.Take) {
	head, body := "This recording cannot be measured", sans(11, false, ink)
	if t.Recording.Usable {
		head = "No stroke was heard in this recording"
	}
	y := s.Max.Y
	y = s.block(sans(16, true, alarm), y, 20, 2, head) - 10
	y = s.block(body, y, 15, 3, "No figures are given for it, and nothing on the machine should be adjusted because of it.") - 10
	for i, p := range t.Recording.Problems {
		if y < s.Min.Y+70 {
			s.block(body, y, 15, 1, fmt.Sprintf("and %d more", len(t.Recording.Problems)-i))
			break
		}
		str, _ := drawable(p.Text)
		s.write(alignY(body, draw.YTop), s.Min.X, y, "-")
		y = s.part(s.Min.X+12, s.Max.X, s.Min.Y, y).block(body, y, 15, 4, str) - 6
	}
}
