package main

import (
	"fmt"
	"os"

	"loosedog/diagnose/passage"
)

// mostCounted is how many crowded or piled letters a page can have at most: more
// than any page has letters.
const mostCounted = 5000

// readText reads the text that was typed and makes sure that it can be used, so
// that nobody waits for a measurement that then goes without it.
func readText(path string) (string, error) {
	if path == stdoutPath {
		return "", usagef("save it to a file first, then: --text passage.txt", "the text cannot come from standard input")
	}
	// Stat first: to open a named pipe would wait for its writer.
	info, err := os.Stat(path)
	if err == nil && !info.Mode().IsRegular() {
		return "", badFile(fmt.Errorf("cannot read the text %q: it is not a plain file; give the file that holds what was typed", path))
	}
	if err != nil {
		return "", badFile(fmt.Errorf("cannot read the text %q: %w", path, bare(err)))
	}
	f, err := os.Open(path)
	if err != nil {
		return "", badFile(fmt.Errorf("cannot read the text %q: %w", path, bare(err)))
	}
	defer f.Close()
	text, err := passage.Read(f)
	if err != nil {
		return "", badFile(fmt.Errorf("cannot read the text %q: %w", path, bare(err)))
	}
	return text.String(), nil
}
