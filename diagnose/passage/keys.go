package passage

import (
	"strings"
	"unicode"
)

// fingers are the keys of each finger of the English keyboard from the left
// little finger to the right one, as touch typists are taught; the first four
// are the left hand's.
var fingers = [...]string{
	"2qaz\"", "3wsx#", "4edc$", "56rtfgvb%_", "78yuhjnm&'", "9ik,(", "0ol.)", "-p;:/?!*=+",
}

// leftFingers is how many of them are the left hand's.
const leftFingers = 4

// finger is the place in [fingers] of the one that strikes a key; -1 where that
// is not known.
func finger(key rune) int {
	key = unicode.ToLower(key)
	for i, keys := range fingers {
		if strings.ContainsRune(keys, key) {
			return i
		}
	}
	return -1
}

// class is how two characters that follow one another are struck.
type class uint8

const (
	noClass   class = iota // not known, or no interval
	sameKey                // one key twice
	oneFinger              // two keys, one finger
	oneHand                // two fingers of one hand
	twoHands
	intoSpace // a letter, then the space bar
	fromSpace // the space bar, then a letter
	spaces    // the space bar twice
	classes   // how many there are
)

// classOf is how b is struck after a.
func classOf(a, b rune) class {
	switch {
	case a == '\n' || b == '\n':
		return noClass
	case a == ' ' && b == ' ':
		return spaces
	case b == ' ':
		return intoSpace
	case a == ' ':
		return fromSpace
	case unicode.ToLower(a) == unicode.ToLower(b):
		return sameKey
	}
	f, g := finger(a), finger(b)
	switch {
	case f < 0 || g < 0:
		return noClass
	case f == g:
		return oneFinger
	case (f < leftFingers) == (g < leftFingers):
		return oneHand
	}
	return twoHands
}
