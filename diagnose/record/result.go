package record

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"

	"loosedog/diagnose"
)

// longestHead is how much of a result is read for what it keeps, in bytes.
const longestHead = 1 << 20

// state of the file in a result's place.
type state int

const (
	missing state = iota
	foreign       // something else lies there: it is never written over
	torn          // ours, but not whole
	plain         // ours, without what a record keeps
	kept
)

// look finds out what is known of a take.
func (t *Take) look(m *Machine) {
	name := ResultFile(t.File)
	k, s, err := readKept(filepath.Join(m.Path, name))
	t.old = s == plain || s == kept
	switch {
	case err != nil:
		t.block(fmt.Sprintf("its result %s cannot be read: %v", name, bare(err)))
	case s == foreign:
		t.block(fmt.Sprintf("%s lies where its result belongs and is not loosedog's; give that file another name", name))
	case s == kept && counts(k, t, m):
		t.Kept = k
	default:
		t.Why = "it was not measured yet"
	}
}

// counts tells whether what is kept was measured of this recording, by this version,
// knowing what the machine file says. Where the machine file cannot be used its part
// is not asked for.
func counts(k *diagnose.Kept, t *Take, m *Machine) bool {
	return k.Version == diagnose.MeasuringVersion && k.Bytes == t.Bytes && k.Modified == stamp(t.Modified) &&
		(m.unsure != nil || k.Told == told(m.Said))
}

// stamp is a file's time as it is kept.
func stamp(t time.Time) string { return t.UTC().Format(time.RFC3339Nano) }

// told is what of a machine file counts for measuring.
func told(m *diagnose.Machine) string {
	if m == nil {
		return ""
	}
	number := func(n diagnose.Number) string {
		if !n.Known() {
			return "?"
		}
		return strconv.FormatFloat(float64(n), 'g', 6, 64)
	}
	return fmt.Sprintf("pitch %d, action %s, teeth %d, mass %s kg, pull %s to %s N",
		m.Pitch, m.Action, m.Teeth, number(m.MassKG), number(m.PullStartN), number(m.PullEndN))
}

// readKept reads what the head of the result at path keeps, and whether the file is
// whole; k is nil unless s is kept.
func readKept(path string) (k *diagnose.Kept, s state, err error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return k, missing, nil
	}
	if err != nil {
		return k, missing, err
	}
	if !info.Mode().IsRegular() {
		return k, foreign, nil
	}
	f, err := os.Open(path)
	if err != nil {
		return k, missing, err
	}
	defer f.Close()
	if info.Size() == 0 {
		return k, torn, nil
	}
	d := json.NewDecoder(bufio.NewReaderSize(io.LimitReader(f, longestHead), 8<<10))
	if !startsOurs(d) {
		return k, foreign, nil
	}
	if !endsWhole(f, info.Size()) {
		return k, torn, nil
	}
	k = new(diagnose.Kept)
	name, err := d.Token()
	if err != nil || name != "kept" || d.Decode(k) != nil {
		return nil, plain, nil
	}
	return k, kept, nil
}

// startsOurs reads the schema from a result's start.
func startsOurs(d *json.Decoder) bool {
	for _, want := range []json.Token{json.Delim('{'), "schema", diagnose.Schema} {
		if t, err := d.Token(); err != nil || t != want {
			return false
		}
	}
	return true
}

// endsWhole tells whether a file ends as an object does.
func endsWhole(f io.ReaderAt, size int64) bool {
	tail := make([]byte, min(size, 16))
	if _, err := f.ReadAt(tail, size-int64(len(tail))); err != nil && err != io.EOF {
		return false
	}
	return bytes.HasSuffix(bytes.TrimRight(tail, " \t\r\n"), []byte("}"))
}

// ReadResult reads the whole result at path, strictly.
func ReadResult(path string) (*diagnose.Take, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, bare(err)
	}
	defer f.Close()
	return diagnose.ReadTake(f)
}

// oldPart is after how long a temporary file that a run left behind when it was
// killed is cleared away; before, it may be another run's.
const oldPart = time.Hour

// longPart is the name of such a file where the result's own name is too long to stand
// in it.
var longPart = regexp.MustCompile(`^\.out\.\d+-\d+\.part$`)

// sweep clears away what killed runs have left in a folder.
func sweep(folder string, now time.Time) {
	list, err := os.ReadDir(folder)
	if err != nil {
		return
	}
	for _, d := range list {
		n := d.Name()
		ours := strings.HasPrefix(n, ".") && strings.HasSuffix(n, ".part") && strings.Contains(n, ".json.")
		if !ours && !longPart.MatchString(n) {
			continue
		}
		if info, err := d.Info(); err == nil && info.Mode().IsRegular() && now.Sub(info.ModTime()) > oldPart {
			os.Remove(filepath.Join(folder, n)) // the next run tries again
		}
	}
}
