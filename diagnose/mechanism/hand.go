package mechanism

import (
	"math"
	"math/rand/v2"
)

// Hand is how somebody types. Intervals are strike to next strike.
type Hand struct {
	Name string
	Rate float64 // strokes a second within a line, pauses and bursts not counted
	// Spread is the standard deviation of the interval's logarithm: log-normal,
	// which fits typing well (Heliyon 2021, doi 10.1016/j.heliyon.2021.e08413,
	// puts a log-logistic slightly ahead of it).
	Spread float64
	// LogLogistic draws intervals from a log-logistic of the same spread.
	LogLogistic bool
	// Alternation is by how much pairs of opposite hands are faster than pairs of
	// one hand, s: 0.030 to 0.060 (Salthouse 1984).
	Alternation float64
	Shortest    float64 // s, no interval is shorter outside an overlap

	Hold       float64 // s, median time that the finger stays after the strike
	HoldSpread float64 // standard deviation of its logarithm
	Flicked    float64 // share of strokes whose finger is off before the strike
	Speed      float64 // m/s, median type-bar speed at the platen
	SpeedSpread,
	MinSpeed, MaxSpeed float64

	// Bursts: a share of strokes starts one, of BurstLength strokes on average,
	// with intervals BurstInterval (s, median) and flicked BurstFlicked of the
	// time.
	Bursts, BurstLength, BurstInterval, BurstFlicked float64
	// Overlaps is the share of opposite-hand pairs of two keys struck almost
	// together, OverlapInterval (s) apart.
	Overlaps, OverlapInterval float64
	// WordPause is the share of words before which the hand thinks, for about
	// PauseLength s; LinePause (s) is between a line's last strike and the
	// carriage return, and again before the next line.
	WordPause, PauseLength, LinePause float64

	// Habits is what the hand does besides typing; the zero value is nothing.
	Habits Habits
}

// Calm is an unhurried practised hand: 5 strokes a second.
func Calm() Hand {
	return Hand{
		Name: "calm hand", Rate: 5, Spread: 0.20, Alternation: 0.045, Shortest: 0.110,
		Hold: 0.038, HoldSpread: 0.25, Flicked: 0.03,
		Speed: 3, SpeedSpread: 0.16, MinSpeed: 2, MaxSpeed: 4.2,
		WordPause: 0.04, PauseLength: 0.5, LinePause: 0.5,
	}
}

// Brisk is a fast even hand: 7.5 strokes a second, some pairs tight.
func Brisk() Hand {
	h := Calm()
	h.Name, h.Rate, h.Spread, h.Shortest = "brisk hand", 7.5, 0.24, 0.070
	h.Hold, h.Flicked = 0.032, 0.08
	return h
}

// Staccato is a calm hand that flicks a share of its strokes.
func Staccato(flicked float64) Hand {
	h := Calm()
	h.Name, h.Flicked, h.Shortest = "staccato hand", flicked, 0.09
	h.Hold = 0.034
	return h
}

// Hurried types in bursts with overlapping pairs.
func Hurried() Hand {
	h := Calm()
	h.Name, h.Rate, h.Spread, h.Shortest = "hurried hand", 6.5, 0.28, 0.055
	h.Bursts, h.BurstLength, h.BurstInterval, h.BurstFlicked = 0.03, 4, 0.078, 0.3
	h.Overlaps, h.OverlapInterval = 0.012, 0.045
	return h
}

// Slow seeks each key and stays on it: 2.2 strokes a second, uneven.
func Slow() Hand {
	h := Calm()
	h.Name, h.Rate, h.Spread, h.Shortest = "slow hand", 2.2, 0.35, 0.2
	h.Alternation, h.Hold, h.HoldSpread, h.Flicked = 0.03, 0.085, 0.35, 0.01
	h.Speed, h.SpeedSpread = 2.8, 0.22
	return h
}

// DrawHand draws an ordinary hand near the given one: rate, rhythm and touch
// differ by 10 to 20 per cent.
func DrawHand(h Hand, seed uint64) Hand {
	r := rand.New(rand.NewPCG(seed, 0x4a2d))
	h.Rate *= between(r, 0.85, 1.15)
	h.Spread *= between(r, 0.85, 1.2)
	h.Alternation = between(r, 0.030, 0.060)
	h.Hold *= between(r, 0.8, 1.25)
	h.HoldSpread *= between(r, 0.8, 1.3)
	h.Speed *= between(r, 0.85, 1.15)
	h.LinePause *= between(r, 0.8, 1.4)
	h.LogLogistic = r.IntN(2) == 0
	return h
}

// PerMinute is the rate in strokes a second of words of five strokes a minute:
// a mean interval of 12000/wpm ms.
func PerMinute(wpm float64) float64 { return wpm / 12 }

// touch draws a hand's next touch.
type touch struct {
	Hand
	r     *rand.Rand
	burst int
	other float64 // share of opposite-hand pairs in the text
}

func newTouch(h Hand, lines [][]rune, r *rand.Rand) *touch {
	t := &touch{Hand: h, r: r}
	pairs, other := 0, 0
	for _, line := range lines {
		for i := 1; i < len(line); i++ {
			pairs++
			if alternate(line[i-1], line[i]) {
				other++
			}
		}
	}
	if pairs > 0 {
		t.other = float64(other) / float64(pairs)
	}
	t.Rate = max(t.Rate, 0.1)
	return t
}

// interval in s from the strike of key a to the strike of key b, and whether
// the stroke of b belongs to a burst.
func (t *touch) interval(a, b rune) (s float64, inBurst bool) {
	if t.burst > 0 {
		t.burst--
		inBurst = true
	} else if t.r.Float64() < t.Bursts && a != b {
		t.burst = 1 + int(t.r.ExpFloat64()*max(t.BurstLength-1, 0))
		inBurst = true
	}
	if a != b && a != ' ' && b != ' ' && alternate(a, b) && t.r.Float64() < t.Overlaps {
		return t.OverlapInterval * math.Exp(0.15*t.r.NormFloat64()), inBurst
	}
	if inBurst {
		return max(t.BurstInterval*math.Exp(0.18*t.r.NormFloat64()), 0.04), true
	}
	// Opposite hands gain, one hand loses, the mean stays.
	mean := 1/t.Rate + t.Alternation*t.other
	if alternate(a, b) {
		mean -= t.Alternation
	}
	mean = max(mean, 0.5/t.Rate)
	s = mean * t.around(t.Spread)
	if a == ' ' && t.r.Float64() < t.WordPause {
		s += t.PauseLength * (0.3 + 0.7*t.r.ExpFloat64())
	}
	return max(s, t.Shortest), false
}

// around draws a factor with mean 1.
func (t *touch) around(spread float64) float64 {
	if t.LogLogistic && spread < 0.5 {
		// Scale b so that the logarithm's standard deviation is spread; the
		// distribution's mean is pi b / sin(pi b) times its median.
		b := spread * math.Sqrt(3) / math.Pi
		u := min(max(t.r.Float64(), 1e-4), 1-1e-4)
		return math.Pow(u/(1-u), b) * math.Sin(math.Pi*b) / (math.Pi * b)
	}
	return math.Exp(spread*t.r.NormFloat64() - spread*spread/2)
}

// hold in s that the finger stays on the key after the strike, 0 when flicked.
func (t *touch) hold(inBurst bool) float64 {
	share := t.Flicked
	if inBurst {
		share = max(share, t.BurstFlicked)
	}
	if t.r.Float64() < share {
		return 0
	}
	h := t.Hold * math.Exp(t.HoldSpread*t.r.NormFloat64())
	if inBurst {
		h *= 0.8
	}
	return h
}

// speed of the type bar in m/s.
func (t *touch) speed() float64 {
	v := t.Speed * math.Exp(t.SpeedSpread*t.r.NormFloat64())
	return min(max(v, t.MinSpeed), max(t.MaxSpeed, t.MinSpeed))
}
