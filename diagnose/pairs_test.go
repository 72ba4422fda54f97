package diagnose

import (
	"slices"
	"testing"

	"loosedog/onset"
)

func TestPairsAndTheirRank(t *testing.T) {
	m := Measure("a.wav", take([]onset.Stroke{
		letter(997, 1000, 1050, 1090),  // 0
		letter(1067, 1070, 1120, 1160), // 1 half way: short by 0.75
		letter(1297, 1300, 1350, 1390), // 2
		bar(1345, 1360, 1420, 1460),    // 3 a space, early: short by 0.94
		letter(1597, 1600, 1650, 1690), // 4
		letter(1683, 1686, 1740, 1780), // 5 short by 0.19
		shared(1997, 2000),             // 6
		letter(2017, 2020, 2070, 2110), // 7 piled
		letter(2297, 2300, no, 2390),   // 8
		letter(2417, 2420, 2470, 2510), // 9
	}, even(2, 4000, 200, 3, 50, 35)), nil, Options{})
	pairs := Pairs(m)
	if len(pairs) != 10 {
		t.Fatalf("%d pairs of 10 and 2 strokes, want 10", len(pairs))
	}
	if p := pairs[0]; p.First != 0 || p.Second != 1 || !near(float64(p.IntervalMS), 70, 1e-9) ||
		!near(float64(p.ReadyMS), 90, 1e-9) || !near(float64(p.SlackMS), -20, 1e-9) || p.Spacing != SpacingCrowded {
		t.Errorf("first pair %+v", p)
	}
	var order []int
	for _, p := range Flagged(m) {
		order = append(order, p.Second)
	}
	if want := []int{7, 1, 5, 3}; !slices.Equal(order, want) {
		t.Errorf("flagged in order %v, want %v: piled, crowded by how much, crowded spaces", order, want)
	}
	if p, ok := Worst(m); !ok || p.Second != 7 {
		t.Errorf("worst pair %+v", p)
	}
	if _, ok := Worst(Measure("a.wav", take(even(9, 0, 200, 3, 50, 35)), nil, Options{})); ok {
		t.Error("a worst pair where none is flagged")
	}
	if p := Pairs(Measure("", nil, nil, Options{})); p == nil || len(p) != 0 {
		t.Errorf("pairs of nothing: %v", p)
	}
}
