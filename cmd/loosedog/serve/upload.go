package serve

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"loosedog/audio"
)

// upload takes a recording in: PUT with the WAV as body and its length
// announced. A name that is taken is refused with 409 and a free one, unless
// the query says replace=1.
func (s *Server) upload(w http.ResponseWriter, r *http.Request) {
	name, err := s.receive(w, r)
	if err == nil {
		answer(w, http.StatusCreated, map[string]string{"name": name})
		return
	}
	// Answered at once, however much of the body is still to come.
	rc := http.NewResponseController(w)
	_ = rc.EnableFullDuplex()
	w.Header().Set("Connection", "close")
	if errors.Is(err, errTaken) {
		answer(w, http.StatusConflict, map[string]string{
			"error": fmt.Sprintf("there is a take called %q already", name), "taken": name, "free": s.folder.free(name)})
	} else {
		fail(w, err)
	}
	_ = rc.Flush()
	// A connection that is closed while its sender still writes is reset, and the
	// answer lost with it; so what is on its way is let in for a while, and thrown
	// away.
	_ = rc.SetReadDeadline(time.Now().Add(s.opt.Limits.Quiet))
	_, _ = io.Copy(io.Discard, r.Body)
}

func (s *Server) receive(w http.ResponseWriter, r *http.Request) (string, error) {
	name := newName(r.PathValue("name"))
	replace := r.URL.Query().Get("replace") == "1"
	l := s.opt.Limits
	switch {
	case r.ContentLength < 0:
		return name, refuse(http.StatusLengthRequired, "the length of the recording was not announced")
	case r.ContentLength > l.TakeBytes:
		return name, refuse(http.StatusRequestEntityTooLarge, fmt.Sprintf("the recording is too long: %d MB are the most; cut out the stretch with the trouble", l.TakeBytes>>20))
	case r.ContentLength < 44:
		return name, refuse(http.StatusUnsupportedMediaType, "this is no WAV recording")
	}
	if !replace {
		// Asked before the body is read; the naming itself asks again.
		if s.folder.taken(name) {
			return name, errTaken
		}
	} else if other := s.folder.rival(name); other != "" {
		return name, refuse(http.StatusConflict, fmt.Sprintf("%q has that name with another ending; choose another name", other))
	} else if _, err := s.folder.measured(name); errors.Is(err, errForeign) {
		return name, foreign(name)
	}
	select {
	case s.uploads <- struct{}{}:
		defer func() { <-s.uploads }()
	default:
		return name, refuse(http.StatusServiceUnavailable, "other recordings are being sent just now; wait a moment and try again")
	}
	body := s.patient(w, r)
	head := make([]byte, 12)
	if _, err := io.ReadFull(body, head); err != nil {
		return name, broken()
	}
	if !audio.IsWAV(head) {
		return name, refuse(http.StatusUnsupportedMediaType, "this is no WAV recording")
	}
	err := s.folder.create(name, replace, func(file *os.File) error {
		n, err := io.Copy(file, io.MultiReader(bytes.NewReader(head), body))
		if err != nil || n != r.ContentLength {
			return broken()
		}
		// The body is here; what follows has no sender to be waited for.
		_ = http.NewResponseController(w).SetReadDeadline(time.Time{})
		return s.readable(r.Context(), file)
	})
	if err != nil {
		return name, err
	}
	s.mixes.forget(name)
	if replace {
		// It speaks of the recording that was there before.
		if err := s.folder.root.Remove(resultName(name)); err != nil && !errors.Is(err, os.ErrNotExist) {
			return name, err
		}
	}
	return name, nil
}

// broken is the error of a body that did not come whole.
func broken() error {
	return refuse(http.StatusBadRequest, "the recording did not arrive whole; nothing was kept")
}

// readable looks whether what arrived is a recording that can be measured, and
// not longer than can be.
func (s *Server) readable(ctx context.Context, file *os.File) error {
	in, err := audio.Open(ctx, filepath.Join(s.opt.Folder, lastPart(file.Name())))
	if err != nil {
		if u, ok := errors.AsType[*audio.UnreadableError](err); ok {
			return refuse(http.StatusUnsupportedMediaType, "the recording cannot be read: "+u.Reason)
		}
		return err
	}
	defer in.Close()
	if n := in.Announced(); float64(n) > s.opt.Limits.TakeSeconds*float64(in.Format().SampleRate) {
		return refuse(http.StatusRequestEntityTooLarge, fmt.Sprintf("the recording is too long: %.0f minutes are the most; cut out the stretch with the trouble", s.opt.Limits.TakeSeconds/60))
	}
	return nil
}

// patient is the request's body with an end to patience: a sender that is quiet
// for too long, or too slow on the whole, is cut off.
func (s *Server) patient(w http.ResponseWriter, r *http.Request) io.Reader {
	l := s.opt.Limits
	whole := l.Quiet + time.Duration(float64(r.ContentLength)/float64(l.BytesPerS)*float64(time.Second))
	return &patientReader{
		r: http.MaxBytesReader(w, r.Body, r.ContentLength), rc: http.NewResponseController(w),
		quiet: l.Quiet, end: time.Now().Add(whole),
	}
}

type patientReader struct {
	r     io.Reader
	rc    *http.ResponseController
	quiet time.Duration
	end   time.Time
}

func (p *patientReader) Read(b []byte) (int, error) {
	by := time.Now().Add(p.quiet)
	if by.After(p.end) {
		by = p.end
	}
	// A connection without deadlines has its own end.
	_ = p.rc.SetReadDeadline(by)
	return p.r.Read(b)
}
