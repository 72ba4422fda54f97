package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"loosedog/audio"
	"loosedog/diagnose"
	"loosedog/report"
)

// takeSuffixes are offered by shell completion; any other file is tried too.
var takeSuffixes = []string{"wav", "m4a", "mp3", "ogg", "opus", "flac", "caf", "amr", "webm"}

// measureFlags are the flags of measure as they were typed.
type measureFlags struct {
	told
	png, json, csv, labels string
	html, note             string
	pageCount              *int
	quiet, verbose         bool
}

func newMeasure(u *ui) *cobra.Command {
	var f measureFlags
	var counted int
	cmd := &cobra.Command{
		Use:   "measure TAKE",
		Short: "Measure a recording of typing",
		Long: `Measure reads a recording of typing, finds the strikes, trips, releases and
landings in it, and lists the pairs of letters that were struck faster than the
carriage could space.

TAKE is a WAV file; anything else is read through ffmpeg when that is installed.
The figures go to the terminal. Each output flag takes a path, or - for standard
output; then the figures are not printed.

Exit codes: 0 measured; 1 failed inside; 2 wrong usage, or a file that cannot be
read; 3 read, but it cannot be measured (no typing in it, clipped, clicks
buried): the message says what to change, and --json still writes what is sure.`,
		Example: `  loosedog measure take.wav
  loosedog measure take.wav --png note.png
  loosedog measure take.wav --json take.json --csv take.csv --labels take.txt
  loosedog measure take.wav --html take.html
  loosedog measure take.wav --text passage.txt --page-count 7
  loosedog measure take.wav --pitch 12 --action half
  loosedog measure take.wav --machine shelf-7.toml
  loosedog measure take.wav --quiet --json -`,
		Args: oneTake,
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := namesFiles(cmd, "png", "json", "csv", "labels", "note", "html", "text", "machine"); err != nil {
				return err
			}
			if cmd.Flags().Changed("page-count") {
				f.pageCount = &counted
			}
			f.said = cmd.Flags().Changed
			return measure(cmd.Context(), u, args[0], f)
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return takeSuffixes, cobra.ShellCompDirectiveFilterFileExt
		},
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringVar(&f.png, "png", "", "write the timing picture to `FILE`")
	fl.StringVar(&f.json, "json", "", "write everything as JSON to `FILE`")
	fl.StringVar(&f.csv, "csv", "", "write one row a stroke to `FILE`")
	fl.StringVar(&f.labels, "labels", "", "write a label track for sound editors to `FILE`")
	fl.StringVar(&f.note, "note", "", "write a repair note in Markdown to `FILE`")
	fl.StringVar(&f.html, "html", "", "write a page that opens in any browser, with the sound of the\nflagged pairs, to `FILE`")
	fl.IntVar(&f.pitch, "pitch", 10, "letters to the inch: 10 or 12")
	fl.StringVar(&f.action, "action", string(diagnose.FullSpace), "how the carriage moves: full (all on the release), half (half on\nthe trip, half on the release) or down (all on the trip)")
	fl.StringVar(&f.machine, "machine", "", "what you know of the machine, a machine `FILE`; see the README")
	fl.StringVar(&f.text, "text", "", "the text that was typed, a plain text `FILE`; 'loosedog passage'\nprints one")
	fl.IntVar(&counted, "page-count", 0, "`N` crowded or piled letters were counted on the paper: do the two\nagree?")
	fl.BoolVar(&f.quiet, "quiet", false, "print nothing but errors")
	fl.BoolVar(&f.verbose, "verbose", false, "print what the take taught about its own sounds, too")
	offer(cmd, "pitch", "10", "12")
	offer(cmd, "action", actions...)
	return cmd
}

// offer completes a flag with fixed words.
func offer(cmd *cobra.Command, flag string, words ...string) {
	// The error means that there is no such flag: a slip that the tests see.
	_ = cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp))
}

// namesFiles refuses an output flag that was given an empty name, as a script
// does whose variable is empty: nobody would miss the file before it is wanted.
func namesFiles(cmd *cobra.Command, flags ...string) error {
	for _, name := range flags {
		if fl := cmd.Flags().Lookup(name); fl != nil && fl.Changed && fl.Value.String() == "" {
			return usagef("give --"+name+" a file name, or leave it out", "--%s names no file", name)
		}
	}
	return nil
}

// oneTake asks for exactly one recording.
func oneTake(_ *cobra.Command, args []string) error {
	switch {
	case len(args) == 0:
		return usagef("loosedog measure take.wav", "measure needs a recording")
	case len(args) > 1:
		return usagef("measure them one after the other: loosedog measure "+args[0],
			"measure takes one recording, not %d", len(args))
	}
	return nil
}

// check looks for flags that make no sense, before any work is done.
func (f measureFlags) check(take string) error {
	told := f.told.check()
	switch {
	case take == "-":
		return usagef("save it to a file first, then: loosedog measure take.wav",
			"a take is read more than once, so it cannot come from standard input")
	case take == "":
		return usagef("loosedog measure take.wav", "the recording has no name")
	case told != nil:
		return told
	case f.pageCount != nil && (*f.pageCount < 0 || *f.pageCount > mostCounted):
		return usagef("count the letters of the page that stand too close: --page-count 7", "a page with %d such letters is not possible", *f.pageCount)
	case f.quiet && f.verbose:
		return usagef("leave one of them out", "--quiet and --verbose cannot both be had")
	}
	return nil
}

// outputs are the data outputs that were asked for.
func (f measureFlags) outputs(h *heard) outputs {
	var list outputs
	list.add("--png", f.png, func(w io.Writer) error { return report.PNG(w, h.take, h.clip) })
	list.add("--json", f.json, func(w io.Writer) error { return report.JSON(w, h.take) })
	list.add("--csv", f.csv, func(w io.Writer) error { return report.CSV(w, h.take) })
	list.add("--labels", f.labels, func(w io.Writer) error { return report.Labels(w, h.take) })
	list.add("--note", f.note, func(w io.Writer) error { return report.Markdown(w, h.take) })
	list.add("--html", f.html, func(w io.Writer) error { return report.HTML(w, h.take, h.sound) })
	return list
}

func measure(ctx context.Context, u *ui, take string, f measureFlags) error {
	u.quiet = f.quiet
	if err := f.check(take); err != nil {
		return err
	}
	h := new(heard)
	outs := f.outputs(h)
	if err := outs.check(u, take, "the recording"); err != nil {
		return err
	}
	opt, err := f.options(outs)
	if err != nil {
		return err
	}
	opt.PageCount = f.pageCount
	bar := newProgress(u.err, f.quiet)
	err = h.listen(ctx, bar, take, opt, f.png != "")
	if err == nil {
		h.take.Asked = opt.Asked()
	}
	if err == nil && f.html != "" {
		h.sound, err = readPageSound(ctx, take, h.quality.Mix, h.take)
		err = failed(ctx, err)
	}
	bar.wipe()
	if err != nil {
		return err
	}
	if f.verbose {
		if err := h.tell(u.err); err != nil {
			return inside(err)
		}
	}
	if err := outs.write(ctx, u); err != nil {
		return err
	}
	if !h.take.Recording.Usable {
		if f.verbose {
			h.alsoWrong(u)
		}
		return h.whyNot(take)
	}
	if f.quiet {
		return nil
	}
	if outs.toStdout() {
		// The figures would have named these.
		for _, p := range h.take.Recording.Problems {
			u.warn("%s", p.Text)
		}
		return nil
	}
	if err := report.Text(u.out, h.take, report.TextOptions{}); err != nil {
		return inside(fmt.Errorf("cannot print the figures: %w", bare(err)))
	}
	return nil
}

// whyNot is the error for a take that was read but cannot be measured.
func (h *heard) whyNot(take string) error {
	why, ok := h.fatal()
	if !ok {
		return unusable(fmt.Errorf("%q cannot be measured: no typing was found in it; record again as the README says", take))
	}
	if slices.Contains(spoilers, why.Code) {
		return unusable(fmt.Errorf("%q cannot be measured: no typing was heard in it, and %s", take, lowerFirst(why.Text)))
	}
	return unusable(fmt.Errorf("%q cannot be measured: %s", take, lowerFirst(why.Text)))
}

// spoilers are the problems of a recording, the worst first, behind which no
// typing can be heard. Where one of them stands beside "no-typing" it says what
// to change: a take that is clipped away gains nothing from a phone laid nearer.
var spoilers = []string{"empty", "silent", "too-short", "clipped", "too-quiet"}

// fatal is the problem that makes a take unusable: the spoiler, where no typing
// was heard, else the first that the listening found, else the first of the
// recording.
func (h *heard) fatal() (p audio.Problem, ok bool) {
	if found := h.sounds.Problems; len(found) == 0 || found[0].Code == "no-typing" {
		for _, code := range spoilers {
			for _, p := range h.take.Recording.Problems {
				if p.Code == code {
					return p, true
				}
			}
		}
	}
	for _, list := range [][]audio.Problem{h.sounds.Problems, h.take.Recording.Problems} {
		if len(list) > 0 {
			return list[0], true
		}
	}
	return p, false
}

// alsoWrong notes every other problem of a take that cannot be measured.
func (h *heard) alsoWrong(u *ui) {
	fatal, _ := h.fatal()
	for _, p := range h.take.Recording.Problems {
		if p.Code != fatal.Code {
			u.note("%s", p.Text)
		}
	}
}

// lowerFirst lets a sentence go on after a colon.
func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
