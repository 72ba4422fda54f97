package serve

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"loosedog/diagnose"
	"loosedog/diagnose/compare"
	"loosedog/report"
)

// mostCompared is how many takes a side may have, longestDone how long the words
// for what was done may be.
const (
	mostCompared = 12
	longestDone  = 500
)

// comparison is what came of comparing takes, with the takes.
type comparison struct {
	before, after []*diagnose.Take
	result        *compare.Comparison
}

// compare answers with a comparison: ?before=NAME&after=NAME, each as often as
// there are takes, and what was done between them.
func (s *Server) compare(w http.ResponseWriter, r *http.Request) {
	c, err := s.compared(r)
	if err != nil {
		fail(w, err)
		return
	}
	var text bytes.Buffer
	if err := report.ComparisonText(&text, c.result); err != nil {
		fail(w, err)
		return
	}
	answer(w, http.StatusOK, map[string]any{
		"comparison": c.result, "text": text.String(), "cautions": report.Cautions(),
	})
}

// comparisonOutputs are what a comparison can be saved as.
var comparisonOutputs = map[string]struct {
	ending, kind string
	write        func(w io.Writer, c *comparison) error
}{
	"picture": {".png", "image/png", func(w io.Writer, c *comparison) error {
		return report.ComparisonPNG(w, c.result, c.before, c.after)
	}},
	"note": {".md", "text/markdown; charset=utf-8", func(w io.Writer, c *comparison) error {
		return report.ComparisonNote(w, c.result, report.NoteOptions{
			Date: time.Now().Format(time.DateOnly), Picture: comparisonName(c) + ".png",
		})
	}},
	"data": {".json", "application/json; charset=utf-8", func(w io.Writer, c *comparison) error {
		return report.ComparisonJSON(w, c.result)
	}},
}

// comparisonName is what the files of a comparison are called.
func comparisonName(c *comparison) string {
	first := func(takes []*diagnose.Take) string { return stem(takes[0].Recording.Path) }
	return first(c.before) + " against " + first(c.after)
}

// saveComparison hands out a comparison as a file.
func (s *Server) saveComparison(w http.ResponseWriter, r *http.Request) {
	out, ok := comparisonOutputs[r.PathValue("kind")]
	if !ok {
		fail(w, refuse(http.StatusNotFound, "there is no such output"))
		return
	}
	c, err := s.compared(r)
	if err != nil {
		fail(w, err)
		return
	}
	var b bytes.Buffer
	if err := out.write(&b, c); err != nil {
		fail(w, err)
		return
	}
	handOut(w, comparisonName(c)+out.ending, out.kind, b.Bytes())
}

// compared compares the takes that a request names, or remembers what came of
// it: the page asks for the words, the picture and the files one by one.
func (s *Server) compared(r *http.Request) (*comparison, error) {
	q := r.URL.Query()
	before, after, done := q["before"], q["after"], q.Get("done")
	switch {
	case len(before) == 0 || len(after) == 0:
		return nil, refuse(http.StatusBadRequest, "a comparison needs a take from before and one from after")
	case len(before) > mostCompared || len(after) > mostCompared:
		return nil, refuse(http.StatusBadRequest, fmt.Sprintf("%d takes a side are the most", mostCompared))
	case len(done) > longestDone:
		return nil, refuse(http.StatusBadRequest, "what was done is told in too many words")
	}
	names := slices.Concat(before, after)
	for i, name := range names {
		if slices.Contains(names[:i], name) {
			return nil, refuse(http.StatusBadRequest, fmt.Sprintf("%q stands there twice, and a take compared with itself says nothing", name))
		}
	}
	key := url.Values{"before": before, "after": after, "done": {done}}.Encode()
	for _, name := range names {
		stamp, err := s.stampOf(name)
		if err != nil {
			return nil, err
		}
		key += stamp
	}
	if kept := s.kept.get(key); kept != nil {
		return kept, nil
	}
	var takes []*diagnose.Take
	for _, name := range names {
		t, err := s.toCompare(name)
		if err != nil {
			return nil, err
		}
		takes = append(takes, t)
	}
	c := &comparison{before: takes[:len(before)], after: takes[len(before):]}
	select {
	case s.working <- struct{}{}:
		defer func() { <-s.working }()
	case <-r.Context().Done():
		return nil, r.Context().Err()
	}
	if kept := s.kept.get(key); kept != nil {
		return kept, nil // another request waited for the same
	}
	var action diagnose.Action
	if a := c.before[0].Asked; a != nil {
		action = diagnose.Action(a.Action)
	}
	c.result = compare.Takes(c.before, c.after, compare.Options{Action: action, Done: strings.TrimSpace(done)})
	s.kept.put(key, c)
	return c, nil
}

// stampOf changes when a take is measured anew.
func (s *Server) stampOf(name string) (string, error) {
	if err := takeName(name); err != nil {
		return "", err
	}
	info, err := s.folder.root.Lstat(resultName(name))
	if errors.Is(err, fs.ErrNotExist) {
		return "", unmeasured(name)
	}
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("|%d %d", info.Size(), info.ModTime().UnixNano()), nil
}

// toCompare reads a measured take.
func (s *Server) toCompare(name string) (*diagnose.Take, error) {
	t, err := s.folder.measured(name)
	switch {
	case errors.Is(err, errForeign):
		return nil, foreign(name)
	case err != nil:
		return nil, err
	case t == nil:
		return nil, unmeasured(name)
	}
	// Under the name that it has here, wherever it was measured.
	t.Recording.Path = name
	return t, nil
}

// unmeasured is the error of a take to compare that was not measured.
func unmeasured(name string) error {
	return refuse(http.StatusNotFound, fmt.Sprintf("%q was not measured yet; open it and measure it first", name))
}

// keptComparisons remembers the last few.
type keptComparisons struct {
	mu   sync.Mutex
	keys []string
	all  map[string]*comparison
}

const mostKept = 4

func (k *keptComparisons) get(key string) *comparison {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.all[key]
}

func (k *keptComparisons) put(key string, c *comparison) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.all == nil {
		k.all = map[string]*comparison{}
	}
	k.all[key] = c
	if k.keys = append(k.keys, key); len(k.keys) > mostKept {
		delete(k.all, k.keys[0])
		k.keys = k.keys[1:]
	}
}
