package mechanism

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// Truth is a performance as JSON: what really happened in a take, so that one
// scorer reads it and truths from elsewhere. Times in seconds, null or left out
// where there was none.
type Truth struct {
	Name    string        `json:"name"`
	Machine TruthMachine  `json:"machine"`
	Strokes []TruthStroke `json:"strokes"`
	Lines   []TruthLine   `json:"lines,omitempty"`
	// Noises are the sounds of what the hand did besides typing, and others that are
	// no stroke's, such as speech.
	Noises []TruthNoise `json:"noises,omitempty"`
}

// TruthMachine is what was simulated, in SI units but for TripMM and DogMS; F0
// and F1 are the mainspring's pull at the line's start and end.
type TruthMachine struct {
	Seed    uint64  `json:"seed"`
	Action  string  `json:"action"`
	Release string  `json:"release_mode"`
	Pitch   float64 `json:"pitch"`
	Mass    float64 `json:"mass"`
	F0      float64 `json:"f0"`
	F1      float64 `json:"f1"`
	Drag    float64 `json:"drag"`
	TripMM  float64 `json:"trip_mm"`
	DogMS   float64 `json:"dog_ms"`
	Cols    int     `json:"cols"`
	Teeth   int     `json:"teeth"`
}

// TruthStroke is one stroke; the names of fields that are always there come
// first. Position is where the carriage stands on the page: backspaces and the
// tabulator count.
type TruthStroke struct {
	Char     string   `json:"char"`
	Line     int      `json:"line"`
	Col      int      `json:"col"`
	Strike   float64  `json:"strike"`
	Trip     *float64 `json:"trip"`
	BarBack  float64  `json:"bar_back"`
	Speed    float64  `json:"speed"`
	Space    bool     `json:"space"`
	Position int      `json:"position"`
	Release  *float64 `json:"release"`
	Landing  *float64 `json:"landing"`
	Label    string   `json:"label"`

	Short       *float64 `json:"short,omitempty"`
	Travel      *float64 `json:"travel,omitempty"`
	Missed      bool     `json:"missed,omitempty"`
	Shared      bool     `json:"shared,omitempty"`
	SkipLanding *float64 `json:"skip_landing,omitempty"`
	HalfLanding *float64 `json:"half_landing,omitempty"`
}

// TruthLine is what ended a line.
type TruthLine struct {
	Bell        *float64 `json:"bell"`
	ReturnStart *float64 `json:"return_start"`
	ReturnEnd   *float64 `json:"return_end"`
}

// TruthNoise is one operation besides typing, or a stretch of speech. Start and End
// are its first and last sound in seconds, At when its single sounds begin (none of
// a noise that lasts), Spaces by how many the carriage was moved.
type TruthNoise struct {
	Kind   string    `json:"kind"`
	Line   int       `json:"line"`
	Start  float64   `json:"start"`
	End    float64   `json:"end"`
	At     []float64 `json:"at,omitempty"`
	Spaces int       `json:"spaces,omitempty"`
	// Lasts is a stretch of it that sounds all the time; null where there is none.
	Lasts *[2]float64 `json:"lasts,omitempty"`
}

// Truth gives the performance's truth.
func (p *Performance) Truth() *Truth {
	m := &p.Machine
	t := &Truth{Name: p.Name, Machine: TruthMachine{
		Seed: p.Seed, Action: string(m.Action), Release: string(m.Release),
		Pitch: m.Pitch, Mass: m.Mass, F0: m.PullStart, F1: m.PullEnd, Drag: m.Drag,
		TripMM: m.TripDistance * 1000, DogMS: m.DogTime * 1000, Cols: m.Columns, Teeth: m.Teeth,
	}}
	for i := range p.Strokes {
		k := &p.Strokes[i]
		t.Strokes = append(t.Strokes, TruthStroke{
			Char: string(k.Char), Line: k.Line, Col: k.Col, Strike: k.Strike, Trip: known(k.Trip),
			BarBack: k.BarBack, Speed: k.Speed, Space: k.Space, Position: k.Position,
			Release: known(k.Release), Landing: known(k.Landing), Label: k.Label,
			Short: known(k.ShortBy), Travel: known(k.Travel), Missed: k.Missed, Shared: k.Shared,
			SkipLanding: known(k.SkipLanding), HalfLanding: known(k.HalfLanding),
		})
	}
	for _, o := range p.Operations {
		t.Noises = append(t.Noises, o.truth())
	}
	for _, l := range p.Lines {
		t.Lines = append(t.Lines, TruthLine{known(l.Bell), known(l.ReturnStart), known(l.ReturnEnd)})
	}
	return t
}

func known(t float64) *float64 {
	if !happened(t) {
		return nil
	}
	return &t
}

// WriteTruth writes the truth to a file, whole or not at all.
func (p *Performance) WriteTruth(path string) error {
	b, err := json.Marshal(p.Truth())
	if err != nil {
		return fmt.Errorf("cannot write the truth of %s: %w", p.Name, err)
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".truth-*")
	if err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	defer os.Remove(f.Name())
	_, err = f.Write(append(b, '\n'))
	if err == nil {
		err = f.Chmod(0o644)
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	return nil
}

// ReadTruth reads a truth, ours or another program's of the same shape; what it
// does not know it passes over.
func ReadTruth(r io.Reader) (*Truth, error) {
	var t Truth
	if err := json.NewDecoder(r).Decode(&t); err != nil {
		return nil, fmt.Errorf("cannot read the truth: %w", err)
	}
	return &t, nil
}
