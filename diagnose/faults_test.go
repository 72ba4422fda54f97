package diagnose

import (
	"testing"
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
