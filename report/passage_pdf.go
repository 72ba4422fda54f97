package report

import (
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"

	sheets "loosedog/diagnose/passage"
)

// Measures of the printed sheet in millimetres, on A4.
const (
	paperWide, paperHigh = 210.0, 297.0
	paperMargin          = 13.0
	pointMM              = 25.4 / 72
	typedStep            = 6.2 // from a line to type to the next
	smallStep            = 4.2 // of small print
)

// PassagePDF writes the test sheet as a PDF of one A4 page. The lines to type are
// set in the machine's own pitch, so that the typed page can be laid over them. The
// same sheet gives the same bytes.
func PassagePDF(w io.Writer, s *sheets.Sheet) error {
	pdf := fpdf.New("P", "mm", "A4", "")
	// Nothing of the day or the program's version: the same sheet, the same file.
	pdf.SetCreationDate(time.Unix(0, 0).UTC())
	pdf.SetModificationDate(time.Unix(0, 0).UTC())
	pdf.SetCatalogSort(true)
	pdf.SetTitle(sheetTitle, true)
	pdf.SetCreator("loosedog", true)
	pdf.SetMargins(paperMargin, paperMargin, paperMargin)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddPage()
	page := sheetPage{pdf: pdf, y: paperMargin}

	page.say("B", 13, 6, 0, sheetTitle)
	page.say("", 9, smallStep+1, 0, sheetLine(s))
	page.y += 1
	for i, step := range recordIt {
		page.say("", 9, smallStep, 5, fmt.Sprintf("%d.", i+1), step)
	}
	page.y += 2

	// A Courier letter is 0.6 of the type size wide: 12 points are ten letters to
	// the inch, 10 points twelve.
	letter := 25.4 / float64(s.Pitch)
	size := letter / 0.6 / pointMM
	wide := letter * float64(s.Width)
	left := (paperWide - wide) / 2
	typed := func(text string, grey int) {
		pdf.SetFont("Courier", "", size)
		pdf.SetTextColor(grey, grey, grey)
		pdf.Text(left, page.y, text)
		pdf.SetTextColor(0, 0, 0)
	}
	page.y += smallStep
	typed(s.Ruler(), 130)
	page.y += 2
	number := 0
	for _, part := range s.Parts {
		page.y += smallStep
		pdf.SetFont("Helvetica", "B", 8)
		pdf.Text(left, page.y, part.Name)
		after := left + pdf.GetStringWidth(part.Name) + 2
		pdf.SetFont("Helvetica", "", 8)
		pdf.Text(after, page.y, part.How)
		page.y += typedStep - smallStep + 2.4
		for i, l := range part.Lines {
			if i > 0 {
				page.y += typedStep
			}
			number++
			pdf.SetFont("Helvetica", "", 7)
			mark := fmt.Sprint(number)
			pdf.Text(left-pdf.GetStringWidth(mark)-1.5, page.y, mark)
			typed(l, 0)
		}
		page.y += 1.8
	}
	page.y += smallStep
	page.say("", 9, smallStep, 0, countIt)
	page.y += 1
	page.say("", 9, smallStep, 0, "Then, on the computer:")
	for _, command := range []string{linesIt(s), measureIt(s)} {
		pdf.SetFont("Courier", "", 9)
		page.y += smallStep
		pdf.Text(paperMargin+4, page.y-0.8, command)
	}
	page.fields(notes)
	if page.y > paperHigh-paperMargin/2 {
		return fmt.Errorf("cannot print the sheet: it is %.0f mm long, the page %.0f mm", page.y, paperHigh)
	}
	if err := pdf.Output(w); err != nil {
		return fmt.Errorf("cannot make the PDF: %w", err)
	}
	return nil
}

// sheetPage is a page being filled from the top; y is where it has come to.
type sheetPage struct {
	pdf *fpdf.Fpdf
	y   float64
}

// say prints text wrapped to the page, step apart; with two strings the first
// stands before the second, which is set in by so much.
func (p *sheetPage) say(style string, size, step, indent float64, text ...string) {
	p.pdf.SetFont("Helvetica", style, size)
	if len(text) == 2 {
		p.pdf.Text(paperMargin, p.y+step-1, text[0])
	}
	for _, l := range p.pdf.SplitText(text[len(text)-1], paperWide-2*paperMargin-indent) {
		p.y += step
		p.pdf.Text(paperMargin+indent, p.y-1, l)
	}
}

// fields prints names with a line to write on, two beside one another.
func (p *sheetPage) fields(names []string) {
	p.pdf.SetFont("Helvetica", "", 9)
	half := (paperWide - 2*paperMargin) / 2
	for i, n := range names {
		if i%2 == 0 {
			p.y += 7.5
		}
		x := paperMargin + float64(i%2)*half
		p.pdf.Text(x, p.y, n)
		p.pdf.Line(x+p.pdf.GetStringWidth(n)+2, p.y+0.8, x+half-4, p.y+0.8)
	}
}
