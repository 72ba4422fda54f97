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
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprintf(u.out, "loosedog %s\n", version())
			return inside(err)
		},
	}
}

// version is the module's version as the Go tool stamped it, with the compiler
// and the machine it was built for.
func version() string {
	v := "(devel)"
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		v = info.Main.Version
	}
	return fmt.Sprintf("%s %s %s/%s", v, runtime.Version(), runtime.GOOS, runtime.GOARCH)
}
