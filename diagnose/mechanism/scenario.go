package mechanism

import (
	"fmt"
	"math/rand/v2"

	"loosedog/audio/synth"
)

// Shelf is the test text of the lending shelf at the harbour-town library.
const Shelf = `the lending shelf stands by the window where the ferries turn
seven machines wait on it, each with a number and a coat of paint
take one home for two weeks, bring it back before the spring tide
shelf seven is sea green and wrote more letters than the mayor
gulls walk the quay at dawn and read the lids of the fish crates
a boy typed the whole tide table once and took it to the pilot
when fog hides the harbour the keys are all you hear down here
please type these lines, jot down what you saw, and quiz us on it`

// Quay is a second text, for takes that are not the first's.
const Quay = `old ropes dry on the rail while the harbour clerk counts boats
every wave brings a little sand and every child takes some home
the library opens at nine, or when the baker has lent us the key
six quiet readers, one loud clock and a jar of exotic buttons
nobody has ever brought the blue one back late, it is too heavy`

// Scenario is one take to be made: machine, hand, text and how it is recorded.
type Scenario struct {
	Name      string
	Machine   Machine
	Hand      Hand
	Text      string
	Palette   *synth.Palette
	Recording synth.Recording
	Seed      uint64
}

// Perform simulates the scenario.
func (s *Scenario) Perform() (*Performance, error) {
	p, err := Simulate(s.Machine, s.Hand, s.Text, s.Seed)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", s.Name, err)
	}
	p.Name = s.Name
	return p, nil
}

// Record simulates and renders the scenario: samples (channels interleaved, full
// scale 1) and their rate per second.
func (s *Scenario) Record() (*Performance, []float64, float64, error) {
	p, err := s.Perform()
	if err != nil {
		return nil, nil, 0, err
	}
	rec := s.Recording
	if rec.Duration == 0 {
		rec.Duration = p.Duration
	}
	samples, err := synth.Render(p.Sounds(), s.Palette, rec, s.Seed)
	if err != nil {
		return nil, nil, 0, fmt.Errorf("%s: %w", s.Name, err)
	}
	return p, samples, rec.Rate, nil
}

// Demo is the demo's take: shelf 7, sea green, trips late, and its borrower
// types in staccato bursts.
func Demo() *Scenario {
	m := Sound().LateTrip(0.0020)
	m.Name = "shelf 7, sea green"
	m.DogTime = 0.0038
	h := Staccato(0.06)
	h.Name = "a borrower in a hurry"
	h.Bursts, h.BurstLength, h.BurstInterval, h.BurstFlicked = 0.02, 4, 0.065, 0.35
	rec := synth.DrawRecording(7)
	rec.Rate = 48000
	return &Scenario{Name: m.Name, Machine: m, Hand: h, Text: Shelf,
		Palette: synth.NewPalette(21), Recording: rec, Seed: 7}
}

// Condition is one row of an accuracy table: Make draws its machine, hand, room
// and sounds from a seed, so that seeds kept aside make takes never seen.
type Condition struct {
	Name string
	// Clean takes must meet the goals for clean ones.
	Clean bool
	// Fault is the finding that belongs to it (names of diagnose.Finding); empty
	// when nothing is wrong.
	Fault string
	Make  func(seed uint64) *Scenario
}

// Take makes one take of a condition: what happened, the samples (interleaved
// when the recording is stereo) and their rate.
func Take(c Condition, seed uint64) (*Performance, []float64, float64, error) {
	return c.Make(seed).Record()
}

// Ordinary draws a sound machine, a hand near the given one, a text, a room and
// sounds from a seed: the things of a take that a condition leaves open.
func Ordinary(name string, h Hand, seed uint64) *Scenario {
	r := rand.New(rand.NewPCG(seed, 0x0dd))
	text := Shelf
	if r.IntN(2) == 0 {
		text = Quay
	}
	return &Scenario{
		Name: fmt.Sprintf("%s, seed %d", name, seed), Machine: DrawMachine(seed),
		Hand: DrawHand(h, seed), Text: text, Palette: synth.NewPalette(seed),
		Recording: synth.DrawRecording(seed), Seed: seed,
	}
}
