package diagnose

import (
	"math/rand/v2"
	"testing"
)

// travels of lines of n spaces; the wheel counts on from line to line, loses the
// count now and then, and each travel that ends on its tooth is longer.
func wheel(r *rand.Rand, lines, n, teeth int, extra, slips float64) (line, spaces []int, y []float64) {
	count, wheel := 0, 0
	for l := range lines {
		for range n {
			v := 0.6 * r.NormFloat64()
			if wheel%teeth == 3 {
				v += extra
			}
			line, spaces, y = append(line, l), append(spaces, count), append(y, v)
			count++
			wheel++
			if r.Float64() < slips {
				wheel++ // a space that was not heard
			}
		}
	}
	return line, spaces, y
}

func usualTeeth() []int { return (&Case{}).teeth() }

func TestEveryToothFindsTheWheel(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 1))
	for _, teeth := range []int{9, 10, 14, 17, 22, 30} {
		line, spaces, y := wheel(r, 8, 60, teeth, 5, 0.004)
		by, ok := everyTooth(line, spaces, y, usualTeeth())
		if !ok || by.Teeth != teeth || by.P > 0.01 || by.Low < 1 {
			t.Errorf("%d teeth: %d, p %g, longer by %g (%g, %g)", teeth, by.Teeth, by.P, by.Excess, by.Low, by.High)
		}
	}
}

// Even wheels: the permutation test must not claim more than chance gives.
func TestEveryToothHoldsItsLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 1))
	low := 0
	const takes = 60
	for range takes {
		line, spaces, y := wheel(r, 8, 60, 14, 0, 0)
		if by, ok := everyTooth(line, spaces, y, usualTeeth()); ok && by.P <= 0.05 {
			low++
		}
	}
	if low > 9 { // 3 expected
		t.Errorf("%d of %d even wheels under 0.05", low, takes)
	}
}

func TestEveryToothOfNothing(t *testing.T) {
	if _, ok := everyTooth(nil, nil, nil, usualTeeth()); ok {
		t.Error("a tooth in no travels")
	}
	line, spaces, _ := wheel(rand.New(rand.NewPCG(7, 1)), 4, 50, 14, 0, 0)
	if by, ok := everyTooth(line, spaces, make([]float64, len(line)), usualTeeth()); ok && by.P < 0.5 {
		t.Errorf("a tooth in travels that are all alike: %+v", by)
	}
}
