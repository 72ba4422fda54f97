package synth

import (
	"math"
	"math/rand/v2"
)

// Silent as a Palette level means that the sound cannot be heard at all.
const Silent = -200.0

// Palette is how one machine sounds: a voice and a usual level for each kind.
type Palette struct {
	// Level is the usual peak level of each kind in dB relative to the usual
	// strike (0). Lower one to bury it, set it to Silent to remove it.
	Level [kinds]float64
	// Second is the share of strikes with a second hit, SecondDelay (s) its
	// usual distance and SecondLevel (dB, relative to its strike) its level.
	Second, SecondDelay, SecondLevel float64
	// ReturnEnd is the level in dB, relative to the usual strike, of the thump
	// that ends a carriage return.
	ReturnEnd float64

	voices [kinds]voice
}

// span is a range to draw from.
type span struct{ low, high float64 }

func (s span) draw(r *rand.Rand) float64 { return s.low + (s.high-s.low)*r.Float64() }

// log draws evenly on the logarithm, for frequencies and decays.
func (s span) log(r *rand.Rand) float64 {
	return s.low * math.Pow(s.high/s.low, r.Float64())
}

// usual holds, per kind, the range of levels and of sound to draw from. Levels
// and delays are what was heard on recordings of five machines: lever noise 12 to 33 dB under the strike, trip, release and
// landing 10 to 30 dB, thumps 6 to 33 dB. Frequencies and decays, and all of
// shift, backspacer, tabulator, margin release and paper bail, are guesses made
// wide on purpose.
var usual = [kinds]struct {
	level span // dB relative to the strike
	freq  span // Hz, of modes and noise
	decay span // s, of the slowest mode
}{
	Lever:     {span{-30, -14}, span{500, 7000}, span{0.002, 0.010}},
	Linkage:   {span{-42, -30}, span{1500, 9000}, span{0.0005, 0.003}},
	Trip:      {span{-28, -12}, span{1200, 10000}, span{0.0008, 0.005}},
	Strike:    {span{0, 0}, span{250, 6500}, span{0.004, 0.016}},
	Release:   {span{-27, -13}, span{900, 9000}, span{0.001, 0.006}},
	Landing:   {span{-24, -9}, span{700, 9000}, span{0.0015, 0.010}},
	BarRest:   {span{-34, -17}, span{200, 3500}, span{0.003, 0.012}},
	KeyUp:     {span{-30, -10}, span{300, 5000}, span{0.002, 0.012}},
	Thump:     {span{-24, -6}, span{80, 1500}, span{0.006, 0.025}},
	SpaceUp:   {span{-32, -16}, span{150, 3000}, span{0.003, 0.014}},
	Bell:      {span{-18, -8}, span{1800, 4200}, span{0.15, 0.5}},
	Return:    {span{-16, -6}, span{300, 8000}, span{0.003, 0.010}},
	Desk:      {span{-12, -12}, span{45, 180}, span{0.04, 0.12}},
	Shift:     {span{-22, -10}, span{120, 2500}, span{0.005, 0.018}},
	Backspace: {span{-22, -12}, span{500, 6000}, span{0.003, 0.010}},
	Tabulator: {span{-22, -12}, span{500, 7000}, span{0.003, 0.010}},
	Margin:    {span{-24, -14}, span{700, 6000}, span{0.002, 0.008}},
	Knock:     {span{-22, -6}, span{90, 2500}, span{0.004, 0.05}},
	ShiftUp:   {span{-24, -8}, span{100, 3000}, span{0.005, 0.020}},
	Pawl:      {span{-24, -9}, span{700, 9000}, span{0.0015, 0.010}},
	TabStop:   {span{-14, 0}, span{120, 4000}, span{0.004, 0.020}},
	Bail:      {span{-24, -4}, span{200, 6000}, span{0.003, 0.020}},
}

// NewPalette draws a machine's sounds. The same seed draws the same machine.
func NewPalette(seed uint64) *Palette {
	p := &Palette{}
	for k := Kind(0); k < kinds; k++ {
		// One generator a kind: a change to one kind leaves the others alone.
		r := rand.New(rand.NewPCG(seed, 0x5eed0000+uint64(k)))
		u := usual[k]
		p.Level[k] = u.level.draw(r)
		p.voices[k] = drawVoice(r, k, u.freq, u.decay)
	}
	r := rand.New(rand.NewPCG(seed, 0x5eedffff))
	if r.Float64() < 0.5 {
		p.Second = span{0.2, 0.8}.draw(r)
	}
	p.SecondDelay = span{0.003, 0.020}.draw(r)
	p.SecondLevel = span{-16, -5}.draw(r)
	p.ReturnEnd = span{-12, 0}.draw(r)
	return p
}

// Ring makes the strike's slowest mode fall to 1/e in seconds, and the others in
// proportion: a long ring buries what follows.
func (p *Palette) Ring(seconds float64) {
	v := &p.voices[Strike]
	slowest := 0.0
	for _, m := range v.modes {
		slowest = max(slowest, m.tau)
	}
	if slowest == 0 {
		return
	}
	for i := range v.modes {
		v.modes[i].tau *= seconds / slowest
	}
}
