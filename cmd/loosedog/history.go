package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"loosedog/diagnose/record"
	"loosedog/report"
)

func newHistory(u *ui) *cobra.Command {
	var f shelfFlags
	cmd := &cobra.Command{
		Use:   "history FOLDER",
		Short: "Follow one machine over its takes, and what was done to it",
		Long: `History follows one machine over the takes in its folder: each measure with its
95 % interval, what was done in between as the machine's log says ('loosedog log'
writes it), and the changes that stand out from noise, with the test that says so.

Takes that have no result yet are measured first, as 'loosedog shelf' does.

Exit codes: 0 followed; 1 failed inside or stopped (what was measured until then is
kept); 2 wrong usage, or a folder that cannot be read; 3 no take can be measured.`,
		Example: `  loosedog history machines/shelf-7
  loosedog history machines/shelf-7 --png year.png
  loosedog history machines/shelf-7 --quiet --json -`,
		Args: oneFolder("history", "loosedog history machines/shelf-7"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := namesFiles(cmd, "json", "csv", "png"); err != nil {
				return err
			}
			return history(cmd.Context(), u, args[0], f)
		},
		ValidArgsFunction: folders,
	}
	f.add(cmd, "one row a take and measure")
	return cmd
}

func history(ctx context.Context, u *ui, folder string, f shelfFlags) error {
	u.quiet = f.quiet
	m, err := record.Open(folder)
	if err != nil {
		return badFile(err)
	}
	if len(m.Takes) == 0 {
		if inner, _, err := record.Machines(folder); err == nil && len(inner) > 0 {
			return usagef("loosedog history "+inner[0].Path, "%q holds folders of machines, and history follows one machine", folder)
		}
		return badFile(fmt.Errorf("no take was found in %q: put the machine's recordings there", folder))
	}
	var h *record.History
	outs := f.outputs(
		func(w io.Writer) error { return report.HistoryPNG(w, h) },
		func(w io.Writer) error { return report.HistoryJSON(w, h) },
		func(w io.Writer) error { return report.HistoryCSV(w, h) })
	machines := []*record.Machine{m}
	if err := outs.spareRecord(u, machines); err != nil {
		return err
	}
	if err := bringUp(ctx, u, machines); err != nil {
		return err
	}
	h = record.NewHistory(m)
	if err := outs.write(ctx, u); err != nil {
		return err
	}
	if !f.quiet && !outs.toStdout() {
		if err := report.HistoryText(u.out, h); err != nil {
			return inside(fmt.Errorf("cannot print the history: %w", bare(err)))
		}
	}
	if len(h.Takes) == 0 {
		return unusable(fmt.Errorf("no take of %q can be measured; record a page as the README says", folder))
	}
	return nil
}
