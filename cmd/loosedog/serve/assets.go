package serve

import (
	"embed"
	"io/fs"
	"net/http"
	"path"
	"strings"

	"loosedog/report"
)

// pageFiles are what the page has beyond looking at a take.
//
//go:embed page
var pageFiles embed.FS

// scripts are this package's own, in the order in which they run, after
// report's.
var scripts = []string{"ask.js", "rate.js", "wave.js", "bring.js", "record.js", "away.js", "compare.js", "folder.js", "correct.js", "take.js", "app.js"}

// index is the one page; which part of it is shown is its own business.
func (s *Server) index(w http.ResponseWriter, _ *http.Request) {
	b, err := fs.ReadFile(pageFiles, "page/index.html")
	if err != nil {
		fail(w, err)
		return
	}
	var tags strings.Builder
	for _, name := range append(append([]string{}, report.PageScripts...), scripts...) {
		tags.WriteString(`<script src="/page/` + name + `"></script>` + "\n")
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Write([]byte(strings.Replace(string(b), "{{scripts}}", tags.String(), 1)))
}

// asset hands out a script or a style: report's, or one of this package.
func (s *Server) asset(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("file")
	kinds := map[string]string{".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8"}
	kind, ok := kinds[path.Ext(name)]
	if !ok || !fs.ValidPath(name) {
		fail(w, refuse(http.StatusNotFound, "there is no such part of the page"))
		return
	}
	b, err := fs.ReadFile(report.PageFiles(), name)
	if err != nil {
		b, err = fs.ReadFile(pageFiles, "page/"+name)
	}
	if err != nil {
		fail(w, refuse(http.StatusNotFound, "there is no such part of the page"))
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Write(b)
}
