package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"loosedog/audio"
	"loosedog/diagnose"
	"loosedog/diagnose/record"
	"loosedog/report"
)

// shelfFlags are the flags of shelf and history as they were typed.
type shelfFlags struct {
	json, csv, png string
	quiet          bool
}

func newShelf(u *ui) *cobra.Command {
	var f shelfFlags
	cmd := &cobra.Command{
		Use:   "shelf FOLDER",
		Short: "Look over a shelf of machines: which one needs attention first",
		Long: `Shelf looks over a folder that holds one folder for each machine, and prints one
row a machine, the one that needs attention first on top: its last take, how many
letters a page come out crowded or piled at a hand that is the same for all, the
travel and what it changed by since the first take, the strongest finding, and
what was last done.

In a machine's folder every recording is a take. NAME.json beside NAME.wav holds
what was measured of it; takes without it are measured, two at a time, and again
only when the recording, the machine file's pitch, action and measures, or the way
of measuring has changed. machine.toml, where there is one, says what you know of
the machine, log.txt what was done to it ('loosedog log' writes it).

Exit codes: 0 looked over; 1 failed inside or stopped (what was measured until
then is kept); 2 wrong usage, or a folder that cannot be read; 3 no take of any
machine can be measured.`,
		Example: `  loosedog shelf machines
  loosedog shelf machines --png shelf.png --csv shelf.csv
  loosedog shelf machines --quiet --json -`,
		Args: oneFolder("shelf", "loosedog shelf machines"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := namesFiles(cmd, "json", "csv", "png"); err != nil {
				return err
			}
			return shelf(cmd.Context(), u, args[0], f)
		},
		ValidArgsFunction: folders,
	}
	f.add(cmd, "one row a machine")
	return cmd
}

// add gives a command the flags.
func (f *shelfFlags) add(cmd *cobra.Command, rows string) {
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringVar(&f.png, "png", "", "write the picture to `FILE`")
	fl.StringVar(&f.json, "json", "", "write everything as JSON to `FILE`")
	fl.StringVar(&f.csv, "csv", "", "write "+rows+" to `FILE`")
	fl.BoolVar(&f.quiet, "quiet", false, "print nothing but errors")
}

// folders completes with folders.
func folders(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return nil, cobra.ShellCompDirectiveFilterDirs
}

// oneFolder asks for exactly one folder.
func oneFolder(name, example string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		switch {
		case len(args) == 0:
			return usagef(example, "%s needs a folder", name)
		case len(args) > 1:
			return usagef(example, "%s takes one folder, not %d", name, len(args))
		case args[0] == "" || args[0] == stdoutPath:
			return usagef(example, "the folder has no name")
		}
		return nil
	}
}

func shelf(ctx context.Context, u *ui, folder string, f shelfFlags) error {
	u.quiet = f.quiet
	machines, problems, err := record.Machines(folder)
	if err != nil {
		return badFile(err)
	}
	if len(machines) == 0 {
		return badFile(fmt.Errorf("no machine was found in %q: give each machine a folder in it and put its takes there", folder))
	}
	var s *record.Shelf
	outs := f.outputs(
		func(w io.Writer) error { return report.ShelfPNG(w, s) },
		func(w io.Writer) error { return report.ShelfJSON(w, s) },
		func(w io.Writer) error { return report.ShelfCSV(w, s) })
	if err := outs.spareRecord(u, machines); err != nil {
		return err
	}
	if err := bringUp(ctx, u, machines); err != nil {
		return err
	}
	s = record.NewShelf(folder, machines, problems)
	if err := outs.write(ctx, u); err != nil {
		return err
	}
	measured := 0
	for _, r := range s.Machines {
		measured += r.Measured
	}
	if !f.quiet && !outs.toStdout() {
		if err := report.ShelfText(u.out, s); err != nil {
			return inside(fmt.Errorf("cannot print the shelf: %w", bare(err)))
		}
	}
	if measured == 0 {
		return unusable(fmt.Errorf("no take of %q can be measured; record a page as the README says", folder))
	}
	return nil
}

// outputs are the data outputs that were asked for.
func (f shelfFlags) outputs(png, json, csv func(io.Writer) error) outputs {
	var list outputs
	list.add("--png", f.png, png)
	list.add("--json", f.json, json)
	list.add("--csv", f.csv, csv)
	return list
}

// spareRecord refuses outputs that would write over anything of a record: takes,
// results, machine files, logs.
func (list outputs) spareRecord(u *ui, machines []*record.Machine) error {
	if len(list) == 0 {
		return nil
	}
	if err := list.check(u, filepath.Join(machines[0].Path, record.LogFile), "the log"); err != nil {
		return err
	}
	places := make([]string, len(list))
	for i, o := range list {
		places[i] = realPath(o.path)
	}
	for _, m := range machines {
		files := []string{record.MachineFile, record.LogFile}
		for _, t := range m.Takes {
			files = append(files, t.File, record.ResultFile(t.File))
		}
		folder := realPath(m.Path)
		for i, o := range list {
			if o.path != stdoutPath && filepath.Dir(places[i]) == folder && slices.Contains(files, filepath.Base(places[i])) {
				return usagef("choose another name for "+o.flag, "%s would write over %q of the record", o.flag, o.path)
			}
		}
	}
	return nil
}

// bringUp measures what the record lacks.
func bringUp(ctx context.Context, u *ui, machines []*record.Machine) error {
	bar := newProgress(u.err, u.quiet)
	tell := bar.phase("measuring", 1)
	done, err := work(func(done, all int) { tell(int64(done), int64(all)) }).Bring(ctx, machines)
	bar.wipe()
	for _, why := range done.Unkept {
		u.warn("a result cannot be kept, so it will be measured again next time: %s", why)
	}
	if err != nil {
		return &failure{code: exitInside, err: fmt.Errorf("stopped; %d measured and kept, %d left: run it again to go on", done.Measured, done.Left)}
	}
	return nil
}

// work is how a record's takes are measured and kept.
func work(tell func(done, all int)) record.Work {
	return record.Work{
		Measure: func(ctx context.Context, path string, opt diagnose.Options) (*diagnose.Take, error) {
			h := new(heard)
			if err := h.listen(ctx, newProgress(io.Discard, true), path, opt, false); err != nil {
				return nil, cmp.Or(errors.Unwrap(err), err)
			}
			return h.take, nil
		},
		Write: func(path string, t *diagnose.Take) error {
			return report.WriteFile(path, func(w io.Writer) error { return report.JSON(w, t) })
		},
		TimeTag: audio.TimeTag,
		Tell:    tell,
	}
}
