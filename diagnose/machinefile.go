package diagnose

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/BurntSushi/toml"
)

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

// Limits of what a manual typewriter can be; generous, for they only catch a
// wrong unit or a slip (no published masses and pulls were found).
const (
	leastMass, mostMass           = 0.2, 6.0  // kg
	leastPullN, mostPullN         = 0.3, 40.0 // N
	leastTeethSaid, mostTeethSaid = 5, mostTeeth
	longestWords                  = 300
	machineFileSize               = 64 << 10
	gravity                       = 9.80665 // m/s^2, standard; a scale's grams are weights
)

// units of the machine file in kilograms and newtons.
var (
	massUnits = map[string]float64{"kg": 1, "g": 0.001, "lb": 0.45359237, "oz": 0.45359237 / 16}
	pullUnits = map[string]float64{
		"n": 1, "kg": gravity, "g": gravity / 1000, "lb": 0.45359237 * gravity, "oz": 0.45359237 * gravity / 16,
	}
)

// ReadMachineFile reads the machine file at path (see [ReadMachine]).
func ReadMachineFile(path string) (*Machine, error) {
	f, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("cannot read the machine file %q: there is no such file; check the name", path)
	}
	if err != nil {
		var pe *os.PathError
		if errors.As(err, &pe) {
			err = pe.Err
		}
		return nil, fmt.Errorf("cannot read the machine file %q: %w", path, err)
	}
	defer f.Close()
	m, err := ReadMachine(f)
	if err != nil {
		return nil, fmt.Errorf("machine file %q: %w", path, err)
	}
	return m, nil
}

// ReadMachine reads a machine file: TOML with the keys name, number, colour,
// pitch, action, teeth, carriage_mass, pull_start, pull_end and last_done, each
// of them optional. Masses and pulls carry their unit, "1.2 kg" or "650 g". An
// unknown key, a wrong unit or a value that no machine has is an error of one
// line that says what to write.
func ReadMachine(r io.Reader) (*Machine, error) {
	raw, err := io.ReadAll(io.LimitReader(r, machineFileSize+1))
	if err != nil {
		return nil, err
	}
	if len(raw) > machineFileSize {
		return nil, fmt.Errorf("it is longer than %d kB; it should hold a dozen lines", machineFileSize>>10)
	}
	var said map[string]any
	if _, err := toml.Decode(string(raw), &said); err != nil {
		var bad toml.ParseError
		if errors.As(err, &bad) {
			return nil, fmt.Errorf("line %d: %s", bad.Position.Line, oneLine(bad.Message))
		}
		return nil, errors.New(oneLine(strings.TrimPrefix(err.Error(), "toml: ")))
	}
	m := unsaid()
	set := map[string]func(any) error{
		"name":          words(&m.Name),
		"number":        words(&m.Number),
		"colour":        words(&m.Colour),
		"last_done":     words(&m.LastDone),
		"pitch":         m.setPitch,
		"action":        m.setAction,
		"teeth":         m.setTeeth,
		"carriage_mass": quantity(&m.MassKG, massUnits, leastMass, mostMass, "kg", `"1.2 kg"`),
		"pull_start":    quantity(&m.PullStartN, pullUnits, leastPullN, mostPullN, "N", `"6.4 N" or "650 g"`),
		"pull_end":      quantity(&m.PullEndN, pullUnits, leastPullN, mostPullN, "N", `"5.4 N" or "550 g"`),
	}
	for _, key := range slices.Sorted(maps.Keys(said)) {
		put, ok := set[key]
		if !ok {
			known := slices.Sorted(maps.Keys(set))
			return nil, fmt.Errorf("the key %q is not known; known are %s", oneLine(key), strings.Join(known, ", "))
		}
		if err := put(said[key]); err != nil {
			return nil, fmt.Errorf("%s %w", key, err)
		}
	}
	// A scale reads to some per cent.
	if float64(m.PullEndN) > 1.1*float64(m.PullStartN) {
		return nil, errors.New("pull_end is more than pull_start, but a mainspring unwinds along the line; were they exchanged?")
	}
	return m, nil
}

// unsaid is a machine of which nothing is said.
func unsaid() *Machine {
	return &Machine{MassKG: Unknown(), PullStartN: Unknown(), PullEndN: Unknown()}
}

// words takes a line of text.
func words(to *string) func(any) error {
	return func(v any) error {
		var s string
		switch v := v.(type) {
		case string:
			s = v
		case int64:
			s = strconv.FormatInt(v, 10) // number = 7
		default:
			return errors.New(`must be words in quotes, such as "sea green"`)
		}
		s = strings.TrimSpace(s)
		if utf8.RuneCountInString(s) > longestWords {
			return fmt.Errorf("is longer than %d letters; shorten it", longestWords)
		}
		if strings.ContainsFunc(s, unicode.IsControl) {
			return errors.New("must be one line without control characters")
		}
		*to = s
		return nil
	}
}

func (m *Machine) setPitch(v any) error {
	n, ok := v.(int64)
	if !ok || n != 10 && n != 12 {
		return errors.New("must be 10 (pica) or 12 (elite) letters to the inch")
	}
	m.Pitch = int(n)
	return nil
}

func (m *Machine) setAction(v any) error {
	s, _ := v.(string)
	if !Action(s).Known() {
		return errors.New(`must be "full", "half" or "down"`)
	}
	m.Action = Action(s)
	return nil
}

func (m *Machine) setTeeth(v any) error {
	n, ok := v.(int64)
	if !ok || n < leastTeethSaid || n > mostTeethSaid {
		return fmt.Errorf("must be a whole number from %d to %d", leastTeethSaid, mostTeethSaid)
	}
	m.Teeth = int(n)
	return nil
}

// quantity takes a number with its unit, kept in the base unit.
func quantity(to *Number, units map[string]float64, least, most float64, base, example string) func(any) error {
	return func(v any) error {
		s, ok := v.(string)
		if !ok {
			return fmt.Errorf("needs a number with its unit in quotes, such as %s", example)
		}
		s = strings.TrimSpace(s)
		// The unit is the letters at the end.
		cut := strings.LastIndexFunc(s, func(r rune) bool { return !unicode.IsLetter(r) }) + 1
		digits, unit := strings.TrimSpace(s[:cut]), strings.ToLower(s[cut:])
		factor, ok := units[unit]
		if !ok {
			return fmt.Errorf("has the unit %q; write one of %s, such as %s", oneLine(s[cut:]), unitNames(units), example)
		}
		n, err := strconv.ParseFloat(digits, 64)
		if err != nil || math.IsNaN(n) || math.IsInf(n, 0) {
			return fmt.Errorf("has no number before its unit; write it such as %s", example)
		}
		n *= factor
		if !(n >= least && n <= most) {
			return fmt.Errorf("is %.3g %s, which no manual typewriter has (%g to %g); is the unit right?", n, base, least, most)
		}
		*to = Number(n)
		return nil
	}
}

// unitNames lists units, written as they are.
func unitNames(units map[string]float64) string {
	names := slices.Sorted(maps.Keys(units))
	for i, n := range names {
		if n == "n" {
			names[i] = "N"
		}
	}
	return strings.Join(names, ", ")
}

// oneLine takes what would break a line out of words from outside.
func oneLine(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == utf8.RuneError {
			return ' '
		}
		return r
	}, s)
	if r := []rune(s); len(r) > 120 {
		s = string(r[:120]) + "..."
	}
	return strings.TrimSuffix(strings.TrimSpace(s), ".")
}
