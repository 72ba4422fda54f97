package diagnose

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"loosedog/audio"
)

// MostTakeBytes is how long a take's JSON is read at most: some hours of typing
// have 50 MB.
const MostTakeBytes = 256 << 20

// ErrNotTake is what a file gives that is JSON, or not even that, but no measured
// take of [Schema].
var ErrNotTake = errors.New("it is no take that loosedog measured")

// ReadTake reads a take's JSON as `loosedog measure --json` writes it. It is
// strict: the schema must be this one, there must be nothing after the object, and
// strokes must be in order, on lines that are there, of known kind, with times
// and positions that a take can have. A number of a stroke, a line or the summary
// that is left out is unknown, as null is; names that are not known are passed
// over. Errors are one line, wrap [ErrNotTake] where the file is something else, and
// do not name the file.
func ReadTake(r io.Reader) (*Take, error) {
	raw, err := io.ReadAll(io.LimitReader(r, MostTakeBytes+1))
	if err != nil {
		return nil, fmt.Errorf("cannot be read: %w", err)
	}
	if len(raw) > MostTakeBytes {
		return nil, fmt.Errorf("%w: it is longer than %d MB", ErrNotTake, MostTakeBytes>>20)
	}
	var head struct {
		Schema  *string           `json:"schema"`
		Strokes []json.RawMessage `json:"strokes"`
		Lines   []json.RawMessage `json:"lines"`
		Summary json.RawMessage   `json:"summary"`
	}
	if err := decodeOne(raw, &head); err != nil {
		return nil, fmt.Errorf("%w: %s", ErrNotTake, jsonError(err))
	}
	switch {
	case head.Schema == nil:
		return nil, fmt.Errorf("%w: it has no schema", ErrNotTake)
	case *head.Schema != Schema:
		return nil, fmt.Errorf("%w: its schema is %.60q, not %q", ErrNotTake, *head.Schema, Schema)
	}
	t := new(Take)
	if err := json.Unmarshal(raw, t); err != nil {
		return nil, fmt.Errorf("%w: %s", ErrNotTake, jsonError(err))
	}
	// Once more into values that are unknown: what is left out must not be 0. What t
	// took is taken again, so none of it fails.
	t.Strokes = make([]Stroke, len(head.Strokes))
	for i, b := range head.Strokes {
		t.Strokes[i] = unknownStroke()
		if err := json.Unmarshal(b, &t.Strokes[i]); err != nil {
			return nil, err
		}
	}
	t.Lines = make([]Line, len(head.Lines))
	for i, b := range head.Lines {
		t.Lines[i] = Line{StartS: Unknown(), EndS: Unknown(), BellS: Unknown(), ReturnS: Unknown()}
		if err := json.Unmarshal(b, &t.Lines[i]); err != nil {
			return nil, err
		}
	}
	t.Summary = unknownSummary()
	if len(head.Summary) > 0 {
		if err := json.Unmarshal(head.Summary, &t.Summary); err != nil {
			return nil, err
		}
	}
	if t.Recording.Problems == nil {
		t.Recording.Problems = []audio.Problem{}
	}
	if t.Findings == nil {
		t.Findings = []Finding{}
	}
	if err := t.sane(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotTake, err)
	}
	return t, nil
}

// decodeOne decodes one JSON value with nothing but blanks after it.
func decodeOne(raw []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(raw))
	if err := d.Decode(into); err != nil {
		return err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("something stands after its end")
	}
	return nil
}

// jsonError says what is wrong with JSON without the names of the language.
func jsonError(err error) string {
	if kind, ok := errors.AsType[*json.UnmarshalTypeError](err); ok {
		return fmt.Sprintf("%q cannot be a %s", kind.Field, kind.Value)
	}
	if errors.Is(err, io.EOF) {
		return "it is empty"
	}
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return "it ends too early"
	}
	if syntax, ok := errors.AsType[*json.SyntaxError](err); ok {
		return fmt.Sprintf("it is not JSON from byte %d on", syntax.Offset)
	}
	return strings.TrimPrefix(err.Error(), "json: ")
}

func unknownStroke() Stroke {
	u := Unknown()
	return Stroke{
		TripS: u, StrikeS: u, ReleaseS: u, LandingS: u,
		Confidence: Confidence{Trip: u, Strike: u, Release: u, Landing: u},
		ShortBy:    u, IntervalMS: u, LatencyMS: u, TravelMS: u, ReadyMS: u, SlackMS: u,
	}
}

func unknownSummary() Summary {
	f := unknownFigure()
	return Summary{RatePerS: Unknown(), LeadMS: f, LatencyMS: f, MachineLatencyMS: f, TravelMS: f, ReadyMS: f}
}

// Limits of what a take can hold.
const (
	longestTakeS  = 1e6 // 11 days
	mostPosition  = 10000
	longestSpanMS = longestTakeS * 1000
)

// sane tells what of a take that was read cannot be.
func (t *Take) sane() error {
	last := 0
	for i, s := range t.Strokes {
		switch {
		case s.Index != i:
			return fmt.Errorf("stroke %d says it is stroke %d", i, s.Index)
		case s.Kind != KindType && s.Kind != KindSpace:
			return fmt.Errorf("stroke %d is neither %q nor %q", i, KindType, KindSpace)
		case s.Line < last || s.Line > last+len(t.Strokes) || s.Line >= len(t.Lines):
			return fmt.Errorf("stroke %d is on line %d, which cannot be", i, s.Line)
		case s.Position < 0 || s.Position > mostPosition:
			return fmt.Errorf("stroke %d stands at position %d", i, s.Position)
		case s.Spacing != nil && !slices.Contains([]string{SpacingClear, SpacingCrowded, SpacingPiled}, *s.Spacing):
			return fmt.Errorf("stroke %d has a spacing that is not known", i)
		}
		last = s.Line
		for _, n := range []Number{s.TripS, s.StrikeS, s.ReleaseS, s.LandingS} {
			if n.Known() && (n < -longestTakeS || n > longestTakeS) {
				return fmt.Errorf("stroke %d has a time that no take has", i)
			}
		}
		for _, n := range []Number{s.IntervalMS, s.LatencyMS, s.TravelMS, s.ReadyMS, s.SlackMS} {
			if n.Known() && (n < -longestSpanMS || n > longestSpanMS) {
				return fmt.Errorf("stroke %d has a span of time that no take has", i)
			}
		}
		for _, n := range []Number{s.IntervalMS, s.LatencyMS, s.TravelMS} {
			if n < 0 {
				return fmt.Errorf("stroke %d has a span of time under zero", i)
			}
		}
		if s.ShortBy < 0 || s.ShortBy > 1 {
			return fmt.Errorf("stroke %d is short by what cannot be", i)
		}
	}
	return nil
}
