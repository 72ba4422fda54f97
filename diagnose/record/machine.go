package record

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"loosedog/diagnose"
)

// MachineFile is what the owner says of a machine, in its folder.
const MachineFile = "machine.toml"

// Endings of files that are taken for takes; anything but WAV is read through
// ffmpeg. The page in the browser goes by them, too.
var Endings = []string{".wav", ".m4a", ".mp3", ".ogg", ".opus", ".flac", ".caf", ".amr", ".webm", ".aac", ".aif", ".aiff"}

// IsTake tells whether a file's name is that of a take.
func IsTake(name string) bool {
	return !strings.HasPrefix(name, ".") && slices.Contains(Endings, strings.ToLower(filepath.Ext(name)))
}

// ResultFile is the name of the result that lies beside a take.
func ResultFile(take string) string { return strings.TrimSuffix(take, filepath.Ext(take)) + ".json" }

// Machine is one machine's folder.
type Machine struct {
	Path   string            // of the folder
	Folder string            // its name
	Said   *diagnose.Machine // the machine file; nil without one
	Log    *Log
	Takes  []*Take // in order of date
	// Problems say what of the folder could not be used, beside the takes.
	Problems []string
	// unsure: the machine file cannot be used, so nothing is measured anew.
	unsure error
}

// Take is one take of a machine.
type Take struct {
	File     string // its name in the folder
	Path     string
	Bytes    int64
	Modified time.Time
	Date     time.Time
	DateFrom string // one of the From constants
	// Kept is what is known of it; nil where it was not measured, and Why says why.
	Kept *diagnose.Kept
	Why  string
	// blocked: nothing can be kept of it, for the reason in Why.
	blocked bool
	// old is whether a result of this program lies beside it, of which corrections by
	// hand and what was asked are carried on.
	old bool
}

// Usable tells whether there are figures.
func (t *Take) Usable() bool { return t.Kept != nil && t.Kept.Usable }

// Name is the machine as its owner calls it: name, number and colour of the machine
// file, else the folder's name.
func (m *Machine) Name() string {
	if m.Said != nil {
		var words []string
		for _, w := range []string{m.Said.Name, m.Said.Number, m.Said.Colour} {
			if w = oneLine(w); w != "" {
				words = append(words, w)
			}
		}
		if len(words) > 0 {
			return strings.Join(words, ", ")
		}
	}
	return oneLine(m.Folder)
}

// LastDone is the log's last entry, else what the machine file says was last done;
// date is the zero time where it is not known.
func (m *Machine) LastDone() (text string, date time.Time) {
	if done := m.Log.Done(); len(done) > 0 {
		e := done[len(done)-1]
		return e.Text, e.Date
	}
	if m.Said != nil {
		return oneLine(m.Said.LastDone), time.Time{}
	}
	return "", time.Time{}
}

// Open reads a machine's folder: the machine file, the log, which takes there are and
// what is known of them. Nothing is measured. The error is one line: a folder that
// cannot be read.
func Open(path string) (*Machine, error) {
	list, err := os.ReadDir(path)
	if err != nil {
		return nil, cannotRead(path, err)
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		abs = path
	}
	m := &Machine{Path: path, Folder: filepath.Base(abs), Log: new(Log)}
	if _, err := os.Lstat(filepath.Join(path, MachineFile)); err == nil {
		if m.Said, err = diagnose.ReadMachineFile(filepath.Join(path, MachineFile)); err != nil {
			m.unsure = err
			m.Problems = append(m.Problems, err.Error())
		}
	}
	if l, err := ReadLogFile(path); err != nil {
		m.Problems = append(m.Problems, err.Error())
	} else {
		m.Log = l
		for _, odd := range l.Odd {
			m.Problems = append(m.Problems, "log.txt: "+odd)
		}
	}
	result := map[string]string{}
	for _, d := range byStem(list) {
		t := &Take{File: d.Name(), Path: filepath.Join(path, d.Name())}
		m.Takes = append(m.Takes, t)
		info, err := os.Stat(t.Path) // a link counts as what it leads to
		if err != nil {
			t.block("it cannot be read: " + bare(err).Error())
			continue
		}
		t.Bytes, t.Modified = info.Size(), info.ModTime()
		if !info.Mode().IsRegular() {
			t.block("it is no plain file")
			continue
		}
		at := ResultFile(t.File)
		if first, taken := result[at]; taken {
			t.block(fmt.Sprintf("%s would hold its result and that of %s; give one of them another name", at, first))
			continue
		}
		result[at] = t.File
		t.look(m)
	}
	m.sortTakes()
	return m, nil
}

func (t *Take) block(why string) { t.Why, t.blocked = why, true }

// byStem are the takes of a folder, WAV before others of the same name.
func byStem(list []fs.DirEntry) []fs.DirEntry {
	takes := slices.DeleteFunc(slices.Clone(list), func(d fs.DirEntry) bool { return d.IsDir() || !IsTake(d.Name()) })
	slices.SortStableFunc(takes, func(a, b fs.DirEntry) int {
		if c := strings.Compare(ResultFile(a.Name()), ResultFile(b.Name())); c != 0 {
			return c
		}
		rank := func(d fs.DirEntry) int { return slices.Index(Endings, strings.ToLower(filepath.Ext(d.Name()))) }
		return rank(a) - rank(b)
	})
	return takes
}

// sortTakes dates the takes and puts them in order.
func (m *Machine) sortTakes() {
	for _, t := range m.Takes {
		t.setDate(m.Log)
	}
	slices.SortStableFunc(m.Takes, func(a, b *Take) int {
		if c := a.Date.Compare(b.Date); c != 0 {
			return c
		}
		return strings.Compare(a.File, b.File)
	})
}

// Machines finds the machines of a shelf: the folders in it that hold takes, a
// machine file or a log, in order of name. A folder that holds takes itself and no
// such folders is one machine. Folders that cannot be read are told in problems.
func Machines(shelf string) (machines []*Machine, problems []string, err error) {
	list, err := os.ReadDir(shelf)
	if err != nil {
		return nil, nil, cannotRead(shelf, err)
	}
	loose := 0
	for _, d := range list {
		if IsTake(d.Name()) && !d.IsDir() {
			loose++
		}
		at := filepath.Join(shelf, d.Name())
		if info, err := os.Stat(at); err != nil || !info.IsDir() || strings.HasPrefix(d.Name(), ".") {
			continue
		}
		m, err := Open(at)
		if err != nil {
			problems = append(problems, err.Error())
			continue
		}
		if m.belongs() {
			machines = append(machines, m)
		}
	}
	if loose > 0 {
		if len(machines) > 0 {
			problems = append(problems, fmt.Sprintf("%q holds takes beside the folders of machines; they belong into the folder of their machine (%d left out)", shelf, loose))
			return machines, problems, nil
		}
		m, err := Open(shelf)
		if err != nil {
			return nil, problems, err
		}
		machines = append(machines, m)
	}
	return machines, problems, nil
}

// belongs tells whether a folder is a machine's.
func (m *Machine) belongs() bool {
	if len(m.Takes) > 0 || m.Said != nil || m.unsure != nil {
		return true
	}
	_, err := os.Lstat(filepath.Join(m.Path, LogFile))
	return err == nil
}

func cannotRead(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("cannot read %q: there is no such folder", path)
	default:
		if info, e := os.Stat(path); e == nil && !info.IsDir() {
			return fmt.Errorf("cannot read %q: it is a file; give a folder", path)
		}
	}
	return fmt.Errorf("cannot read the folder %q: %w", path, bare(err))
}
