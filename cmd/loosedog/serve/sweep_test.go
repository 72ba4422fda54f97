package serve

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// What a killed run left behind goes; what is on its way, and what is somebody
// else's, stays.
func TestSweepTakesOldPartsOnly(t *testing.T) {
	dir := t.TempDir()
	now := time.Now()
	for name, old := range map[string]bool{
		".loosedog-00000000000000aa.part": true, ".loosedog-00000000000000bb.part": false, ".other.part": true, "a.wav": true,
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte("x"), 0o644); err != nil {
			t.Fatal(err)
		}
		if old {
			if err := os.Chtimes(path, now, now.Add(-2*oldPart)); err != nil {
				t.Fatal(err)
			}
		}
	}
	f, err := openFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	f.sweep(now)
	for name, want := range map[string]bool{
		".loosedog-00000000000000aa.part": false, ".loosedog-00000000000000bb.part": true, ".other.part": true, "a.wav": true,
	} {
		if _, err := os.Stat(filepath.Join(dir, name)); (err == nil) != want {
			t.Errorf("%s: there %v, want %v", name, err == nil, want)
		}
	}
}
