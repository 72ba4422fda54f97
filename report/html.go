package report

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html"
	"io"
	"io/fs"
	"strings"

	"loosedog/diagnose"
)

// pageFiles are the parts of the page that shows a take. The scripts are plain
// ones, not modules, so that they run from one file as well as from a server.
//
//go:embed page
var pageFiles embed.FS

// PageScripts are the page's scripts in the order in which they are run.
var PageScripts = []string{
	"words.js", "draw.js", "sound.js", "choose.js", "strip.js", "paper.js", "charts.js", "pair.js", "story.js", "look.js",
}

// PageFiles are the page's own files: its scripts, and page.css.
func PageFiles() fs.FS {
	sub, err := fs.Sub(pageFiles, "page")
	if err != nil {
		panic(err) // the folder is compiled in: a slip, caught by any test
	}
	return sub
}

// HTML writes a take as one page that needs nothing else: styles, scripts,
// figures and the sound of the flagged pairs are inside, and it asks the network
// for nothing. sound may be nil: then the page is silent.
func HTML(w io.Writer, t *diagnose.Take, sound *PageSound) error {
	page, err := NewPage(t, sound)
	if err != nil {
		return err
	}
	// json escapes <, > and &, so nothing in it can end the element it stands in.
	data, err := json.Marshal(page)
	if err != nil {
		return fmt.Errorf("cannot write the take as a page: %w", err)
	}
	var figures bytes.Buffer
	if err := Text(&figures, t, TextOptions{}); err != nil {
		return err
	}
	style, err := fs.ReadFile(PageFiles(), "page.css")
	if err != nil {
		return err
	}
	var script strings.Builder
	for _, name := range append(append([]string{}, PageScripts...), "saved.js") {
		b, err := fs.ReadFile(PageFiles(), name)
		if err != nil {
			return err
		}
		script.Write(b)
	}
	frame, err := fs.ReadFile(PageFiles(), "saved.html")
	if err != nil {
		return err
	}
	out := strings.NewReplacer(
		"{{policy}}", policy(script.String(), string(style)),
		"{{title}}", html.EscapeString(page.Title),
		"{{style}}", string(style),
		"{{figures}}", html.EscapeString(figures.String()),
		"{{data}}", string(data),
		"{{script}}", script.String(),
	).Replace(string(frame))
	_, err = io.WriteString(w, out)
	return err
}

// policy is the content security policy of the page: its own script and style,
// named by their hashes, and nothing else at all.
func policy(script, style string) string {
	hash := func(s string) string {
		sum := sha256.Sum256([]byte(s))
		return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; script-src " + hash(script) + "; style-src " + hash(style) +
		"; img-src data:; base-uri 'none'; form-action 'none'"
}
