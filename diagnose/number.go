package diagnose

import (
	"encoding/json"
	"math"
)

// Number is a measurement in the unit that its field's name states. NaN means
// that it is not in the sound: JSON null, never 0.
type Number float64

// Unknown is the Number of a thing that was not measured.
func Unknown() Number { return Number(math.NaN()) }

// Known tells whether the number was measured.
func (n Number) Known() bool { return !math.IsNaN(float64(n)) && !math.IsInf(float64(n), 0) }

// MarshalJSON writes null for a number that is not known.
func (n Number) MarshalJSON() ([]byte, error) {
	if !n.Known() {
		return []byte("null"), nil
	}
	return json.Marshal(float64(n))
}

// UnmarshalJSON reads null as an unknown number.
func (n *Number) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*n = Unknown()
		return nil
	}
	var f float64
	if err := json.Unmarshal(b, &f); err != nil {
		return err
	}
	*n = Number(f)
	return nil
}
