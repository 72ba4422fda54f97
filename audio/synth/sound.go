package synth

// Kind is what sounds.
type Kind int

// The sounds of a machine.
const (
	Lever     Kind = iota // key and linkage set in motion
	Linkage               // tiny clicks on the way to the strike
	Trip                  // the escapement trips
	Strike                // type on platen
	Release               // the rocker swings back, the rigid dog lets go
	Landing               // the next tooth arrives at the loose dog
	BarRest               // the type bar arrives at its rest
	KeyUp                 // the key arrives at its rest
	Thump                 // the space bar arrives at its stop
	SpaceUp               // the space bar arrives at its rest
	Bell                  // near the line's end
	Return                // the carriage returns: ratchet noise over Sound.Duration, then a thump
	Desk                  // the desk rings after a strike
	Shift                 // the shift goes down: key, then basket or carriage on its stop
	Backspace             // the backspacer's key and lever
	Tabulator             // carriage run to a tab stop under the tab brake, over Sound.Duration
	Margin                // margin release, a tab stop set or cleared: a lever and its stop
	Knock                 // not the machine: something in the room
	ShiftUp               // basket or carriage back on its rest
	Pawl                  // the backspacer's pawl and the dog that drops behind the tooth before
	TabStop               // the carriage arrives at the tab stop
	Bail                  // the paper bail lifted off or dropped onto the platen
	kinds
)

var kindNames = [kinds]string{"lever", "linkage", "trip", "strike", "release", "landing", "bar rest",
	"key-up", "thump", "space-bar up", "bell", "return", "desk", "shift", "backspace", "tabulator",
	"margin release", "knock", "shift up", "pawl", "tab stop", "paper bail"}

// String names the kind in the words of the trade.
func (k Kind) String() string {
	if k < 0 || k >= kinds {
		return "unknown"
	}
	return kindNames[k]
}

// Sound is one sound of a machine.
type Sound struct {
	Kind Kind
	// Time is the arrival of its first energy in seconds.
	Time float64
	// Strength in dB over (or under, negative) the machine's usual sound of
	// this kind.
	Strength float64
	// Variant tells apart the sources of one kind (the key's letter): each has
	// its own shade of the kind's sound.
	Variant int
	// Duration in seconds, only of Return and Tabulator.
	Duration float64
}
