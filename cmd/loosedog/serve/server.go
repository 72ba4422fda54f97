package serve

import (
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"net"
	"net/http"
	"os"
	"time"

	"loosedog/diagnose"
)

// Ask is what the owner says of a take when it is measured.
type Ask struct {
	// Action and Pitch are as for diagnose.Options; empty and 0 when not said.
	Action string `json:"action"`
	Pitch  int    `json:"pitch"`
	// Text is what was typed; empty when not said.
	Text string `json:"text"`
	// Corrections are those made by hand, in the order in which they were made.
	Corrections []diagnose.Correction `json:"corrections"`
	// PageCount is what the owner counted on the paper, carried over from the result
	// before; nil when nobody counted.
	PageCount *int `json:"-"`
	// Machine is what the folder's machine file says; nil without one.
	Machine *diagnose.Machine `json:"-"`
}

// MeasureFunc measures the recording at path. A recording that was read but
// cannot be measured is no error: the take says so. progress is told which part
// of the work goes on and which share of the whole is done, 0 to 1.
type MeasureFunc func(ctx context.Context, path string, ask Ask, progress func(part string, done float64)) (*diagnose.Take, error)

// Options of New.
type Options struct {
	// Folder holds the takes; it must be there.
	Folder string
	// Measure measures a take.
	Measure MeasureFunc
	// Sheet is the text to type for a test, shown while recording.
	Sheet string
	// Names are host names, beside the loopback's and plain addresses, by which
	// the page may be asked for.
	Names []string
	// Limits; the zero value is [DefaultLimits].
	Limits Limits
}

// Limits bound what one page may ask of the computer.
type Limits struct {
	// TakeBytes is the longest upload, TakeSeconds the longest take.
	TakeBytes   int64
	TakeSeconds float64
	// Uploads and Measurements may run at once; Waiting more measurements may
	// stand in line.
	Uploads, Measurements, Waiting int
	// Quiet is how long a sender may say nothing, BytesPerS how slow the whole of
	// an upload may be.
	Quiet     time.Duration
	BytesPerS int64
}

// DefaultLimits allow an hour of typing in 24 bits at 48 kHz.
var DefaultLimits = Limits{
	TakeBytes: 640 << 20, TakeSeconds: 3700,
	Uploads: 2, Measurements: 1, Waiting: 4,
	Quiet: 15 * time.Second, BytesPerS: 16 << 10,
}

// Server serves one folder.
type Server struct {
	opt     Options
	folder  *folder
	uploads chan struct{}
	line    chan struct{} // places in the line of measurements
	working chan struct{}
	looks   chan struct{} // answers that read a take's sound
	mixes   mixes
	kept    keptComparisons
	handler http.Handler
}

// New opens the folder. The server must be closed.
func New(opt Options) (*Server, error) {
	if opt.Limits == (Limits{}) {
		opt.Limits = DefaultLimits
	}
	f, err := openFolder(opt.Folder)
	if err != nil {
		return nil, err
	}
	f.sweep(time.Now())
	l := opt.Limits
	s := &Server{
		opt: opt, folder: f,
		uploads: make(chan struct{}, l.Uploads),
		line:    make(chan struct{}, l.Measurements+l.Waiting),
		working: make(chan struct{}, l.Measurements),
		looks:   make(chan struct{}, looksAtOnce),
	}
	s.handler = guard{names: opt.Names}.protect(s.routes())
	return s, nil
}

// Close lets go of the folder.
func (s *Server) Close() error { return s.folder.Close() }

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.index)
	mux.HandleFunc("GET /page/{file}", s.asset)
	mux.HandleFunc("GET /api/folder", s.list)
	mux.HandleFunc("GET /api/takes/{name}", s.few(s.look))
	mux.HandleFunc("PUT /api/takes/{name}", s.upload)
	mux.HandleFunc("POST /api/takes/{name}/measure", s.measure)
	mux.HandleFunc("GET /api/takes/{name}/sound", s.few(s.sound))
	mux.HandleFunc("GET /api/takes/{name}/save/{kind}", s.few(s.save))
	mux.HandleFunc("GET /api/compare", s.few(s.compare))
	mux.HandleFunc("GET /api/compare/{kind}", s.few(s.saveComparison))
	return mux
}

// looksAtOnce is how many answers that read sound or draw are made at once; the
// others wait.
const looksAtOnce = 4

// few lets only so many requests through at once.
func (s *Server) few(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		select {
		case s.looks <- struct{}{}:
			defer func() { <-s.looks }()
			next(w, r)
		case <-r.Context().Done():
		}
	}
}

// Serve answers on ln until ctx ends; then it stops taking requests, cuts off
// what still runs after a moment, and returns nil.
func (s *Server) Serve(ctx context.Context, ln net.Listener) error {
	// Work in progress ends with ctx, whoever waits for it.
	work, cancel := context.WithCancel(context.WithoutCancel(ctx))
	defer cancel()
	srv := &http.Server{
		Handler:           s,
		ReadHeaderTimeout: 5 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    16 << 10,
		BaseContext:       func(net.Listener) context.Context { return work },
		ErrorLog:          silent,
	}
	done := make(chan error, 1)
	go func() { done <- srv.Serve(ln) }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	cancel()
	end, stop := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
	defer stop()
	if srv.Shutdown(end) != nil {
		srv.Close()
	}
	if err := <-done; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// trouble is an error that the page shows: its text is for the owner.
type trouble struct {
	status int
	text   string
}

func (t *trouble) Error() string { return t.text }

func refuse(status int, text string) error { return &trouble{status, text} }

// fail answers with an error in one line.
func fail(w http.ResponseWriter, err error) {
	t, ok := errors.AsType[*trouble](err)
	if !ok {
		t = &trouble{status: http.StatusInternalServerError, text: err.Error()}
		switch {
		case errors.Is(err, fs.ErrNotExist):
			t = &trouble{status: http.StatusNotFound, text: "there is no such take in the folder any more; load the page again"}
		case errors.Is(err, fs.ErrPermission):
			t = &trouble{status: http.StatusForbidden, text: "the folder does not let this program do that; look at its permissions"}
		}
	}
	if t.status == http.StatusServiceUnavailable {
		w.Header().Set("Retry-After", "5")
	}
	answer(w, t.status, map[string]string{"error": t.text})
}

// answer writes v as JSON.
func answer(w http.ResponseWriter, status int, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		status, b = http.StatusInternalServerError, []byte(`{"error":"the answer could not be written"}`)
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	w.Write(b) // an error means that nobody listens any more
}

// baseName is how the folder is called on the page.
func (s *Server) baseName() string {
	info, err := os.Stat(s.opt.Folder)
	if err != nil || info.Name() == "." || info.Name() == "/" {
		if wd, err := os.Getwd(); err == nil {
			return lastPart(wd)
		}
		return "this folder"
	}
	return info.Name()
}
