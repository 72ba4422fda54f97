package diagnose

import "loosedog/audio"

// Schema names the layout of a measured take's JSON.
const Schema = "loosedog.take/1"

// Take is one measured recording: what the program prints, in every format.
type Take struct {
	Schema string `json:"schema"`
	// Kept is what the record of a folder keeps with a result; absent elsewhere. It
	// stands first, so that it can be read without the rest.
	Kept      *Kept     `json:"kept,omitempty"`
	Recording Recording `json:"recording"`
	Strokes   []Stroke  `json:"strokes"`
	Lines     []Line    `json:"lines"`
	Learnt    Learnt    `json:"learnt"`
	Summary   Summary   `json:"summary"`
	// Corrections are those made by hand, all of which are in what is measured;
	// absent when there are none. Asked is what the owner said of the take, where
	// that is kept.
	Corrections []Correction `json:"corrections,omitempty"`
	Asked       *Asked       `json:"asked,omitempty"`
	// Machine is what the owner said of it; null without a machine file.
	Machine *Machine `json:"machine"`
	// Pull is what the travel says of the carriage's pull; null where no travel
	// could be told.
	Pull *Pull `json:"pull"`
	// Passage says how the take fits the text; null where none was given.
	Passage *Passage `json:"passage"`
	// PageCount holds the flagged letters against those counted on the paper; null
	// where nobody counted.
	PageCount *PageCount `json:"page_count"`
	// Findings are the causes that the take gives evidence for, those first that
	// explain the most; Answer is what comes of them in one word and one
	// paragraph, also where there is none.
	Findings []Finding `json:"findings"`
	Answer   Answer    `json:"answer"`
}

// Recording says what was measured and whether it can be trusted.
type Recording struct {
	Path            string          `json:"path"`
	SampleRateHz    int             `json:"sample_rate_hz"`
	Channels        int             `json:"channels"`
	DurationS       float64         `json:"duration_s"`
	Usable          bool            `json:"usable"`
	Problems        []audio.Problem `json:"problems"`
	StrikeToNoiseDB Number          `json:"strike_to_noise_db"`
	ClippedShare    Number          `json:"clipped_share"`
}

// Kinds of stroke.
const (
	KindType  = "type"
	KindSpace = "space"
)

// Spacing of a stroke's letter against the one before it on its line.
const (
	SpacingClear   = "clear"
	SpacingCrowded = "crowded"
	SpacingPiled   = "piled"
)

// Stroke is one stroke with its times and what follows from them.
type Stroke struct {
	Index int    `json:"index"` // from 0
	Kind  string `json:"kind"`  // KindType or KindSpace
	Line  int    `json:"line"`  // from 0
	// Position is the carriage position: spaces made since the carriage return,
	// so that a letter struck on the move has that of the landing ahead of it.
	Position int     `json:"position"`
	Char     *string `json:"char"` // null until a text is given that fits
	// Text is where in the text it stands; null with Char.
	Text *StrokePlace `json:"text"`

	TripS    Number `json:"trip_s"`
	StrikeS  Number `json:"strike_s"`
	ReleaseS Number `json:"release_s"`
	LandingS Number `json:"landing_s"`

	Confidence Confidence `json:"confidence"`

	// Spacing is null for the first stroke of a line and where it cannot be told.
	Spacing *string `json:"spacing"`
	// ShortBy is by how much of a space the letter stands short: 0 when clear, 1
	// when piled; null with Spacing, or where the travel is not known.
	ShortBy     Number `json:"short_by"`
	MissedSpace bool   `json:"missed_space"`
	Skipped     bool   `json:"skipped"`

	IntervalMS Number `json:"interval_ms"` // to the next strike of the same line
	LatencyMS  Number `json:"latency_ms"`
	TravelMS   Number `json:"travel_ms"`
	ReadyMS    Number `json:"ready_ms"`
	SlackMS    Number `json:"slack_ms"`

	// Corrected names the events that were put right by hand; absent when none was.
	Corrected []string `json:"corrected,omitempty"`
}

// Confidence of each event, 0 to 1; null where the event is absent.
type Confidence struct {
	Trip    Number `json:"trip"`
	Strike  Number `json:"strike"`
	Release Number `json:"release"`
	Landing Number `json:"landing"`
}

// Line is one line of the page.
type Line struct {
	Line    int    `json:"line"` // from 0
	StartS  Number `json:"start_s"`
	EndS    Number `json:"end_s"`
	Strokes int    `json:"strokes"`
	BellS   Number `json:"bell_s"`
	ReturnS Number `json:"return_s"`
}

// Figure sums up one quantity: its median with a 95 % bootstrap interval
// (Low, High; the limit of ever more resamples, worked out exactly: the same in
// every run), and its 95th percentile. All are unknown of fewer than 6 values,
// the percentile of fewer than 20.
type Figure struct {
	Median Number `json:"median"`
	P95    Number `json:"p95"`
	Low    Number `json:"low"`
	High   Number `json:"high"`
}

// Summary is the whole take in figures.
type Summary struct {
	Strokes          int    `json:"strokes"`
	Lines            int    `json:"lines"`
	RatePerS         Number `json:"rate_per_s"`
	LeadMS           Figure `json:"lead_ms"`
	LatencyMS        Figure `json:"latency_ms"`
	MachineLatencyMS Figure `json:"machine_latency_ms"` // the fastest strokes' latency
	TravelMS         Figure `json:"travel_ms"`
	ReadyMS          Figure `json:"ready_ms"`
	Crowded          int    `json:"crowded"`
	Piled            int    `json:"piled"`
	Skipped          int    `json:"skipped"`
	MissedSpaces     int    `json:"missed_spaces"`
}

// Finding is one cause that the take gives evidence for.
type Finding struct {
	Fault    string `json:"fault"`    // one of the Fault constants
	Share    string `json:"share"`    // ShareMachine or ShareHand
	Strength string `json:"strength"` // Strong, Likely or Possible
	// Explains is how many of the take's spoiled places this cause accounts for:
	// flagged pairs that would stand clear without it, and, of the causes of
	// skips, skipped spaces.
	Explains int        `json:"explains"`
	Evidence []Evidence `json:"evidence"`
	// Where lists the strokes at which it shows, by index, in order.
	Where []int `json:"where"`
	// Check is what to look at first, Next what then; Caution stands beside them
	// wherever they are shown.
	Check   string `json:"check"`
	Next    string `json:"next"`
	Caution string `json:"caution"`

	// relieved are the second strokes of the flagged pairs it explains.
	relieved []int
}

// Evidence is one measured value with its interval beside what it is compared
// with.
type Evidence struct {
	Measure string `json:"measure"`
	Value   Number `json:"value"`
	Unit    string `json:"unit"`
	Low     Number `json:"low"`
	High    Number `json:"high"`
	// Reference is what Value is compared with; Basis is where that comes from
	// (one of the Basis constants), Source says it in words.
	Reference Number `json:"reference"`
	Basis     string `json:"basis"`
	Source    string `json:"source"`
}

// Whose share a finding is.
const (
	ShareMachine = "machine"
	ShareHand    = "hand"
)

// Where what a value is compared with comes from.
const (
	BasisPublished = "published"
	BasisPractice  = "common practice"
	BasisTake      = "this take"
	BasisEarlier   = "earlier take" // of the same machine
	BasisOwner     = "machine file"
)

// Answer is what a take says in the end.
type Answer struct {
	Code string `json:"code"` // one of the Answer constants
	Text string `json:"text"`
}

// What a take can say.
const (
	// AnswerFindings: there are causes, see Findings.
	AnswerFindings = "findings"
	// AnswerNothing: nothing wrong that can be heard.
	AnswerNothing = "nothing-wrong"
	// AnswerCannotTell: something is wrong, or too little was heard; Text says why.
	AnswerCannotTell = "cannot-tell"
	// AnswerCannotShow: this way of typing does not bring out what is suspected;
	// Text says what to type instead.
	AnswerCannotShow = "cannot-show-here"
)

// Action is how the carriage moves: wholly on the release, half on the trip and
// half on the release, or wholly on the trip.
type Action string

// The three actions.
const (
	FullSpace  Action = "full"
	HalfSpace  Action = "half"
	DownStroke Action = "down"
)

// Known tells whether a is one of the three.
func (a Action) Known() bool { return a == FullSpace || a == HalfSpace || a == DownStroke }

// Options are what the user says about the machine.
type Options struct {
	Action Action // FullSpace when empty
	Pitch  int    // characters to the inch, 10 or 12; 10 when 0
	// Text is the text that was typed; empty when it is not known.
	Text string
	// PageCount is how many crowded or piled letters were counted on the paper; nil
	// when nobody did.
	PageCount *int
	// Machine is the machine file, nil without one; Action and Pitch above count,
	// whatever it says of them.
	Machine *Machine
	// Earlier is an earlier take of the same machine, nil without one. No command
	// sets it yet.
	Earlier *Take
	// Corrections are laid over what was heard, in order, before it is measured.
	Corrections []Correction
}

// Asked is what of the options is kept with a take, so that it can be measured
// again as it was.
func (o Options) Asked() *Asked {
	return &Asked{Action: string(o.Action), Pitch: o.Pitch, Text: o.Text}
}
