package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"loosedog/diagnose/record"
)

func newLog(u *ui) *cobra.Command {
	var date string
	cmd := &cobra.Command{
		Use:   `log MACHINE "WHAT WAS DONE"`,
		Short: "Note what was done to a machine",
		Long: `Log adds a dated line to the log of a machine, log.txt in its folder. The log is
plain text: edit it as you like. A line that begins with a date is an entry, lines
below it without a date go on with it, lines that begin with # are remarks. An
entry "take NAME", with a recording's file name, says when that take was made.

History marks what the log says, and compare notes what was done between its takes.`,
		Example: `  loosedog log machines/shelf-7 "trip moved forward by half a turn"
  loosedog log machines/shelf-7 "carriage rails cleaned" --date 2026-03-02
  loosedog log machines/shelf-7 "take spring.wav" --date 2026-03-01`,
		Args: func(_ *cobra.Command, args []string) error {
			const example = `loosedog log machines/shelf-7 "carriage rails cleaned"`
			switch {
			case len(args) == 0:
				return usagef(example, "log needs a machine's folder and what was done")
			case len(args) == 1:
				return usagef(example, "log needs what was done, too")
			case len(args) > 2:
				return usagef(`loosedog log `+args[0]+` "`+strings.Join(args[1:], " ")+`"`, "what was done must stand in quotes")
			case args[0] == "":
				return usagef(example, "the folder has no name")
			case strings.TrimSpace(args[1]) == "":
				return usagef(example, "it is not said what was done")
			}
			return nil
		},
		RunE:              func(_ *cobra.Command, args []string) error { return note(u, args[0], args[1], date, time.Now()) },
		ValidArgsFunction: folders,
	}
	cmd.Flags().StringVar(&date, "date", "", "the `DATE` it was done, as 2026-11-25, where you like with a time,\n\"2026-11-25 14:30\"; now when not given")
	return cmd
}

func note(u *ui, folder, text, date string, now time.Time) error {
	info, err := os.Stat(folder)
	switch {
	case err != nil:
		return badFile(fmt.Errorf("cannot find the machine's folder %q: %w", folder, bare(err)))
	case !info.IsDir():
		return usagef("loosedog log "+filepath.Dir(folder)+" ...", "%q is no folder; the log belongs to a machine's folder", folder)
	}
	at, withTime := now, true
	if date != "" {
		withTime = strings.ContainsAny(date, ": T")
		layout := time.DateOnly
		if withTime {
			layout += " 15:04"
		}
		if at, err = time.ParseInLocation(layout, strings.Replace(date, "T", " ", 1), time.Local); err != nil {
			return usagef("--date 2026-11-25", "the date %q cannot be read", date)
		}
	}
	if err := record.Append(folder, at, withTime, text); err != nil {
		return badFile(err)
	}
	_, err = fmt.Fprintf(u.out, "noted in %s\n", filepath.Join(folder, record.LogFile))
	return inside(err)
}
