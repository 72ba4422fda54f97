package report

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

func hello(w io.Writer) error { _, err := io.WriteString(w, "hello\n"); return err }

// names of everything in a folder.
func names(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return strings.Join(out, " ")
}

func content(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.txt")
	if err := WriteFile(path, hello); err != nil {
		t.Fatal(err)
	}
	if content(t, path) != "hello\n" || names(t, dir) != "a.txt" {
		t.Errorf("%q in %s", content(t, path), names(t, dir))
	}
	if err := WriteFile(path, func(w io.Writer) error { _, err := io.WriteString(w, "new"); return err }); err != nil {
		t.Fatal(err)
	}
	if content(t, path) != "new" || names(t, dir) != "a.txt" {
		t.Errorf("replaced: %q in %s", content(t, path), names(t, dir))
	}
}

// When the writer fails half way nothing is left, and an older file stays.
func TestWriteFileFails(t *testing.T) {
	wrong := errors.New("the writer's own trouble")
	half := func(w io.Writer) error {
		// More than any buffer, so that some of it reaches the disk.
		if _, err := w.Write(make([]byte, 1<<20)); err != nil {
			return err
		}
		return wrong
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "a.txt")
	if err := WriteFile(path, half); !errors.Is(err, wrong) {
		t.Errorf("error %v, want the writer's", err)
	}
	if got := names(t, dir); got != "" {
		t.Errorf("left behind: %s", got)
	}
	if err := os.WriteFile(path, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := WriteFile(path, half); !errors.Is(err, wrong) {
		t.Errorf("error %v, want the writer's", err)
	}
	if content(t, path) != "old" || names(t, dir) != "a.txt" {
		t.Errorf("the older file is %q in %s", content(t, path), names(t, dir))
	}
	// A panic must not leave the half either.
	func() {
		defer func() { _ = recover() }()
		_ = WriteFile(path, func(w io.Writer) error { panic("half way") })
	}()
	if content(t, path) != "old" || names(t, dir) != "a.txt" {
		t.Errorf("after a panic: %q in %s", content(t, path), names(t, dir))
	}
}

func TestWriteFileRefuses(t *testing.T) {
	dir := t.TempDir()
	locked := filepath.Join(dir, "locked")
	if err := os.Mkdir(locked, 0o500); err != nil {
		t.Fatal(err)
	}
	readOnly := filepath.Join(dir, "read-only.txt")
	if err := os.WriteFile(readOnly, []byte("old"), 0o400); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		path, want string
		notForRoot bool
	}{
		{filepath.Join(dir, "missing", "a.txt"), "its folder does not exist; make the folder first", false},
		{dir, "it is a folder; give a file name", false},
		{filepath.Join(dir, "new") + string(filepath.Separator), "it is a folder; give a file name", false},
		{filepath.Join(readOnly, "a.txt"), "cannot write", false},
		{readOnly, "the file is read-only", false},
		{"", "no file name given", false},
		{filepath.Join(locked, "a.txt"), "no permission to write there; choose another folder", true},
	} {
		if c.notForRoot && os.Geteuid() == 0 {
			continue // root may write anywhere
		}
		called := false
		err := WriteFile(c.path, func(w io.Writer) error { called = true; return hello(w) })
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%q: error %v, want one line with %q", c.path, err, c.want)
		}
		if called {
			t.Errorf("%q: work was done for a file that cannot be written", c.path)
		}
	}
	if got := names(t, dir); got != "locked read-only.txt" {
		t.Errorf("left behind: %s", got)
	}
}

func TestWriteFileMode(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("permission bits mean little on Windows")
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "a.txt")
	// What the umask leaves of 0666 is what any other program's file gets too.
	other := filepath.Join(dir, "other.txt")
	f, err := os.Create(other)
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
	if err := WriteFile(path, hello); err != nil {
		t.Fatal(err)
	}
	if got, want := mode(t, path), mode(t, other); got != want {
		t.Errorf("a new file has mode %v, want %v", got, want)
	}
	for _, m := range []fs.FileMode{0o600, 0o664, 0o755} {
		if err := os.Chmod(path, m); err != nil {
			t.Fatal(err)
		}
		if err := WriteFile(path, hello); err != nil {
			t.Fatal(err)
		}
		if got := mode(t, path); got != m {
			t.Errorf("a file of mode %v was replaced by one of mode %v", m, got)
		}
	}
}

func mode(t *testing.T, path string) fs.FileMode {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	return info.Mode().Perm()
}

func TestWriteFileThroughLink(t *testing.T) {
	dir := t.TempDir()
	real, link := filepath.Join(dir, "real.txt"), filepath.Join(dir, "link.txt")
	if err := os.WriteFile(real, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(real, link); err != nil {
		t.Skip("no symbolic links here:", err)
	}
	if err := WriteFile(link, hello); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&fs.ModeSymlink == 0 {
		t.Error("the link was replaced by a file")
	}
	if content(t, real) != "hello\n" {
		t.Errorf("the file behind the link holds %q", content(t, real))
	}
}

func TestWriteFileStandardOutput(t *testing.T) {
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	old := os.Stdout
	os.Stdout = w
	err = WriteFile("-", hello)
	os.Stdout = old
	w.Close()
	if err != nil {
		t.Fatal(err)
	}
	if got, _ := io.ReadAll(r); string(got) != "hello\n" {
		t.Errorf("standard output got %q", got)
	}
}

// A full disk is told from the writer's own errors, and named with the file.
func TestWriteToFullDisk(t *testing.T) {
	if _, err := os.Stat("/dev/full"); err != nil {
		t.Skip("no /dev/full on this system")
	}
	err := WriteFile("/dev/full", func(w io.Writer) error {
		_, err := fmt.Fprintln(w, strings.Repeat("x", 1<<20))
		return err
	})
	if err == nil || !strings.HasPrefix(err.Error(), `cannot write "/dev/full": no space left`) {
		t.Errorf("error %v", err)
	}
}
