package report

import (
	"strings"
	"unicode"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/norm"
	plotfont "gonum.org/v1/plot/font"
)

// drawable returns s with every character that the picture's font lacks
// replaced: by its base letter where Unicode decomposes it, else by "?" (a run
// of them by one). lost tells whether something could not be drawn as it is;
// the font itself would drop it without a word.
func drawable(s string) (out string, lost bool) {
	style := sans(textSize, false, ink)
	face := plotfont.DefaultCache.Lookup(style.Font, style.Font.Size)
	has := func(r rune) bool {
		var buf sfnt.Buffer
		i, err := face.Face.GlyphIndex(&buf, r)
		return err == nil && i != 0
	}
	var b strings.Builder
	unknown := false
	for _, r := range norm.NFC.String(clean(s)) {
		if has(r) {
			b.WriteRune(r)
			unknown = false
			continue
		}
		lost = true
		base := ""
		for _, d := range norm.NFKD.String(string(r)) {
			if has(d) && !unicode.Is(unicode.Mn, d) {
				base += string(d)
			}
		}
		switch {
		case base != "":
			b.WriteString(base)
			unknown = false
		case !unknown:
			b.WriteByte('?')
			unknown = true
		}
	}
	return b.String(), lost
}

// baseName is the last part of a path, whichever system wrote it.
func baseName(path string) string {
	path = strings.TrimRight(path, `/\`)
	return path[strings.LastIndexAny(path, `/\`)+1:]
}
