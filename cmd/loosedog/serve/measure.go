package serve

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"sync"
	"time"

	"loosedog/diagnose"
	"loosedog/report"
)

// Bounds of what the owner may say of a take.
const (
	longestAsk      = 4 << 20 // bytes
	longestText     = 200_000 // bytes
	mostCorrections = 5000
)

// measure measures a take and keeps the result beside it. The answer comes in
// lines of JSON while the work goes on: {"part","done"}, and at the end
// {"name"} or {"error"}. Who stops listening stops the work.
func (s *Server) measure(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	ask, err := readAsk(w, r)
	if err != nil {
		fail(w, err)
		return
	}
	path, err := s.take(name)
	if err != nil {
		fail(w, err)
		return
	}
	old, err := s.folder.measured(name)
	if errors.Is(err, errForeign) {
		fail(w, foreign(name))
		return
	}
	if old != nil && old.PageCount != nil {
		ask.PageCount = &old.PageCount.Counted
	}
	if other := s.folder.rival(name); other != "" {
		fail(w, share(name, other))
		return
	}
	if ask.Machine, err = s.folder.machine(); err != nil {
		fail(w, err)
		return
	}
	ask.complete()
	select {
	case s.line <- struct{}{}:
		defer func() { <-s.line }()
	default:
		fail(w, refuse(http.StatusServiceUnavailable, "other takes are being measured just now; wait a moment and try again"))
		return
	}
	out := newLines(w)
	defer out.end()
	out.write(map[string]any{"part": "waiting", "done": 0})
	select {
	case s.working <- struct{}{}:
		defer func() { <-s.working }()
	case <-r.Context().Done():
		return
	}
	before, err := s.folder.root.Lstat(name)
	if err != nil {
		out.write(map[string]any{"error": err.Error()})
		return
	}
	t, err := s.opt.Measure(r.Context(), path, ask, out.progress)
	if err == nil && r.Context().Err() == nil {
		// What was measured must be what lies there now.
		now, gone := s.folder.root.Lstat(name)
		if gone != nil || now.Size() != before.Size() || !now.ModTime().Equal(before.ModTime()) {
			err = errors.New("the recording changed while it was measured; measure it again")
		} else {
			err = s.keep(name, ask, t)
		}
	}
	if err != nil {
		out.write(map[string]any{"error": err.Error()})
		return
	}
	out.write(map[string]any{"name": name})
}

// complete fills in what was not said: from the machine file, else what is
// common.
func (a *Ask) complete() {
	said := diagnose.Machine{}
	if a.Machine != nil {
		said = *a.Machine
	}
	a.Action = cmp.Or(a.Action, string(said.Action), string(diagnose.FullSpace))
	a.Pitch = cmp.Or(a.Pitch, said.Pitch, 10)
}

// keep writes what was measured beside the take.
func (s *Server) keep(name string, ask Ask, t *diagnose.Take) error {
	t.Recording.Path = name
	t.Asked = &diagnose.Asked{Action: ask.Action, Pitch: ask.Pitch, Text: ask.Text}
	return s.folder.create(resultName(name), true, func(file *os.File) error { return report.JSON(file, t) })
}

// foreign is the error of a take whose result's place is taken.
func foreign(name string) error {
	return refuse(http.StatusConflict, fmt.Sprintf("%q lies where the result would go, and it is not loosedog's; give it another name first", resultName(name)))
}

func readAsk(w http.ResponseWriter, r *http.Request) (Ask, error) {
	var ask Ask
	rc := http.NewResponseController(w)
	_ = rc.SetReadDeadline(time.Now().Add(20 * time.Second))
	// Who is refused may not have sent all; the rest is not waited for.
	w.Header().Set("Connection", "close")
	if r.Header.Get("Content-Type") != "application/json" {
		return ask, refuse(http.StatusUnsupportedMediaType, "what to measure must come as JSON")
	}
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, longestAsk))
	if err := d.Decode(&ask); err != nil {
		return ask, refuse(http.StatusBadRequest, "what to measure could not be read")
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return ask, refuse(http.StatusBadRequest, "what to measure did not come whole")
	}
	switch {
	case ask.Action != "" && !diagnose.Action(ask.Action).Known():
		return ask, refuse(http.StatusBadRequest, "the action is not known")
	case ask.Pitch != 0 && ask.Pitch != 10 && ask.Pitch != 12:
		return ask, refuse(http.StatusBadRequest, "the pitch is not known")
	case len(ask.Text) > longestText:
		return ask, refuse(http.StatusBadRequest, "the text is too long")
	case len(ask.Corrections) > mostCorrections:
		return ask, refuse(http.StatusBadRequest, "there are too many corrections")
	}
	w.Header().Del("Connection")
	_ = rc.SetReadDeadline(time.Time{})
	return ask, nil
}

// take checks a name and gives the path of the recording.
func (s *Server) take(name string) (string, error) {
	if err := takeName(name); err != nil {
		return "", err
	}
	return s.folder.file(name)
}

// lines writes an answer line by line as the work goes on.
type lines struct {
	mu   sync.Mutex
	w    http.ResponseWriter
	rc   *http.ResponseController
	last time.Time
}

func newLines(w http.ResponseWriter) *lines {
	w.Header().Set("Content-Type", "application/x-ndjson; charset=utf-8")
	return &lines{w: w, rc: http.NewResponseController(w)}
}

func (l *lines) write(v any) {
	l.mu.Lock()
	defer l.mu.Unlock()
	b, err := json.Marshal(v)
	if err != nil {
		return
	}
	// Who does not read shall not hold up the work for ever.
	_ = l.rc.SetWriteDeadline(time.Now().Add(10 * time.Second))
	l.w.Write(append(b, '\n'))
	l.rc.Flush()
}

// end leaves the connection as it was found.
func (l *lines) end() { _ = l.rc.SetWriteDeadline(time.Time{}) }

// progress tells how far the work is, a few times a second.
func (l *lines) progress(part string, done float64) {
	l.mu.Lock()
	now := time.Now()
	wait := now.Sub(l.last) < 150*time.Millisecond
	if !wait {
		l.last = now
	}
	l.mu.Unlock()
	if !wait && !math.IsNaN(done) {
		l.write(map[string]any{"part": part, "done": min(max(done, 0), 1)})
	}
}
