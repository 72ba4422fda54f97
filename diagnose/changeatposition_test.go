package diagnose

import (
	"math/rand/v2"
	"testing"
)

// lines of travels along 60 positions, those from from to to longer by extra.
func along(r *rand.Rand, lines, from, to int, extra float64) (x []int, y []float64) {
	for range lines {
		for p := range 60 {
			v := 0.05*float64(p) + 0.7*r.NormFloat64()
			if p >= from && p <= to {
				v += extra
			}
			if r.Float64() > 0.1 {
				x, y = append(x, p), append(y, v)
			}
		}
	}
	return x, y
}

func TestChangeAtPosition(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 1))
	for _, c := range []struct{ from, to int }{{20, 20}, {31, 33}, {5, 9}, {50, 52}} {
		x, y := along(r, 8, c.from, c.to, 6)
		best, ok := changeAtPosition(x, y)
		if !ok || best.From < c.from-1 || best.To > c.to+1 || best.P > 0.02 || best.Low < 4 || best.High > 8 {
			t.Errorf("%d to %d: %+v", c.from, c.to, best)
		}
	}
}

// With all the places looked at taken into account an even line gives one under
// 0.05 in 20 times or less.
func TestChangeAtPositionHoldsItsLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 1))
	low := 0
	const takes = 200
	for range takes {
		x, y := along(r, 8, 0, -1, 0)
		if best, ok := changeAtPosition(x, y); ok && best.P < 0.05 {
			low++
		}
	}
	if low > 17 { // 10, and 2.2 standard deviations
		t.Errorf("%d of %d even lines under 0.05", low, takes)
	}
}

func TestChangeAtPositionOfNothing(t *testing.T) {
	if _, ok := changeAtPosition(nil, nil); ok {
		t.Error("a place in no line")
	}
	if best, ok := changeAtPosition([]int{1, 2, 3}, []float64{1, 2, 3}); ok {
		t.Errorf("a place in three travels: %+v", best)
	}
}
