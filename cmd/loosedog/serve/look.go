package serve

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"sync"
	"time"

	"loosedog/audio"
	"loosedog/report"
)

// list answers with the folder's takes and what the page needs beside them.
func (s *Server) list(w http.ResponseWriter, _ *http.Request) {
	takes, odd, err := s.folder.entries()
	if err != nil {
		fail(w, err)
		return
	}
	machine, err := s.folder.machine()
	trouble := ""
	if err != nil {
		trouble = err.Error()
	}
	answer(w, http.StatusOK, map[string]any{
		"machine": machine, "machine_trouble": trouble, "folder": s.baseName(), "takes": takes, "odd": odd, "sheet": s.opt.Sheet,
		"take_bytes": s.opt.Limits.TakeBytes, "take_seconds": s.opt.Limits.TakeSeconds,
	})
}

// look answers with a measured take as the page shows it, and the take's
// outline; with {"measured": false} where it was not measured yet, and with why
// where the result in its place is another take's.
func (s *Server) look(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	if _, err := s.take(name); err != nil {
		fail(w, err)
		return
	}
	t, err := s.folder.measured(name)
	switch {
	case errors.Is(err, errForeign):
		fail(w, foreign(name))
		return
	case err != nil:
		fail(w, err)
		return
	case t == nil:
		answer(w, http.StatusOK, map[string]any{"name": name, "measured": false})
		return
	}
	if other := owner(t.Recording.Path, append(s.folder.rivals(name), name)); other != name {
		answer(w, http.StatusOK, map[string]any{"name": name, "measured": false, "why": share(name, other).Error()})
		return
	}
	page, err := report.NewPage(t, nil)
	if err != nil {
		fail(w, err)
		return
	}
	page.Title = name
	var peaks *report.PagePeaks
	if mono, err := s.open(r.Context(), name); err == nil {
		bare := *t
		bare.Recording.Usable = false // no clips, only the outline
		if all, err := report.ReadPageSound(mono, &bare); err == nil {
			peaks = &all.Peaks
		}
		mono.Close()
	}
	answer(w, http.StatusOK, map[string]any{"name": name, "measured": true, "page": page, "peaks": peaks})
}

// longestClip is how much sound is handed out at once, in seconds.
const longestClip = 3.0

// sound answers with a stretch of a take: ?from=&to= in seconds.
func (s *Server) sound(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	from, err1 := strconv.ParseFloat(q.Get("from"), 64)
	to, err2 := strconv.ParseFloat(q.Get("to"), 64)
	pair, err3 := strconv.Atoi(q.Get("pair"))
	if errors.Join(err1, err2, err3) != nil || !(from >= 0) || !(to > from) || to-from > longestClip || to > s.opt.Limits.TakeSeconds {
		fail(w, refuse(http.StatusBadRequest, "this stretch of sound cannot be had"))
		return
	}
	mono, err := s.open(r.Context(), r.PathValue("name"))
	if err != nil {
		fail(w, err)
		return
	}
	defer mono.Close()
	clip, err := report.ReadPageClip(mono, pair, from, to)
	if err != nil {
		fail(w, err)
		return
	}
	answer(w, http.StatusOK, clip)
}

// open opens the signal of a take that is measured.
func (s *Server) open(ctx context.Context, name string) (*audio.Mono, error) {
	path, err := s.take(name)
	if err != nil {
		return nil, err
	}
	info, err := s.folder.root.Lstat(name)
	if err != nil {
		return nil, err
	}
	mix, err := s.mixes.of(ctx, name, path, info.Size(), info.ModTime())
	if err != nil {
		return nil, err
	}
	return audio.OpenMono(ctx, path, mix)
}

// mixes remembers which signal of a take is measured: to find it the take has
// to be read through.
type mixes struct {
	mu   sync.Mutex
	kept map[string]keptMix
}

type keptMix struct {
	size    int64
	changed time.Time
	mix     audio.Mix
}

// mostMixes are remembered.
const mostMixes = 200

func (m *mixes) of(ctx context.Context, name, path string, size int64, changed time.Time) (audio.Mix, error) {
	m.mu.Lock()
	k, ok := m.kept[name]
	m.mu.Unlock()
	if ok && k.size == size && k.changed.Equal(changed) {
		return k.mix, nil
	}
	mix, err := mixOf(ctx, path)
	if err != nil {
		return mix, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.kept == nil || len(m.kept) >= mostMixes {
		m.kept = map[string]keptMix{}
	}
	m.kept[name] = keptMix{size, changed, mix}
	return mix, nil
}

func (m *mixes) forget(name string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.kept, name)
}

// mixOf asks the survey, but of a recording of one channel there is nothing to
// ask.
func mixOf(ctx context.Context, path string) (audio.Mix, error) {
	in, err := audio.Open(ctx, path)
	if err != nil {
		return audio.Mix{}, err
	}
	channels := in.Format().Channels
	in.Close()
	if channels == 1 {
		return audio.Mix{}, nil
	}
	q, err := audio.Survey(ctx, path, nil)
	if err != nil {
		return audio.Mix{}, err
	}
	return q.Mix, nil
}
