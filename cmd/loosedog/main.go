// Loosedog listens to a recording of typing on a manual typewriter, finds the
// sounds of its escapement, and says why letters crowd, pile or skip.
//
// This package is the command: flags, files in and out, exit codes. The work is
// done in the packages audio, onset, diagnose and report.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// run is the whole program: arguments in, an exit code out.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) (code int) {
	u := &ui{out: stdout, err: stderr}
	defer func() {
		// The last resort: a bug shall not print a page of addresses at
		// somebody who only wants to know about a typewriter.
		if r := recover(); r != nil {
			code = u.fail(&failure{code: exitInside, err: fmt.Errorf(
				"something in loosedog itself went wrong (%v); please report it with the recording", r)})
		}
	}()
	root := newRoot(u)
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	if err := root.ExecuteContext(ctx); err != nil {
		return u.fail(err)
	}
	return exitMeasured
}
