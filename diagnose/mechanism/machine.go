package mechanism

import "math"

// Action is how the carriage moves; the names are those of diagnose.Action.
type Action string

// The three actions.
const (
	FullSpace  Action = "full" // wholly on the release
	HalfSpace  Action = "half" // half on the trip, half on the release
	DownStroke Action = "down" // wholly on the trip
)

// ReleaseMode is what lets the escapement go.
type ReleaseMode string

// The two modes.
const (
	WithKey   ReleaseMode = "key"     // not before the finger has left the key
	OnRebound ReleaseMode = "rebound" // on the bar's rebound, whatever the finger does
)

// Binding is extra drag around one carriage position.
type Binding struct {
	Position, Width int     // spaces from the line's start; it binds within Width/2 either side
	Drag            float64 // N
}

// WornTooth is one odd tooth of the escape wheel.
type WornTooth struct {
	Tooth  int     // from 0 to Teeth-1
	Extra  float64 // s, added to the travel that ends on it
	Louder float64 // dB, of its landing
}

// SlowKey is one sluggish type bar.
type SlowKey struct {
	Key     rune
	Latency float64 // s, added to its return
	Slower  float64 // share by which its bar is slower toward the platen, 0 to 0.9
}

// Chip is a chipped tooth of the rack: the carriage skips there.
type Chip struct {
	Position int     // carriage position whose landing does not hold
	Share    float64 // of the times, 0 to 1
}

// Machine is a typewriter as a timing model. The zero value is no machine:
// start from Sound or DrawMachine.
type Machine struct {
	Name   string
	Action Action

	Pitch     float64 // m
	Mass      float64 // kg, of the carriage
	PullStart float64 // N, mainspring at the line's start
	PullEnd   float64 // N, after Columns spaces
	Drag      float64 // N
	Columns   int
	BellAt    int     // carriage position at which the bell sounds
	Uneven    float64 // spread of a travel, as a share of it

	TripDistance float64 // m, type face to platen when the escapement trips
	DogTime      float64 // s, the loose dog's way to the next tooth
	Release      ReleaseMode
	ReturnSpeed  float64 // m/s at which a free bar falls back from the platen
	ReturnSpread float64 // of it, as a share
	// SpaceLead is from the space bar's trip to its thump, SpaceReturn from the
	// finger's leaving (or the thump) to its release; s.
	SpaceLead, SpaceReturn float64

	Teeth int // of the escape wheel

	// Sounds that are no carriage events: LeverLead is how long before the strike
	// key and linkage are set in motion, BarFall from the release point to the
	// bar's rest, KeyReturn from the release point to the key's rest; s.
	LeverLead, BarFall, KeyReturn float64

	// Faults; zero values are none. What each looks like: the constructors.
	Bindings  []Binding
	Worn      []WornTooth
	SlowKeys  []SlowKey
	SkipShare float64 // of releases after which the loose dog does not catch
	Chips     []Chip
	BarTilt   float64 // m, trip distance at the rightmost key minus at the leftmost
	DogDelay  float64 // s, mean of an exponential delay of each release
	WarmUp    float64 // s, time in which DogDelay falls to 1/e as the machine warms; 0 never
	DeskRing  float64 // dB of the desk's ring over its usual level after strikes; 0 none
}

// Pitches in metres: 1/10 and 1/12 inch.
const (
	Pica  = 0.0254 / 10
	Elite = 0.0254 / 12
)

// leastPull keeps a binding carriage creeping: below it a machine would stand
// still and there would be nothing to simulate.
const leastPull = 0.15 // N

// Pull is the net pull in N at a carriage position (spaces from the line's
// start): the mainspring's, falling linearly along the line, less drag and
// binding; at least 0.15 N.
func (m *Machine) Pull(position int) float64 {
	f := m.PullStart
	if m.Columns > 0 {
		f += (m.PullEnd - m.PullStart) * float64(position) / float64(m.Columns)
	}
	f -= m.Drag
	for _, b := range m.Bindings {
		if 2*abs(position-b.Position) <= b.Width {
			f -= b.Drag
		}
	}
	return max(f, leastPull)
}

// Travel is the time in s in which the carriage moves share (1: a whole) of a
// space from rest at a position: sqrt(2 share p m / pull).
func (m *Machine) Travel(position int, share float64) float64 {
	return math.Sqrt(2 * share * m.Pitch * m.Mass / m.Pull(position))
}

// trip is the trip distance in m of a key at x, 0 leftmost to 1 rightmost.
func (m *Machine) trip(x float64) float64 {
	return max(m.TripDistance+m.BarTilt*(x-0.5), 0.0002)
}

func (m *Machine) slow(key rune) SlowKey {
	for _, s := range m.SlowKeys {
		if s.Key == key {
			return s
		}
	}
	return SlowKey{}
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
