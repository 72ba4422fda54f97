package report

import (
	"bytes"
	"fmt"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	sheets "loosedog/diagnose/passage"
)

func newSheet(t *testing.T, width, pitch int) *sheets.Sheet {
	t.Helper()
	s, err := sheets.NewSheet(width, pitch)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestPassageTextGolden(t *testing.T) {
	s := newSheet(t, sheets.UsualWidth, 10)
	golden(t, "sheet.txt", written(t, func(w io.Writer) error { return PassageText(w, s) }))
}

func TestPassageTextHoldsEveryLine(t *testing.T) {
	for width := sheets.NarrowestWidth; width <= sheets.WidestWidth; width++ {
		s := newSheet(t, width, 12)
		got := string(written(t, func(w io.Writer) error { return PassageText(w, s) }))
		for i, l := range s.Lines() {
			if !strings.Contains(got, fmt.Sprintf("\n%3d  %s\n", i+1, l)) {
				t.Errorf("width %d: no line %d: %q", width, i+1, l)
			}
		}
		for l := range strings.Lines(got) {
			if columns(strings.TrimSuffix(l, "\n")) > textWidth {
				t.Errorf("width %d: wider than the terminal: %q", width, l)
			}
		}
		for _, command := range []string{fmt.Sprintf("loosedog passage --width %d --lines passage.txt", width), "--pitch 12"} {
			if width != sheets.UsualWidth && !strings.Contains(got, command) {
				t.Errorf("width %d: does not say %q", width, command)
			}
		}
	}
}

// pdfTool runs a program of poppler-utils on a PDF.
func pdfTool(t *testing.T, name string, args ...string) []byte {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s is not installed", name)
		}
		t.Skipf("%s is not installed (poppler-utils)", name)
	}
	out, err := exec.Command(name, args...).Output()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return out
}

// The PDF is read back by another program: one page, every line to type, none of
// it beyond the paper, letters at the machine's pitch.
func TestPassagePDF(t *testing.T) {
	for _, c := range []struct{ width, pitch int }{{45, 10}, {60, 12}, {72, 10}, {72, 12}} {
		t.Run(fmt.Sprintf("%d at %d", c.width, c.pitch), func(t *testing.T) {
			s := newSheet(t, c.width, c.pitch)
			pdf := written(t, func(w io.Writer) error { return PassagePDF(w, s) })
			if again := written(t, func(w io.Writer) error { return PassagePDF(w, s) }); !bytes.Equal(pdf, again) {
				t.Error("the same sheet gives another file")
			}
			path := filepath.Join(t.TempDir(), "sheet.pdf")
			if err := os.WriteFile(path, pdf, 0o666); err != nil {
				t.Fatal(err)
			}
			words := strings.Join(strings.Fields(string(pdfTool(t, "pdftotext", "-layout", path, "-"))), " ")
			for i, l := range s.Lines() {
				if !strings.Contains(words, strings.Join(strings.Fields(l), " ")) {
					t.Errorf("no line %d: %q", i+1, l)
				}
			}
			for _, step := range recordIt {
				if !strings.Contains(words, strings.Join(strings.Fields(step), " ")) {
					t.Errorf("does not say %q", step)
				}
			}
			const dpi = 120
			img, err := png.Decode(bytes.NewReader(pdfTool(t, "pdftoppm", "-r", fmt.Sprint(dpi), "-gray", "-png", "-singlefile", path)))
			if err != nil {
				t.Fatal(err)
			}
			b := img.Bounds()
			dark := func(x, y int) bool { r, _, _, _ := img.At(x, y).RGBA(); return r < 0x6000 }
			margin := dpi * 6 / 25
			for y := b.Min.Y; y < b.Max.Y; y++ {
				for x := b.Min.X; x < b.Max.X; x++ {
					if (x < margin || x >= b.Max.X-margin || y < margin || y >= b.Max.Y-margin) && dark(x, y) {
						t.Fatalf("ink at %d, %d, beyond the margin", x, y)
					}
				}
			}
			inch := func(column float64) float64 {
				return (paperWide/25.4-float64(c.width)/float64(c.pitch))/2 + column/float64(c.pitch)
			}
			// Most lines of the sheet's middle are full to the last letter.
			inked := func(from, to float64) (n int) {
				for y := b.Max.Y / 2; y < b.Max.Y*2/3; y++ {
					for x := int(from * dpi); x < int(to*dpi); x++ {
						if dark(x, y) {
							n++
						}
					}
				}
				return n
			}
			if inked(inch(float64(c.width)-1), inch(float64(c.width))) == 0 {
				t.Error("no letter in the last column: the pitch is not the machine's")
			}
			if n := inked(inch(float64(c.width)+0.1), inch(float64(c.width)+1)); n > 0 {
				t.Error("a letter beyond the last column: the pitch is not the machine's")
			}
		})
	}
}
