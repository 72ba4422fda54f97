package audio

// Problem is something about a recording that its owner should know: what
// spoils it, or what was done about it. Code is stable and short (kebab-case,
// for programs); Text is one plain sentence for people that says what to
// change.
type Problem struct {
	Code string `json:"code"`
	Text string `json:"text"`
}
