package main

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"loosedog/diagnose/compare"
)

// The table counts what was said, and a verdict that is not wanted is not right.
func TestComparisonsTable(t *testing.T) {
	kinds := changes()[:2]
	kinds[1].want = []string{compare.Worse}
	kinds[0].name, kinds[1].name = "one", "two"
	list, err := comparisons(t.Context(), kinds, 5, 4, func(_ context.Context, c change, seed uint64) (*compare.Comparison, error) {
		k := &compare.Comparison{Verdict: compare.Better}
		if seed == 7 {
			k.Verdict = compare.CannotTell
		}
		k.Before.Counted, k.Before.Replayed = 10, compare.Range{Value: 12, Low: 9, High: 15}
		k.After.Counted, k.After.Replayed = 10, compare.Range{Value: 12, Low: 11, High: 15}
		return k, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := writeComparisons(&b, list); err != nil {
		t.Fatal(err)
	}
	rows := strings.Split(b.String(), "\n")
	for i, want := range []string{"| one | 4 | 3 | 0 | 0 | 1 | 75 % | 2.00 | 50 % |", "| two | 4 | 3 | 0 | 0 | 1 | 0 % | 2.00 | 50 % |"} {
		if got := strings.Join(strings.Fields(rows[i+2]), " "); got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}

// One pair of takes by events and one through sound.
func TestCompareOnce(t *testing.T) {
	c := changes()[0]
	k, err := compareUnheard(t.Context(), c, 77)
	if err != nil || k.Verdict != compare.Better {
		t.Errorf("%v, %+v", err, k)
	}
	if testing.Short() {
		return
	}
	k, err = compareHeard(t.Context(), changes()[6], 77)
	if err != nil || k.Verdict == compare.Better || k.Verdict == compare.Worse {
		t.Errorf("the same machine twice: %v, %+v", err, k)
	}
}
