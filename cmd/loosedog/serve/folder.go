package serve

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"loosedog/diagnose"
)

// folder is the owner's folder of takes. What lies in it is reached through root,
// which no name and no link leads out of; only sound is read by its path, after
// file has looked what lies there.
type folder struct {
	root *os.Root
	path string

	mu    sync.Mutex
	known map[string]knownResult
}

// knownResult is what was read of a result for the list, so that a folder of
// hundreds of takes is not read anew each time.
type knownResult struct {
	size    int64
	changed time.Time
	entry   entry
}

func openFolder(path string) (*folder, error) {
	root, err := os.OpenRoot(path)
	if err != nil {
		return nil, err
	}
	return &folder{root: root, path: path}, nil
}

func (f *folder) Close() error { return f.root.Close() }

// file is a name's path for readers that want one, after a look that it is a
// plain file of the folder and no link.
func (f *folder) file(name string) (string, error) {
	info, err := f.root.Lstat(name)
	if err != nil {
		return "", err
	}
	if !info.Mode().IsRegular() {
		return "", refuse(http.StatusForbidden, "this is no plain file of the folder")
	}
	return filepath.Join(f.path, name), nil
}

// list reads what lies in the folder, in no order.
func (f *folder) list() ([]fs.DirEntry, error) {
	dir, err := f.root.Open(".")
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	all, err := dir.ReadDir(-1)
	if err != nil {
		return nil, err
	}
	return all, nil
}

// entry is one take of the list.
type entry struct {
	Name     string  `json:"name"`
	Bytes    int64   `json:"bytes"`
	Changed  string  `json:"changed"` // RFC 3339
	Measured bool    `json:"measured"`
	Usable   bool    `json:"usable"`
	Words    string  `json:"words"` // what was measured, in a few words
	Seconds  float64 `json:"seconds"`
	of       string  // the recording that the result names
}

// longestList is how many takes are listed.
const longestList = 500

// entries lists the takes, the newest first. odd counts files that look like
// takes but whose names or kinds cannot be served.
func (f *folder) entries() (list []entry, odd int, err error) {
	all, err := f.list()
	if err != nil {
		return nil, 0, err
	}
	infos := []fs.FileInfo{}
	sharing := map[string][]string{} // takes by the file of their result
	for _, d := range all {
		if !isTake(d.Name()) || strings.HasPrefix(d.Name(), ".") {
			continue
		}
		info, err := d.Info()
		if err != nil || !info.Mode().IsRegular() || !plainName(d.Name()) {
			odd++
			continue
		}
		infos = append(infos, info)
		at := strings.ToLower(resultName(d.Name()))
		sharing[at] = append(sharing[at], d.Name())
	}
	slices.SortFunc(infos, func(a, b fs.FileInfo) int {
		if c := b.ModTime().Compare(a.ModTime()); c != 0 {
			return c
		}
		return strings.Compare(a.Name(), b.Name())
	})
	if len(infos) > longestList {
		odd += len(infos) - longestList
		infos = infos[:longestList]
	}
	list = []entry{}
	for _, info := range infos {
		e := entry{Name: info.Name(), Bytes: info.Size(), Changed: info.ModTime().UTC().Format("2006-01-02T15:04:05Z")}
		r := f.result(info.Name())
		if owner(r.of, sharing[strings.ToLower(resultName(info.Name()))]) != info.Name() {
			r = entry{} // it is another take's
		}
		e.Measured, e.Usable, e.Seconds, e.Words = r.Measured, r.Usable, r.Seconds, r.Words
		list = append(list, e)
	}
	return list, odd, nil
}

// result is what the list says of what was measured of a take.
func (f *folder) result(name string) (e entry) {
	info, err := f.root.Lstat(resultName(name))
	if err != nil {
		return e
	}
	f.mu.Lock()
	k, ok := f.known[name]
	f.mu.Unlock()
	if ok && k.size == info.Size() && k.changed.Equal(info.ModTime()) {
		return k.entry
	}
	if t, err := f.measured(name); err == nil && t != nil {
		e.Measured, e.Usable, e.Seconds, e.Words = true, t.Recording.Usable, t.Recording.DurationS, inWords(t)
		e.of = t.Recording.Path
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.known == nil || len(f.known) > 2*longestList {
		f.known = map[string]knownResult{}
	}
	f.known[name] = knownResult{info.Size(), info.ModTime(), e}
	return e
}

// inWords is a measured take for the list.
func inWords(t *diagnose.Take) string {
	if !t.Recording.Usable {
		return "cannot be measured"
	}
	s := t.Summary
	return fmt.Sprintf("%d strokes; crowded %d, piled %d, missed spaces %d", s.Strokes, s.Crowded, s.Piled, s.MissedSpaces)
}

// longestJSON is how long a take's JSON may be: an hour of fast typing.
const longestJSON = 64 << 20

// resultName is the file that holds what was measured of a take.
func resultName(name string) string { return stem(name) + ".json" }

// A file on its way in has a name of its own until it is whole.
const (
	partPrefix, partSuffix = ".loosedog-", ".part"
	// oldPart is after how long such a file is one that a run left behind when it was
	// killed.
	oldPart = time.Hour
)

// sweep removes what runs that were killed left behind.
func (f *folder) sweep(now time.Time) {
	all, err := f.list()
	if err != nil {
		return
	}
	for _, d := range all {
		if !strings.HasPrefix(d.Name(), partPrefix) || !strings.HasSuffix(d.Name(), partSuffix) {
			continue
		}
		if info, err := d.Info(); err == nil && info.Mode().IsRegular() && now.Sub(info.ModTime()) > oldPart {
			_ = f.root.Remove(d.Name())
		}
	}
}

// rival is another take whose result would lie in the same file as name's; empty
// when there is none.
func (f *folder) rival(name string) string {
	if all := f.rivals(name); len(all) > 0 {
		return all[0]
	}
	return ""
}

func (f *folder) rivals(name string) (others []string) {
	all, err := f.list()
	if err != nil {
		return nil
	}
	for _, d := range all {
		if other := d.Name(); other != name && isTake(other) && !strings.HasPrefix(other, ".") && strings.EqualFold(resultName(other), resultName(name)) {
			others = append(others, other)
		}
	}
	return others
}

// owner is which of the takes that share a result it is of: the one whose
// recording it names, else the first by name.
func owner(recording string, takes []string) string {
	if name := lastPart(recording); slices.Contains(takes, name) {
		return name
	}
	return slices.Min(takes)
}

// share is the error of two takes with one result.
func share(name, other string) error {
	return refuse(http.StatusConflict, fmt.Sprintf("%q and %q would share one result; give one of them another name first", name, other))
}

// errForeign is the error of a result's place that is taken by something that
// is not a result of ours.
var errForeign = errors.New("not a measured take")

// measured reads what was measured of a take: nil when it was not measured yet,
// errForeign when something else lies in the result's place.
func (f *folder) measured(name string) (*diagnose.Take, error) {
	at := resultName(name)
	info, err := f.root.Lstat(at)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() || info.Size() > longestJSON {
		return nil, errForeign
	}
	file, err := f.root.Open(at)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	t, err := diagnose.ReadTake(file)
	if err != nil || !sound(t) {
		return nil, errForeign
	}
	return t, nil
}

// machineFile is what the owner says of the machine whose takes lie here.
const machineFile = "machine.toml"

// machine reads the machine file; nil where there is none.
func (f *folder) machine() (*diagnose.Machine, error) {
	info, err := f.root.Lstat(machineFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, refuse(http.StatusConflict, fmt.Sprintf("%q is no plain file", machineFile))
	}
	file, err := f.root.Open(machineFile)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	m, err := diagnose.ReadMachine(file)
	if err != nil {
		return nil, refuse(http.StatusConflict, fmt.Sprintf("the machine file %q cannot be used: %v", machineFile, err))
	}
	return m, nil
}

// sound tells whether a take that was read from a file can be shown: its lists
// fit together. Anybody can edit a file.
func sound(t *diagnose.Take) bool {
	for i, s := range t.Strokes {
		if s.Index != i || s.Line < 0 || s.Line >= len(t.Lines) || s.Position < 0 || s.Position > 1<<20 {
			return false
		}
		if i > 0 && s.Line < t.Strokes[i-1].Line {
			return false
		}
	}
	for i, l := range t.Lines {
		if l.Line != i {
			return false
		}
	}
	for _, g := range t.Findings {
		for _, w := range g.Where {
			if w < 0 || w >= len(t.Strokes) {
				return false
			}
		}
	}
	return true
}

// create writes a file of the folder whole or not at all. With replace false it
// refuses a name that is taken, in the same step that would take it.
func (f *folder) create(name string, replace bool, write func(*os.File) error) error {
	part := fmt.Sprintf(partPrefix+"%016x"+partSuffix, rand.Uint64())
	file, err := f.root.OpenFile(part, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	open := true
	defer func() {
		if open {
			file.Close()
		}
		// Gone already where it was renamed.
		f.root.Remove(part)
	}()
	if err := write(file); err != nil {
		return err
	}
	if err := file.Sync(); err != nil {
		return err
	}
	open = false
	if err := file.Close(); err != nil {
		return err
	}
	return f.place(part, name, replace)
}

// place gives a finished file its name.
func (f *folder) place(part, name string, replace bool) error {
	if info, err := f.root.Lstat(name); err == nil && !info.Mode().IsRegular() {
		return refuse(http.StatusConflict, "something else of that name lies in the folder")
	}
	if replace {
		return f.root.Rename(part, name)
	}
	switch err := f.root.Link(part, name); {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrExist):
		return errTaken
	}
	// A file system without hard links: look, then rename.
	if _, err := f.root.Lstat(name); err == nil {
		return errTaken
	}
	return f.root.Rename(part, name)
}

// errTaken is the error of a name that a file has already.
var errTaken = errors.New("a file of that name is there already")

// taken tells whether a new take may not have a name without writing over
// something, or sharing another take's result.
func (f *folder) taken(name string) bool {
	for _, at := range []string{name, resultName(name)} {
		if _, err := f.root.Lstat(at); err == nil {
			return true
		}
	}
	return f.rival(name) != ""
}

// free is the name, or one like it that is not taken.
func (f *folder) free(name string) string {
	for n := 2; n < 1000; n++ {
		if !f.taken(name) {
			return name
		}
		base := stem(name)
		if n > 2 {
			base = strings.TrimSuffix(base, fmt.Sprintf(" %d", n-1))
		}
		name = fmt.Sprintf("%s %d.wav", base, n)
	}
	return name
}
