package diagnose

// MeasuringVersion counts the ways in which takes have been measured. Raise it by
// one with every change after which the same recording gives other figures, other
// findings or another [Kept]: the record of a folder then measures its takes anew.
const MeasuringVersion = 4

// Kept stands at the head of a result that lies beside its take: what it was
// measured from, so that nothing is measured twice, and in short what came of it,
// so that the record of hundreds of takes can be read without all of their strokes.
type Kept struct {
	Version  int    `json:"version"`  // the MeasuringVersion that made it
	Bytes    int64  `json:"bytes"`    // of the recording
	Modified string `json:"modified"` // of the recording, RFC 3339
	// Told is what the machine file said when it was measured, of what counts for
	// measuring.
	Told string `json:"told"`
	// Tagged is the recording's own time tag, RFC 3339 without a zone; empty when it
	// has none.
	Tagged string `json:"tagged"`

	Usable bool   `json:"usable"`
	Why    string `json:"why"` // why it is not

	// Summary is that of the take. Letters are the letters a page that come out
	// crowded or piled at a fixed hand.
	Summary Summary `json:"summary"`
	Letters Figure  `json:"letters_per_page"`
	// LeadMS and TravelMS are medians of the lines, in order, without those that have
	// too few values.
	LeadMS   []Number `json:"lead_ms_of_lines"`
	TravelMS []Number `json:"travel_ms_of_lines"`
	// Strongest is the strongest finding, without its evidence and places; null
	// where there is none.
	Strongest *Finding `json:"strongest"`
}
