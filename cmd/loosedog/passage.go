package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"loosedog/audio"
	"loosedog/diagnose/passage"
	"loosedog/report"
)

// mostCounted is how many crowded or piled letters a page can have at most: more
// than any page has letters.
const mostCounted = 5000

// pacerBits is the sample width of the pacer's clicks.
const pacerBits = 16

// passageFlags are the flags of passage as they were typed.
type passageFlags struct {
	width, pitch      int
	pdf, lines, pacer string
	rate              float64
	rateGiven         bool
}

func newPassage(u *ui) *cobra.Command {
	var f passageFlags
	cmd := &cobra.Command{
		Use:   "passage",
		Short: "Print a test sheet to type from",
		Long: `Passage prints a sheet to type for a recording: full lines of ordinary text, of
hands in turn, of type bars from both ends, of one finger on two keys, of doubled
letters and rare ones, a slow, a brisk and a staccato line and one for the space
bar, with how to record it.

The sheet goes to the terminal; with --pdf, --lines or --pacer it goes there
instead. Give the lines that you typed to 'loosedog measure --text'.`,
		Example: `  loosedog passage
  loosedog passage --pdf sheet.pdf --lines passage.txt
  loosedog passage --width 72 --pitch 12 --pdf sheet.pdf
  loosedog passage --pacer pacer.wav --rate 4.5`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := namesFiles(cmd, "pdf", "lines", "pacer"); err != nil {
				return err
			}
			f.rateGiven = cmd.Flags().Changed("rate")
			return printPassage(cmd.Context(), u, f)
		},
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.IntVar(&f.width, "width", passage.UsualWidth, fmt.Sprintf("letters to a full line, %d to %d", passage.NarrowestWidth, passage.WidestWidth))
	fl.IntVar(&f.pitch, "pitch", 10, "letters to the inch: 10 or 12")
	fl.StringVar(&f.pdf, "pdf", "", "write the sheet for a printer to `FILE`")
	fl.StringVar(&f.lines, "lines", "", "write only the lines to type, for measure --text, to `FILE`")
	fl.StringVar(&f.pacer, "pacer", "", "write a click track for headphones, a WAV, to `FILE`")
	fl.Float64Var(&f.rate, "rate", 4, fmt.Sprintf("strokes a second of the pacer, %g to %g; the slow line goes at half\nof it, the brisk one half as fast again", passage.SlowestRate, passage.FastestRate))
	offer(cmd, "pitch", "10", "12")
	return cmd
}

// check looks for flags that make no sense.
func (f passageFlags) check() error {
	switch {
	case f.width < passage.NarrowestWidth || f.width > passage.WidestWidth:
		return usagef(fmt.Sprintf("--width %d to --width %d; 60 is the usual line", passage.NarrowestWidth, passage.WidestWidth), "a line of %d letters cannot be had", f.width)
	case f.pitch != 10 && f.pitch != 12:
		return usagef("--pitch 10 for pica, --pitch 12 for elite", "a pitch of %d is not known", f.pitch)
	case f.rateGiven && f.pacer == "":
		return usagef(fmt.Sprintf("loosedog passage --pacer pacer.wav --rate %g", f.rate), "--rate is the pacer's, and there is no --pacer")
	case !(f.rate >= passage.SlowestRate && f.rate <= passage.FastestRate):
		return usagef("--rate 4 is a calm hand, --rate 8 a fast one", "a rate of %g strokes a second cannot be had", f.rate)
	case f.pacer == stdoutPath:
		return usagef("--pacer pacer.wav", "the pacer needs a file of its own")
	}
	return nil
}

func printPassage(ctx context.Context, u *ui, f passageFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	s, err := passage.NewSheet(f.width, f.pitch)
	if err != nil {
		return inside(err)
	}
	var outs outputs
	outs.add("--pdf", f.pdf, func(w io.Writer) error { return report.PassagePDF(w, s) })
	outs.add("--lines", f.lines, func(w io.Writer) error {
		_, err := io.WriteString(w, s.Text())
		return err
	})
	places := slices.Clip(outs)
	places.add("--pacer", f.pacer, nil)
	if err := places.check(u, "", "the recording"); err != nil {
		return err
	}
	if f.pacer != "" {
		beats, err := s.Plan(f.rate)
		if err != nil {
			return inside(err)
		}
		if err := audio.WriteWAV(f.pacer, passage.ClickRate, pacerBits, passage.Clicks(beats)); err != nil {
			return inside(err)
		}
	}
	if len(places) == 0 {
		if err := report.PassageText(u.out, s); err != nil {
			return inside(fmt.Errorf("cannot print the sheet: %w", bare(err)))
		}
		return nil
	}
	if err := outs.write(ctx, u); err != nil {
		return err
	}
	if places.toStdout() {
		return nil
	}
	for _, o := range places {
		fmt.Fprintf(u.out, "%s: %s\n", o.path, passageUse[o.flag])
	}
	return nil
}

// passageUse says what each file is for.
var passageUse = map[string]string{
	"--pdf":   "print it at 100 % (not fitted to the page) and type from it",
	"--lines": "give it to 'loosedog measure --text' with the take",
	"--pacer": "play it in headphones, so that the phone does not hear it",
}

// readText reads the text that was typed and makes sure that it can be used, so
// that nobody waits for a measurement that then goes without it.
func readText(path string) (string, error) {
	if path == stdoutPath {
		return "", usagef("save it to a file first, then: --text passage.txt", "the text cannot come from standard input")
	}
	// Stat first: to open a named pipe would wait for its writer.
	info, err := os.Stat(path)
	if err == nil && !info.Mode().IsRegular() {
		return "", badFile(fmt.Errorf("cannot read the text %q: it is not a plain file; give the file that holds what was typed", path))
	}
	if errors.Is(err, fs.ErrNotExist) {
		return "", badFile(fmt.Errorf("cannot read the text %q: there is no such file; check the name", path))
	}
	if err != nil {
		return "", badFile(fmt.Errorf("cannot read the text %q: %w", path, bare(err)))
	}
	f, err := os.Open(path)
	if err != nil {
		return "", badFile(fmt.Errorf("cannot read the text %q: %w", path, bare(err)))
	}
	defer f.Close()
	text, err := passage.Read(f)
	if err != nil {
		return "", badFile(fmt.Errorf("cannot read the text %q: %w", path, bare(err)))
	}
	return text.String(), nil
}
