package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"loosedog/diagnose"
	"loosedog/diagnose/compare"
	"loosedog/diagnose/record"
	"loosedog/report"
)

// compareFlags are the flags of compare as they were typed.
type compareFlags struct {
	told
	before, after   []string
	done, date      string
	json, png, note string
	quiet           bool
}

func newCompare(u *ui) *cobra.Command {
	var f compareFlags
	cmd := &cobra.Command{
		Use:   "compare BEFORE AFTER [MORE...]",
		Short: "Tell whether an adjustment helped",
		Long: `Compare sets takes from before an adjustment against takes from after it, on
the same machine, and says whether it helped, whoever typed them and however
carefully: it compares what is the machine's own, and lets both machines "type"
the same page.

A take is a recording, or the JSON that measure --json wrote. The first is from
before, the others are from after; with several from before, name both sides
with --before and --after.

The figures go to the terminal. Each output flag takes a path, or - for standard
output; then the figures are not printed. A note's picture goes where --png says,
else beside the note, under its name with .png.

Exit codes: 0 compared (whatever the verdict); 1 failed inside; 2 wrong usage, or
a file that cannot be read; 3 a take cannot be measured.`,
		Example: `  loosedog compare before.wav after.wav
  loosedog compare before.json after.json --note repair.md --done "trip moved forward by half a turn"
  loosedog compare --before monday.wav,tuesday.wav --after friday.wav --png note.png
  loosedog compare before.wav after.wav --quiet --json -`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := namesFiles(cmd, "json", "png", "note", "text", "machine"); err != nil {
				return err
			}
			f.said = cmd.Flags().Changed
			if err := f.sides(args); err != nil {
				return err
			}
			return compareTakes(cmd.Context(), u, f)
		},
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return append(slices.Clone(takeSuffixes), "json"), cobra.ShellCompDirectiveFilterFileExt
		},
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringSliceVar(&f.before, "before", nil, "the takes from before, `A,B,...`, in place of BEFORE")
	fl.StringSliceVar(&f.after, "after", nil, "the takes from after, `C,D,...`, in place of AFTER")
	fl.StringVar(&f.png, "png", "", "write the picture of both to `FILE`")
	fl.StringVar(&f.json, "json", "", "write everything as JSON to `FILE`")
	fl.StringVar(&f.note, "note", "", "write a repair note in Markdown, with the picture, to `FILE`")
	fl.StringVar(&f.done, "done", "", "what was done to the machine, in your `WORDS`; when not given, what the\nlog beside the takes says was done between them")
	fl.StringVar(&f.date, "date", "", "the note's `DATE`; today when not given")
	fl.StringVar(&f.text, "text", "", "the text that was typed, as a `FILE`: then single letters are compared, too")
	fl.StringVar(&f.machine, "machine", "", "what you know of the machine, a machine `FILE`; see the README")
	fl.IntVar(&f.pitch, "pitch", 10, "letters to the inch: 10 or 12")
	fl.StringVar(&f.action, "action", string(diagnose.FullSpace), "how the carriage moves: full, half or down; see measure")
	fl.BoolVar(&f.quiet, "quiet", false, "print nothing but errors")
	offer(cmd, "pitch", "10", "12")
	offer(cmd, "action", actions...)
	return cmd
}

// sides sorts out which takes are from before and which from after.
func (f *compareFlags) sides(args []string) error {
	const example = "loosedog compare before.wav after.wav"
	named := len(f.before) > 0 || len(f.after) > 0
	switch {
	case named && len(args) > 0:
		return usagef("loosedog compare --before a.wav,b.wav --after c.wav", "takes are named both with and without --before and --after, as %q is", args[0])
	case named && (len(f.before) == 0 || len(f.after) == 0):
		return usagef("loosedog compare --before a.wav,b.wav --after c.wav", "--before and --after belong together")
	case !named && len(args) == 0:
		return usagef(example, "compare needs a take from before and one from after")
	case !named && len(args) == 1:
		return usagef("loosedog compare "+args[0]+" after.wav", "compare needs a take from after, too")
	case !named:
		f.before, f.after = args[:1], args[1:]
	}
	seen := map[string]string{}
	for _, path := range f.takes() {
		switch {
		case path == stdoutPath:
			return usagef("save it to a file first, then: "+example, "a take is read more than once, so it cannot come from standard input")
		case path == "":
			return usagef(example, "a take has no name")
		}
		if first, twice := seen[realPath(path)]; twice {
			return usagef(example, "%q is given twice, and a take compared with itself says nothing", first)
		}
		seen[realPath(path)] = path
	}
	return nil
}

func (f *compareFlags) takes() []string { return append(slices.Clone(f.before), f.after...) }

// check looks for flags that make no sense.
func (f *compareFlags) check() error {
	if err := f.told.check(); err != nil {
		return err
	}
	if f.note == stdoutPath && f.png == "" {
		return usagef("--note repair.md, or give --png a name, too", "a note on standard output leaves no place for its picture")
	}
	return nil
}

// compared is a comparison on its way from files to figures.
type compared struct {
	sides  [2][]*diagnose.Take
	said   *diagnose.Machine // of the machine file given here, nil without one
	result *compare.Comparison
}

// outputs are the data outputs that were asked for. A note has its picture.
func (f *compareFlags) outputs(c *compared) outputs {
	var list outputs
	png := f.png
	if f.note != "" && png == "" {
		png = strings.TrimSuffix(f.note, filepath.Ext(f.note)) + ".png"
	}
	list.add("--png", png, func(w io.Writer) error { return report.ComparisonPNG(w, c.result, c.sides[0], c.sides[1]) })
	list.add("--json", f.json, func(w io.Writer) error { return report.ComparisonJSON(w, c.result) })
	list.add("--note", f.note, func(w io.Writer) error {
		opt := report.NoteOptions{Date: f.date, Machine: c.machine()}
		if png != stdoutPath {
			opt.Picture = seenFrom(f.note, png)
		}
		return report.ComparisonNote(w, c.result, opt)
	})
	return list
}

// seenFrom is a file's path as a note names it: by the folder that the note is in.
func seenFrom(note, path string) string {
	if note == stdoutPath {
		return path
	}
	from, err := filepath.Abs(filepath.Dir(note))
	if err != nil {
		return path
	}
	to, err := filepath.Abs(path)
	if err != nil {
		return path
	}
	rel, err := filepath.Rel(from, to)
	if err != nil {
		return path
	}
	return filepath.ToSlash(rel)
}

// machine is what the machine file calls the machine, else those of the takes;
// empty where none does.
func (c *compared) machine() string {
	files := []*diagnose.Machine{c.said}
	for _, takes := range c.sides {
		for _, t := range takes {
			files = append(files, t.Machine)
		}
	}
	for _, m := range files {
		if m == nil {
			continue
		}
		var words []string
		for _, s := range []string{m.Name, m.Number, m.Colour} {
			if s != "" && !slices.Contains(words, s) {
				words = append(words, s)
			}
		}
		if len(words) > 0 {
			return strings.Join(words, ", ")
		}
	}
	return ""
}

func compareTakes(ctx context.Context, u *ui, f compareFlags) error {
	u.quiet = f.quiet
	if err := f.check(); err != nil {
		return err
	}
	if f.date == "" {
		f.date = time.Now().Format(time.DateOnly)
	}
	c := new(compared)
	outs := f.outputs(c)
	if err := outs.check(u, f.before[0], "the recording"); err != nil {
		return err
	}
	for _, path := range f.takes() {
		if err := outs.spare(path, "the take"); err != nil {
			return err
		}
	}
	opt, err := f.options(outs)
	if err != nil {
		return err
	}
	c.said = opt.Machine
	var bad error // the first take that cannot be measured
	recordings := 0
	for i, paths := range [][]string{f.before, f.after} {
		for _, path := range paths {
			t, why, err := f.take(ctx, u, path, opt, &recordings)
			if err != nil {
				return err
			}
			c.sides[i] = append(c.sides[i], t)
			if bad == nil {
				bad = why
			}
		}
	}
	if recordings == 0 {
		for _, flag := range []string{"text", "action", "pitch"} {
			if f.said(flag) {
				u.warn("--%s counts for recordings only; these takes were measured before", flag)
			}
		}
	}
	if f.done == "" {
		if done := record.DoneBetween(f.before, f.after); done != "" {
			f.done = done + " (by the log)"
		}
	}
	c.result = compare.Takes(c.sides[0], c.sides[1], compare.Options{Action: opt.Action, Done: f.done})
	if err := stopped(ctx); err != nil {
		return err
	}
	if err := outs.write(ctx, u); err != nil {
		return err
	}
	if bad != nil {
		return bad
	}
	if f.quiet || outs.toStdout() {
		return nil
	}
	if err := report.ComparisonText(u.out, c.result); err != nil {
		return inside(fmt.Errorf("cannot print the figures: %w", bare(err)))
	}
	return nil
}

// take reads one take: a JSON of measure, or a recording, which it measures. why is
// the error of one that was read but cannot be measured.
func (f *compareFlags) take(ctx context.Context, u *ui, path string, opt diagnose.Options, recordings *int) (t *diagnose.Take, why, err error) {
	measured, err := isJSON(path)
	if err != nil {
		return nil, nil, err
	}
	if measured {
		file, err := os.Open(path)
		if err != nil {
			return nil, nil, badFile(fmt.Errorf("cannot read %q: %w", path, bare(err)))
		}
		defer file.Close()
		t, err = diagnose.ReadTake(file)
		if err != nil {
			return nil, nil, badFile(fmt.Errorf("cannot use %q: %w; give a recording, or what measure --json wrote", path, bare(err)))
		}
		if !t.Recording.Usable {
			why = unusable(fmt.Errorf("%q cannot be compared: its recording could not be measured; record it again as the README says", path))
		}
		return t, why, nil
	}
	*recordings++
	h := new(heard)
	bar := newProgress(u.err, f.quiet)
	err = h.listen(ctx, bar, path, opt, false)
	bar.wipe()
	if err != nil {
		return nil, nil, err
	}
	h.take.Asked = opt.Asked()
	if !h.take.Recording.Usable {
		return h.take, h.whyNot(path), nil
	}
	return h.take, nil, nil
}

// isJSON tells whether a file holds a JSON object rather than a recording: its
// first character, blanks aside, is a brace. A file that is not there is left to
// whoever reads recordings to complain of.
func isJSON(path string) (bool, error) {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return false, nil
	}
	f, err := os.Open(path)
	if err != nil {
		return false, nil
	}
	defer f.Close()
	head := make([]byte, 512)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
		return false, badFile(fmt.Errorf("cannot read %q: %w", path, bare(err)))
	}
	head = bytes.TrimLeft(head[:n], " \t\r\n\ufeff")
	return len(head) > 0 && head[0] == '{', nil
}
