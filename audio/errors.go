package audio

import (
	"errors"
	"fmt"
	"io/fs"
)

// ErrUnreadable holds (errors.Is) for every error that is the file's fault:
// it is not there, not a recording, broken, or in a form that cannot be read.
var ErrUnreadable = errors.New("cannot be read")

// UnreadableError says in one line which file cannot be read, why, and what to
// do about it.
type UnreadableError struct {
	Path   string
	Reason string // what is wrong, in lower case
	Hint   string // what to do; may be empty
	Err    error  // the cause; may be nil
}

func (e *UnreadableError) Error() string {
	s := fmt.Sprintf("cannot read %q: %s", e.Path, e.Reason)
	if e.Hint != "" {
		s += "; " + e.Hint
	}
	return s
}

// Unwrap gives the cause.
func (e *UnreadableError) Unwrap() error { return e.Err }

// Is makes ErrUnreadable hold for every UnreadableError.
func (e *UnreadableError) Is(target error) bool { return target == ErrUnreadable }

// unreadable makes an UnreadableError without a path; the caller that knows the
// path fills it in (see atPath).
func unreadable(hint, format string, args ...any) *UnreadableError {
	return &UnreadableError{Reason: fmt.Sprintf(format, args...), Hint: hint}
}

// atPath names the file in an error that was made without knowing it.
func atPath(path string, err error) error {
	var u *UnreadableError
	if errors.As(err, &u) && u.Path == "" {
		u.Path = path
	}
	return err
}

// openError turns what the system says about a path into our own line.
func openError(path string, err error) error {
	u := &UnreadableError{Path: path, Err: err}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		u.Reason, u.Hint = "there is no such file", "check the name"
	case errors.Is(err, fs.ErrPermission):
		u.Reason, u.Hint = "permission denied", "ask for leave to read it, or copy it to your own folder"
	default:
		// *PathError repeats the path; its inner error is enough.
		var p *fs.PathError
		if errors.As(err, &p) {
			err = p.Err
		}
		u.Reason = oneLine(err.Error())
	}
	return u
}
