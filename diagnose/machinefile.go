package diagnose

// Machine is what the owner says of a machine, as the machine file states it.
// What it does not state is null (numbers), "" (words) or 0 (counts).
type Machine struct {
	Name       string `json:"name"`
	Number     string `json:"number"` // shelf number
	Colour     string `json:"colour"`
	Pitch      int    `json:"pitch"`        // letters to the inch
	Action     Action `json:"action"`       // "" when not stated
	Teeth      int    `json:"teeth"`        // of the escape wheel
	MassKG     Number `json:"mass_kg"`      // of the carriage
	PullStartN Number `json:"pull_start_n"` // spring scale, at the line's start
	PullEndN   Number `json:"pull_end_n"`   // and at its end
	LastDone   string `json:"last_done"`    // what was last done to it
}
