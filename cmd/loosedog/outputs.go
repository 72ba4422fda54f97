package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"loosedog/report"
)

// stdoutPath as an output's path is standard output.
const stdoutPath = "-"

// output is one data output: the flag that asked for it, where it goes, and
// what writes it.
type output struct {
	flag, path string
	write      func(io.Writer) error
}

// outputs are all data outputs of one run.
type outputs []output

// add adds an output, where it was asked for: where it has a path.
func (list *outputs) add(flag, path string, write func(io.Writer) error) {
	if path != "" {
		*list = append(*list, output{flag, path, write})
	}
}

// toStdout tells whether one of them goes to standard output.
func (list outputs) toStdout() bool {
	for _, o := range list {
		if o.path == stdoutPath {
			return true
		}
	}
	return false
}

// check refuses, before any work is done, what could only fail or do harm
// after it: two outputs in one place, an output over the file that is read (what
// says what that is), a picture thrown at a terminal, a place that cannot be written.
func (list outputs) check(u *ui, read, what string) error {
	first := map[string]string{}
	for _, o := range list {
		key := o.path
		if key != stdoutPath {
			key = realPath(o.path)
		}
		if other, taken := first[key]; taken {
			if key == stdoutPath {
				return usagef("give one of them a file name", "%s and %s cannot both go to standard output", other, o.flag)
			}
			return usagef("give them different names", "%s and %s would both write %q", other, o.flag, o.path)
		}
		first[key] = o.flag
		if key == stdoutPath {
			if o.flag == "--png" && isTerminal(u.out) {
				return usagef("--png note.png", "a picture cannot be shown on a terminal")
			}
			if o.flag == "--pdf" && isTerminal(u.out) {
				return usagef("--pdf sheet.pdf", "a PDF cannot be shown on a terminal")
			}
			continue
		}
		if key == realPath(read) || sameFile(o.path, read) {
			return usagef("choose another name for "+o.flag, "%s would write over %s %q", o.flag, what, read)
		}
		if err := writable(o.path); err != nil {
			return badFile(err)
		}
	}
	return nil
}

// spare refuses an output that would write over a file that is read.
func (list outputs) spare(path, what string) error {
	for _, o := range list {
		if o.path != stdoutPath && (realPath(o.path) == realPath(path) || sameFile(o.path, path)) {
			return usagef("choose another name for "+o.flag, "%s would write over %s %q", o.flag, what, path)
		}
	}
	return nil
}

// realPath is the path with links followed, as far as it exists.
func realPath(path string) string {
	abs, err := filepath.Abs(path)
	if err != nil {
		abs = path
	}
	if real, err := filepath.EvalSymlinks(abs); err == nil {
		return real
	}
	if dir, err := filepath.EvalSymlinks(filepath.Dir(abs)); err == nil {
		return filepath.Join(dir, filepath.Base(abs))
	}
	return abs
}

// sameFile tells whether two names are of one file (hard links, folders that
// ignore case).
func sameFile(a, b string) bool {
	ia, err := os.Stat(a)
	if err != nil {
		return false
	}
	ib, err := os.Stat(b)
	return err == nil && os.SameFile(ia, ib)
}

// writable tells in advance why a file could not be written at path. A pass is
// no promise: the disk may still fill up.
func writable(path string) error {
	dir := filepath.Dir(realPath(path))
	if info, err := os.Stat(path); err == nil {
		switch {
		case info.IsDir():
			return fmt.Errorf("cannot write %q: it is a folder; give a file name", path)
		case !info.Mode().IsRegular():
			return nil // a device or a pipe, written as it stands
		}
	}
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("cannot write %q: its folder does not exist; make the folder first", path)
	case err != nil:
		return fmt.Errorf("cannot write %q: %w", path, bare(err))
	case !info.IsDir():
		return fmt.Errorf("cannot write %q: %q is not a folder", path, dir)
	}
	probe, err := os.CreateTemp(dir, ".loosedog-*.part")
	if err != nil {
		return fmt.Errorf("cannot write %q: %w; choose another folder", path, bare(err))
	}
	return errors.Join(probe.Close(), os.Remove(probe.Name()))
}

// bare is the reason inside a file error, without the name it repeats.
func bare(err error) error {
	if pe, ok := errors.AsType[*fs.PathError](err); ok {
		return pe.Err
	}
	return err
}

// write makes every output in memory first and only then writes them, so that
// one that cannot be made leaves none behind; each file is written whole or
// not at all. Standard output comes last.
func (list outputs) write(ctx context.Context, u *ui) error {
	made := make([]bytes.Buffer, len(list))
	for i, o := range list {
		if err := o.write(&made[i]); err != nil {
			return inside(fmt.Errorf("cannot make what %s asks for: %w", o.flag, err))
		}
		if err := stopped(ctx); err != nil {
			return err
		}
	}
	for i, o := range list {
		if o.path == stdoutPath {
			continue
		}
		if err := report.WriteFile(o.path, from(&made[i])); err != nil {
			return inside(err)
		}
	}
	for i, o := range list {
		if o.path != stdoutPath {
			continue
		}
		if _, err := u.out.Write(made[i].Bytes()); err != nil {
			return inside(fmt.Errorf("cannot write to standard output: %w", bare(err)))
		}
	}
	return nil
}

// from hands on what has been made.
func from(b *bytes.Buffer) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := w.Write(b.Bytes())
		return err
	}
}
