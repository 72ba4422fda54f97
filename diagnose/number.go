package diagnose

import (
	"encoding/json"
	"math"
	"strconv"
)

// Number is a measurement in the unit that its field's name states. NaN means
// that it is not in the sound: JSON null, never 0.
type Number float64

// Unknown is the Number of a thing that was not measured.
func Unknown() Number { return Number(math.NaN()) }

// Known tells whether the number was measured.
func (n Number) Known() bool { return !math.IsNaN(float64(n)) && !math.IsInf(float64(n), 0) }

// MarshalJSON writes null for a number that is not known, and others to 6
// decimals (a microsecond for seconds): a sample lasts 5 microseconds or more.
// Numbers under 0.001 keep 6 significant digits.
func (n Number) MarshalJSON() ([]byte, error) {
	if !n.Known() {
		return []byte("null"), nil
	}
	f := float64(n)
	switch a := math.Abs(f); {
	case a < 1e-3:
		short, err := strconv.ParseFloat(strconv.FormatFloat(f, 'g', 6, 64), 64)
		if err != nil {
			return nil, err
		}
		f = short
	case a < 1e9: // above, f*1e6 has no exact decimals left
		f = math.Round(f*1e6) / 1e6
	}
	if f == 0 {
		f = 0 // no minus sign on a zero
	}
	return json.Marshal(f)
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
