package main

// The rules for the terminal, in one place:
//
//   - Standard output carries what was asked for: the figures as text, or one
//     data output whose path is "-". Everything else goes to standard error.
//   - Lines for people start with "loosedog: error:", "loosedog: warning:",
//     "loosedog: note:" or "loosedog: hint:", begin in lower case, have no
//     period at the end, and are one line each.
//   - An error says what went wrong, with which file, and what to do. Wrong
//     usage adds one hint that can be typed as it stands.
//   - The progress bar is drawn only on a terminal, only after two seconds, and
//     is wiped away before anything else is printed.
//   - --quiet silences all but errors and the data output.
//   - Exit codes: see the constants below. Only main calls os.Exit.

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
)

// The exit codes.
const (
	exitMeasured = 0 // measured
	exitInside   = 1 // failed inside: a bug, a full disk, an interruption
	exitUsage    = 2 // wrong usage, or a file that cannot be read
	exitUnusable = 3 // read, but it cannot be measured
)

// failure is an error with the exit code it ends in and, for wrong usage, a
// hint at what was probably meant.
type failure struct {
	code int
	err  error
	hint string
}

func (f *failure) Error() string { return f.err.Error() }
func (f *failure) Unwrap() error { return f.err }

// usagef is wrong usage; the hint says what to type instead.
func usagef(hint, format string, args ...any) error {
	return &failure{code: exitUsage, err: fmt.Errorf(format, args...), hint: hint}
}

// badFile is a file that cannot be read, or a place that cannot be written.
func badFile(err error) error { return &failure{code: exitUsage, err: err} }

// unusable is a recording that was read but cannot be measured.
func unusable(err error) error { return &failure{code: exitUnusable, err: err} }

// inside is any other failure, with the failure's own code where it has one.
func inside(err error) error {
	if _, typed := errors.AsType[*failure](err); err == nil || typed {
		return err
	}
	return &failure{code: exitInside, err: err}
}

// ui speaks to people on standard error.
type ui struct {
	out, err io.Writer
	quiet    bool
}

// fail prints an error with its hint and returns the exit code. An error
// without a code comes from the command-line parser: wrong usage.
func (u *ui) fail(err error) int {
	f, ok := errors.AsType[*failure](err)
	if !ok {
		f = &failure{code: exitUsage, err: err, hint: "run 'loosedog help' for the commands"}
	}
	u.line("error", f.err.Error())
	if f.hint != "" {
		u.line("hint", f.hint)
	}
	return f.code
}

// warn and note are silent under --quiet.
func (u *ui) warn(format string, args ...any) { u.say("warning", format, args...) }
func (u *ui) note(format string, args ...any) { u.say("note", format, args...) }

func (u *ui) say(kind, format string, args ...any) {
	if !u.quiet {
		u.line(kind, fmt.Sprintf(format, args...))
	}
}

func (u *ui) line(kind, text string) {
	fmt.Fprintf(u.err, "loosedog: %s: %s\n", kind, oneLine(text))
}

// oneLine makes one line of a message, without a period at its end.
func oneLine(s string) string {
	return strings.TrimSuffix(strings.Join(strings.Fields(s), " "), ".")
}

// isTerminal tells whether w is a terminal: a character device, and not the
// one that swallows everything.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	null, err := os.Stat(os.DevNull)
	return err != nil || !os.SameFile(info, null)
}
