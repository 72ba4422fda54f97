package serve

import (
	"bytes"
	"context"
	"io"
	"mime"
	"net/http"
	"strconv"

	"loosedog/diagnose"
	"loosedog/report"
)

// outputs are what a take can be saved as: the ending of the file, its type,
// and what writes it.
var outputs = map[string]struct {
	ending, kind string
	write        func(ctx context.Context, s *Server, name string, t *diagnose.Take, w io.Writer) error
}{
	"picture": {".png", "image/png", func(ctx context.Context, s *Server, name string, t *diagnose.Take, w io.Writer) error {
		clip, err := s.pictureSound(ctx, name, t)
		if err != nil {
			return err
		}
		return report.PNG(w, t, clip)
	}},
	"note": {".md", "text/markdown; charset=utf-8", func(_ context.Context, _ *Server, _ string, t *diagnose.Take, w io.Writer) error {
		return report.Markdown(w, t)
	}},
	"table": {".csv", "text/csv; charset=utf-8", func(_ context.Context, _ *Server, _ string, t *diagnose.Take, w io.Writer) error {
		return report.CSV(w, t)
	}},
	"data": {".json", "application/json; charset=utf-8", func(_ context.Context, _ *Server, _ string, t *diagnose.Take, w io.Writer) error {
		return report.JSON(w, t)
	}},
	"labels": {".labels.txt", "text/plain; charset=utf-8", func(_ context.Context, _ *Server, _ string, t *diagnose.Take, w io.Writer) error {
		return report.Labels(w, t)
	}},
	"page": {".html", "text/html; charset=utf-8", func(ctx context.Context, s *Server, name string, t *diagnose.Take, w io.Writer) error {
		mono, err := s.open(ctx, name)
		if err != nil {
			return err
		}
		defer mono.Close()
		sound, err := report.ReadPageSound(mono, t)
		if err != nil {
			return err
		}
		return report.HTML(w, t, sound)
	}},
}

// save hands out an output of a measured take as a file.
func (s *Server) save(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	out, ok := outputs[r.PathValue("kind")]
	if !ok {
		fail(w, refuse(http.StatusNotFound, "there is no such output"))
		return
	}
	if _, err := s.take(name); err != nil {
		fail(w, err)
		return
	}
	t, err := s.folder.measured(name)
	if err != nil {
		fail(w, err)
		return
	}
	if t == nil {
		fail(w, refuse(http.StatusNotFound, "this take was not measured yet"))
		return
	}
	// Made whole before anything is sent.
	var b bytes.Buffer
	if err := out.write(r.Context(), s, name, t, &b); err != nil {
		fail(w, err)
		return
	}
	handOut(w, stem(name)+out.ending, out.kind, b.Bytes())
}

// handOut answers with a file to keep, made whole before.
func handOut(w http.ResponseWriter, name, kind string, file []byte) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Length", strconv.Itoa(len(file)))
	h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	w.Write(file)
}

// pictureSound reads the stretch of sound that the picture shows.
func (s *Server) pictureSound(ctx context.Context, name string, t *diagnose.Take) (report.Waveform, error) {
	from, to, ok := report.PictureSpan(t)
	if !ok || !(to > from) {
		return report.Waveform{}, nil
	}
	mono, err := s.open(ctx, name)
	if err != nil {
		return report.Waveform{}, err
	}
	defer mono.Close()
	return report.ReadWaveform(mono, from, to)
}
