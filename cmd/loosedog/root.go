package main

import (
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
)

// newRoot ties the commands together.
func newRoot(u *ui) *cobra.Command {
	root := &cobra.Command{
		Use:   "loosedog",
		Short: "Hear why a typewriter crowds, piles or skips its letters",
		Long: `Loosedog listens to a recording of typing on a manual typewriter, finds the
sounds of its escapement, and says which letters were struck faster than the
carriage could space.

Lay a phone on the machine, record a page of typing as WAV, copy it over, then:

  loosedog measure take.wav`,
		Example: `  loosedog demo
  loosedog measure take.wav
  loosedog measure take.wav --png note.png --json take.json
  loosedog compare before.wav after.wav`,
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          refuseUnknown,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetVersionTemplate("loosedog {{.Version}}\n")
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return usagef("run '"+cmd.CommandPath()+" --help' for the flags", "%w", flagError(err))
	})
	root.AddCommand(newMeasure(u), newCompare(u), newPassage(u), newServe(u), newShelf(u), newHistory(u), newLog(u), newDemo(u), newVersion(u))
	root.SetHelpCommand(newHelp())
	root.SuggestionsMinimumDistance = 2
	refuseUnknownShell(root)
	return root
}

// flagError leaves out of an error about a value which function of the language
// did not like it.
func flagError(err error) error {
	if num, ok := errors.AsType[*strconv.NumError](err); ok {
		return errors.New(strings.TrimSuffix(err.Error(), ": "+num.Error()))
	}
	return err
}

// noArguments turns away any word after a command that takes none.
func noArguments(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usagef(cmd.CommandPath(), "%s takes no argument, but got %q", cmd.Name(), args[0])
	}
	return nil
}

// refuseUnknownShell makes cobra's completion command, as the library would
// later, and has it turn away a shell that it does not know: left alone it
// prints its help and reports success.
func refuseUnknownShell(root *cobra.Command) {
	root.InitDefaultCompletionCmd("completion")
	for _, c := range root.Commands() {
		if c.Name() == "completion" {
			c.Args = refuseUnknown
			c.RunE = func(cmd *cobra.Command, _ []string) error { return cmd.Help() }
			c.SuggestionsMinimumDistance = 2
			for _, shell := range c.Commands() {
				shell.Args = noArguments
			}
		}
	}
}

// refuseUnknown turns away a word that is no command, with what was probably
// meant.
func refuseUnknown(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	word := args[0]
	if near := cmd.SuggestionsFor(word); len(near) > 0 {
		return usagef("did you mean '"+cmd.CommandPath()+" "+near[0]+"'?", "there is no command %q", word)
	}
	if _, err := os.Stat(word); err == nil || filepath.Ext(word) != "" {
		return usagef("to measure a recording: loosedog measure "+word, "there is no command %q", word)
	}
	return usagef("run '"+cmd.CommandPath()+" --help' for the commands", "there is no command %q", word)
}

// newHelp is cobra's help command, but an unknown topic is an error.
func newHelp() *cobra.Command {
	return &cobra.Command{
		Use:   "help [command]",
		Short: "Help about a command",
		RunE: func(cmd *cobra.Command, args []string) error {
			about, rest, err := cmd.Root().Find(args)
			if err != nil {
				return err
			}
			if len(rest) > 0 {
				return usagef("run 'loosedog help' for the commands", "there is no help on %q", rest[0])
			}
			about.InitDefaultHelpFlag()
			return about.Help()
		},
		ValidArgsFunction: func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			var names []string
			if len(args) == 0 {
				for _, c := range cmd.Root().Commands() {
					if c.IsAvailableCommand() {
						names = append(names, c.Name()+"\t"+c.Short)
					}
				}
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
	}
}
