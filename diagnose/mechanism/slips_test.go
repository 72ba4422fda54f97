package mechanism

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Without slips what is typed is the text; with them every typed character stands
// for one that is there, in order but where two were exchanged, and a performance
// of it has one stroke for each.
func TestSlips(t *testing.T) {
	typed, meant := Slips{Missed: -1, Twice: -1}.Make(Shelf, 1)
	if typed != Shelf || len(meant) != len(strings.ReplaceAll(Shelf, "\n", "")) {
		t.Errorf("%d characters of %q", len(meant), typed)
	}
	lines := strings.Split(Shelf, "\n")
	typed, _ = Slips{Missed: 1, Twice: 2}.Make(Shelf, 1)
	if want := strings.Join(append([]string{lines[0], lines[2]}, lines[2:]...), "\n"); typed != want {
		t.Errorf("a line missed and one typed twice: %q", typed)
	}
	rapid.Check(t, func(t *rapid.T) {
		s := Slips{Rate: rapid.Float64Range(0, 0.3).Draw(t, "rate"), Missed: rapid.IntRange(-1, 8).Draw(t, "missed"),
			Twice: rapid.IntRange(-1, 8).Draw(t, "twice"), Width: rapid.SampledFrom([]int{0, 12, 41, 80}).Draw(t, "width")}
		text := rapid.SampledFrom([]string{Shelf, Quay, "one     two\nthree"}).Draw(t, "text")
		typed, meant := s.Make(text, rapid.Uint64().Draw(t, "seed"))
		runes := []rune(text)
		if n := len([]rune(strings.ReplaceAll(typed, "\n", ""))); n != len(meant) {
			t.Fatalf("%d characters, %d of them are said to stand for something", n, len(meant))
		}
		for i, m := range meant {
			if m < 0 || m >= len(runes) {
				t.Fatalf("character %d stands for %d", i, m)
			}
			if i > 0 && m < meant[i-1] && s.Twice < 0 {
				t.Fatalf("character %d stands for %d after %d", i, m, meant[i-1])
			}
		}
	})
}
