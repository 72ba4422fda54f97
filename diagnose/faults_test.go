package diagnose

import (
	"testing"

	"loosedog/onset"
)

type fixedRule struct {
	f  Finding
	ok bool
}

func (r fixedRule) Find(*Case) (Finding, bool) { return r.f, r.ok }

func TestFindingsAreRankedAndNeverNull(t *testing.T) {
	m := Measure("a.wav", take(even(9, 1000, 200, 3, 50, 35)), nil, Options{})
	asked := []Rule{
		fixedRule{Finding{Fault: "a", Strength: Possible}, true},
		fixedRule{Finding{Fault: "b", Strength: Strong}, true},
		fixedRule{Finding{Fault: "c", Strength: Strong}, false},
		fixedRule{Finding{Fault: "d", Strength: Likely}, true},
		fixedRule{Finding{Fault: "e", Strength: Strong}, true},
	}
	got := ""
	for _, f := range findings(&Case{Take: m}, asked) {
		got += f.Fault
		if f.Evidence == nil || f.Where == nil {
			t.Errorf("%s has null lists", f.Fault)
		}
	}
	if got != "beda" {
		t.Errorf("order %q, want %q", got, "beda")
	}
	m.Recording.Usable = false
	if f := findings(&Case{Take: m}, asked); f == nil || len(f) != 0 {
		t.Errorf("findings of an unusable take: %v", f)
	}
}

// What explains more stands first, however weak.
func TestFindingsThatExplainMoreComeFirst(t *testing.T) {
	m := Measure("a.wav", take(even(9, 1000, 200, 3, 50, 35)), nil, Options{})
	got := ""
	for _, f := range findings(&Case{Take: m}, []Rule{
		fixedRule{Finding{Fault: "a", Strength: Strong}, true},
		fixedRule{Finding{Fault: "b", Strength: Possible, Explains: 7}, true},
		fixedRule{Finding{Fault: "c", Strength: Strong, Explains: 7}, true},
		fixedRule{Finding{Fault: "d", Strength: Likely, Explains: 9}, true},
	}) {
		got += f.Fault
	}
	if got != "dcba" {
		t.Errorf("order %q, want %q", got, "dcba")
	}
}

// Travels that go unheard at one place of every line are a binding; as many that
// go unheard anywhere are not.
func TestHolesAtOnePlace(t *testing.T) {
	make := func(hole func(line, position int) bool) *Take {
		var lines [][]onset.Stroke
		for l := range 8 {
			var line []onset.Stroke
			for p := range 55 {
				at := 1000 + 20000*float64(l) + 200*float64(p)
				s := letter(at-3, at, at+40, at+75+0.02*float64((p*7+l*3)%13))
				if hole(l, p) {
					s = letter(at-3, at, no, no)
				}
				line = append(line, s)
			}
			lines = append(lines, line)
		}
		return Measure("a.wav", take(lines...), nil, Options{})
	}
	find := func(m *Take) (Finding, bool) { return binding(newCase(m, nil, Options{})) }
	m := make(func(_, p int) bool { return p == 21 || p == 22 })
	f, ok := find(m)
	if !ok || len(f.Where) != 16 || f.Strength == Strong {
		t.Errorf("%v %+v", ok, f)
	}
	for _, i := range f.Where {
		if p := m.Strokes[i].Position; p != 21 && p != 22 {
			t.Errorf("stroke %d at position %d", i, p)
		}
	}
	if f, ok := find(make(func(l, p int) bool { return (p*31+l*17)%27 == 0 })); ok {
		t.Errorf("a binding of holes all over: %+v", f)
	}
	if f, ok := find(make(func(_, p int) bool { return p > 46 })); ok {
		t.Errorf("a binding at the line's end, where the bell rings: %+v", f)
	}
}
