package serve

import (
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"loosedog/diagnose/record"
)

// longestName is in bytes, with room left for the endings of what is made of a
// take.
const longestName = 120

// plainName tells whether a name from outside may be that of a file in the
// folder: one part of a path, not hidden, without control characters.
func plainName(name string) bool {
	if name == "" || len(name) > 250 || name[0] == '.' || !utf8.ValidString(name) {
		return false
	}
	if strings.ContainsAny(name, `/\:`) || !filepath.IsLocal(name) {
		return false
	}
	return !strings.ContainsFunc(name, func(r rune) bool {
		return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Zl, r) || unicode.Is(unicode.Zp, r)
	})
}

// takeName checks a name from outside as that of a take.
func takeName(name string) error {
	if !plainName(name) || !isTake(name) {
		return refuse(http.StatusBadRequest, "this cannot be the name of a take")
	}
	return nil
}

func isTake(name string) bool {
	return slices.Contains(record.Endings, strings.ToLower(filepath.Ext(name)))
}

// stem is a name without its ending.
func stem(name string) string { return strings.TrimSuffix(name, filepath.Ext(name)) }

// newName makes of whatever a file was called elsewhere a name for a take that
// every system can keep: letters, digits, blanks and a few signs, ending in
// .wav.
func newName(name string) string {
	name = lastPart(strings.ToValidUTF8(name, ""))
	if isTake(name) {
		name = stem(name)
	}
	var b strings.Builder
	for _, r := range norm.NFC.String(name) {
		switch {
		case unicode.IsLetter(r), unicode.IsDigit(r), unicode.Is(unicode.Mn, r), strings.ContainsRune("-_.,()+'", r):
			b.WriteRune(r)
		default:
			b.WriteByte(' ')
		}
	}
	clean := strings.Join(strings.Fields(b.String()), " ")
	for len(clean) > longestName {
		_, n := utf8.DecodeLastRuneInString(clean)
		clean = clean[:len(clean)-n]
	}
	clean = strings.Trim(clean, " .")
	// Names that one system keeps for its devices.
	if clean == "" || !filepath.IsLocal(clean) || reserved(clean) {
		clean = strings.TrimSpace("take " + clean)
	}
	return clean + ".wav"
}

// reserved tells whether Windows keeps a name for a device, with or without an
// ending.
func reserved(name string) bool {
	first, _, _ := strings.Cut(strings.ToUpper(name), ".")
	switch first = strings.TrimSpace(first); {
	case slices.Contains([]string{"CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"}, first):
		return true
	case len(first) == 4 && (strings.HasPrefix(first, "COM") || strings.HasPrefix(first, "LPT")):
		return first[3] >= '0' && first[3] <= '9'
	}
	return false
}

// lastPart is the last part of a path, whichever system wrote it.
func lastPart(path string) string {
	path = strings.TrimRight(path, `/\`)
	return path[strings.LastIndexAny(path, `/\`)+1:]
}
