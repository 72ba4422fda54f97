package mechanism

import (
	"bytes"
	"math"
	"os"
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"

	"loosedog/audio/synth"
)

// What the hand does besides typing leaves the page as the physics has it: the
// carriage stands one space further for each space made, one less for each
// backspace, and where the tabulator ran to.
func TestHabitsMoveTheCarriage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.SampledFrom([]float64{0, 0.1, 0.5, 1})
		h := Calm()
		h.Habits = Habits{Backspaces: share.Draw(t, "backspaces"), Capitals: share.Draw(t, "capitals"), Tabs: share.Draw(t, "tabs"),
			Margins: share.Draw(t, "margins"), Between: share.Draw(t, "between")}
		p := perform(t, Sound(), h, cutLines(Quay, 30), rapid.Uint64().Draw(t, "seed"))
		moved := map[int]int{}
		last := 0.0
		for _, o := range p.Operations {
			moved[o.Line] += o.Spaces
			if o.Start <= 0 || o.End <= o.Start || len(o.Sounds) == 0 {
				t.Fatalf("%s from %.3f to %.3f s with %d sounds", o.Kind, o.Start, o.End, len(o.Sounds))
			}
			if o.Start < last {
				t.Fatalf("%s at %.3f s, before the one at %.3f s", o.Kind, o.Start, last)
			}
			last = o.Start
		}
		strokes := map[int]int{}
		for i := range p.Strokes {
			k := &p.Strokes[i]
			strokes[k.Line] += k.Moved
			if i == 0 || p.Strokes[i-1].Line != k.Line {
				if k.Position != max(k.Moved, 0) {
					t.Fatalf("line %d begins at %d after moving %d", k.Line, k.Position, k.Moved)
				}
				continue
			}
			b := &p.Strokes[i-1]
			made := 0
			if !math.IsNaN(b.Landing) {
				made = 1
			}
			if k.Position != b.Position+made+k.Moved {
				t.Fatalf("stroke %d stands at %d, the one before at %d: %d made, %d moved", i, k.Position, b.Position, made, k.Moved)
			}
			if k.Strike <= b.Strike {
				t.Fatalf("stroke %d strikes before the one before it", i)
			}
			if k.Moved != 0 && k.Label != Clear {
				t.Fatalf("a letter after a move of the carriage by hand is %s", k.Label)
			}
		}
		for line, n := range moved {
			if strokes[line] != n {
				t.Fatalf("line %d: operations move %d, strokes say %d", line, n, strokes[line])
			}
		}
	})
}

// A letter that is typed over stands where the wrong one stood.
func TestBackspaceTypesOver(t *testing.T) {
	h := Calm()
	h.Habits.Backspaces = 0.2
	p := perform(t, Sound(), h, Shelf, 5)
	backs := 0
	for i := range p.Strokes {
		if n := p.Strokes[i].Moved; n < 0 {
			backs -= n
			if first := &p.Strokes[i+n]; first.Position != p.Strokes[i].Position {
				t.Errorf("%q at %d is typed over %q at %d", p.Strokes[i].Char, p.Strokes[i].Position, first.Char, first.Position)
			}
		}
	}
	done := 0
	for _, o := range p.Operations {
		if o.Kind == DidBackspace {
			done++
			n := 0
			for _, s := range o.Sounds {
				if s.Kind == synth.Pawl {
					n++
				}
			}
			if n < 2 {
				t.Errorf("a backspace with %d sounds of pawl and dog", n)
			}
		}
	}
	if backs < 20 || done != backs {
		t.Errorf("%d backspaces done, strokes moved back %d", done, backs)
	}
}

// A capital has its shift down before it and up after it, with nothing struck in
// between; its own strike is as any other's.
func TestShiftAroundCapitals(t *testing.T) {
	h := Brisk()
	h.Habits.Capitals = 0.7
	p := perform(t, Sound(), h, Quay, 3)
	capitals := 0
	for i := range p.Strokes {
		k := &p.Strokes[i]
		if !unicode.IsUpper(k.Char) {
			continue
		}
		o := p.Operations[capitals]
		capitals++
		down, up := o.Sounds[1].Time, o.Sounds[2].Time
		if o.Kind != DidShift || down > k.Strike-0.04 || down < k.Strike-0.2 || up < k.Strike+0.05 {
			t.Errorf("%s from %.3f to %.3f s for %q struck at %.3f", o.Kind, down, up, k.Char, k.Strike)
		}
		for j := range p.Strokes {
			if at := p.Strokes[j].Strike; j != i && at > o.Start && at < up {
				t.Errorf("%q is struck while the shift for %q is down", p.Strokes[j].Char, k.Char)
			}
		}
	}
	if capitals < 10 || capitals != len(p.Operations) {
		t.Errorf("%d capitals, %d operations", capitals, len(p.Operations))
	}
}

// Without habits nothing is done, and the truth says so by saying nothing.
func TestNoHabits(t *testing.T) {
	p := perform(t, Sound(), Calm(), Quay, 3)
	if len(p.Operations) != 0 || len(p.Truth().Noises) != 0 {
		t.Errorf("%d operations", len(p.Operations))
	}
}

// The conditions do what their names say, and the truth carries it through a file.
func TestBesides(t *testing.T) {
	want := map[string][]string{
		"backspaces": {DidBackspace}, "capitals": {DidShift}, "tabulator": {DidTab},
		"margin release, paper bail, tab stops set": {DidMargin, DidBail, DidTabSet},
	}
	for _, c := range Besides() {
		did := map[string]int{}
		for seed := range uint64(4) {
			p, err := c.Make(seed).Perform()
			if err != nil {
				t.Fatal(err)
			}
			path := t.TempDir() + "/take.truth.json"
			if err := p.WriteTruth(path); err != nil {
				t.Fatal(err)
			}
			truth := readTruth(t, path)
			if len(truth.Noises) != len(p.Operations) {
				t.Fatalf("%s: %d noises for %d operations", c.Name, len(truth.Noises), len(p.Operations))
			}
			for i, n := range truth.Noises {
				o := p.Operations[i]
				if n.Kind != o.Kind || n.Spaces != o.Spaces || n.Start != o.Start || n.End != o.End {
					t.Fatalf("%s: %+v of %+v", c.Name, n, o)
				}
				did[n.Kind]++
			}
		}
		kinds, ok := want[c.Name]
		for _, k := range kinds {
			if did[k] < 3 {
				t.Errorf("%s: %d times %s", c.Name, did[k], k)
			}
		}
		if ok && len(did) != len(kinds) || !ok && len(did) != 6 {
			t.Errorf("%s: %v", c.Name, did)
		}
		if strings.Contains(c.Name, "tab") && did[DidTab]+did[DidTabSet] == 0 {
			t.Errorf("%s: no tab", c.Name)
		}
	}
}

// What is done besides typing can be heard: the samples differ in its sounds'
// stretch, and before the first of them they do not.
func TestOperationsSound(t *testing.T) {
	s := Besides()[0].Make(2)
	s.Text = firstLines(s.Text, 1)
	s.Hand.Habits.Backspaces = 0.3
	s.Recording = synth.Plain()
	p, with, rate, err := s.Record()
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Operations) == 0 {
		t.Fatal("nothing done")
	}
	first := p.Operations[0].Start
	p.Operations = nil
	rec := s.Recording
	rec.Duration = p.Duration
	without, err := synth.Render(p.Sounds(), s.Palette, rec, s.Seed)
	if err != nil {
		t.Fatal(err)
	}
	n := int(first * rate)
	for i := range n - 1 {
		if with[i] != without[i] {
			t.Fatalf("sample %d differs, the first operation is at sample %d", i, n)
		}
	}
	var power float64
	for i := n; i < n+int(0.02*rate); i++ {
		power += math.Pow(with[i]-without[i], 2)
	}
	if !(power > 0) {
		t.Error("the operation is not heard")
	}
}

func readTruth(t *testing.T, path string) *Truth {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	truth, err := ReadTruth(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return truth
}
