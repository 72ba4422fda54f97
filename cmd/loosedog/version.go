package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

func newVersion(u *ui) *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version",
		Args:  noArguments,
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprintf(u.out, "loosedog %s\n", version())
			return inside(err)
		},
	}
}

// stamp is the version that the Makefile writes in; empty otherwise.
var stamp string

// version is the stamp, else the module's version as the Go tool knows it, with
// the compiler and the machine it was built for.
func version() string {
	v := stamp
	if info, ok := debug.ReadBuildInfo(); ok && v == "" {
		v = info.Main.Version
	}
	if v == "" {
		v = "(devel)"
	}
	return fmt.Sprintf("%s %s %s/%s", v, runtime.Version(), runtime.GOOS, runtime.GOARCH)
}
