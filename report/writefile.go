package report

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// newFileMode is what a file that did not exist before is given, less the
// process's umask.
const newFileMode fs.FileMode = 0o666

// WriteFile puts what write writes into the file at path, whole or not at all:
// it goes to a temporary file in the same folder first, which takes path's
// place only when write has succeeded and everything is on the disk. When
// anything fails the temporary file is removed and an older file at path is
// left as it was. A file that is replaced keeps its permission bits; where path
// is a symbolic link, the file that it points to is replaced. The path "-" is
// standard output; devices and pipes are written directly, since they cannot be
// replaced.
//
// Errors name the path and what to do; those of write are returned as they are.
func WriteFile(path string, write func(io.Writer) error) error {
	if path == "-" {
		return writeTo(os.Stdout, "standard output", write)
	}
	if path == "" {
		return errors.New("cannot write: no file name given")
	}
	target, mode, direct, err := whereToWrite(path)
	if err != nil {
		return err
	}
	if direct {
		f, err := os.OpenFile(target, os.O_WRONLY, 0)
		if err != nil {
			return cannotWrite(path, err)
		}
		return errors.Join(writeTo(f, path, write), f.Close())
	}
	return replace(path, target, mode, write)
}

// whereToWrite finds the file that path stands for, the mode it is to have (0
// for the mode of a new file), and whether it has to be written directly.
func whereToWrite(path string) (target string, mode fs.FileMode, direct bool, err error) {
	target = path
	if real, err := filepath.EvalSymlinks(path); err == nil {
		target = real
	}
	info, err := os.Stat(target)
	switch {
	case err == nil && info.IsDir():
		return "", 0, false, fmt.Errorf("cannot write %q: it is a folder; give a file name", path)
	case err == nil && !info.Mode().IsRegular():
		return target, 0, true, nil
	case err == nil && info.Mode().Perm()&0o200 == 0:
		// Renaming over it would succeed, but its owner has asked for it to stay.
		return "", 0, false, fmt.Errorf("cannot write %q: the file is read-only; choose another name or make it writable", path)
	case err == nil:
		return target, info.Mode().Perm(), false, nil
	case errors.Is(err, fs.ErrNotExist):
		// A name that ends in a separator means a folder.
		if os.IsPathSeparator(path[len(path)-1]) {
			return "", 0, false, fmt.Errorf("cannot write %q: it is a folder; give a file name", path)
		}
		return target, 0, false, nil
	default:
		return "", 0, false, cannotWrite(path, err)
	}
}

// replace writes a temporary file beside target and renames it onto target.
func replace(path, target string, mode fs.FileMode, write func(io.Writer) error) error {
	f, err := createBeside(target, mode)
	if err != nil {
		return cannotWrite(path, err)
	}
	// Cleaned up on every way out but success, a panic of write included.
	open, done := true, false
	defer func() {
		if open {
			f.Close()
		}
		if !done {
			os.Remove(f.Name())
		}
	}()
	if err := writeTo(f, path, write); err != nil {
		return err
	}
	if mode != 0 {
		// The umask may have taken bits that the old file had.
		if err := f.Chmod(mode); err != nil {
			return cannotWrite(path, err)
		}
	}
	if err := f.Sync(); err != nil {
		return cannotWrite(path, err)
	}
	open = false
	if err := f.Close(); err != nil {
		return cannotWrite(path, err)
	}
	if err := os.Rename(f.Name(), target); err != nil {
		return cannotWrite(path, err)
	}
	done = true
	return nil
}

// createBeside makes a new, empty file in target's folder. os.CreateTemp would
// give every output mode 0600, closed even to those whom the umask lets in.
func createBeside(target string, mode fs.FileMode) (*os.File, error) {
	if mode == 0 {
		mode = newFileMode
	}
	dir, base := filepath.Split(target)
	// A long name plus our ending may pass the file system's limit.
	if len(base) > 100 {
		base = "out"
	}
	for try := 0; ; try++ {
		name := filepath.Join(dir, fmt.Sprintf(".%s.%d-%d.part", base, os.Getpid(), try))
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, mode)
		if errors.Is(err, fs.ErrExist) && try < 1000 {
			continue
		}
		return f, err
	}
}

// writeTo runs write on a buffered w and keeps write's own errors apart from
// those of the file.
func writeTo(w io.Writer, path string, write func(io.Writer) error) error {
	keep := &keepErr{w: w}
	b := bufio.NewWriter(keep)
	err := write(b)
	if err == nil {
		err = b.Flush()
	}
	if keep.err != nil {
		return cannotWrite(path, keep.err)
	}
	return err
}

// keepErr remembers the first error of the file under it.
type keepErr struct {
	w   io.Writer
	err error
}

func (k *keepErr) Write(p []byte) (int, error) {
	n, err := k.w.Write(p)
	if err != nil && k.err == nil {
		k.err = err
	}
	return n, err
}

// cannotWrite says in one line why path could not be written and what to do.
func cannotWrite(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("cannot write %q: its folder does not exist; make the folder first: %w", path, fs.ErrNotExist)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("cannot write %q: no permission to write there; choose another folder: %w", path, fs.ErrPermission)
	}
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	var le *os.LinkError
	if errors.As(err, &le) {
		err = le.Err
	}
	return fmt.Errorf("cannot write %q: %w", path, err)
}
