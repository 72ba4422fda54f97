package diagnose

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// keyRows is the common arrangement of keys from left to right. Two letters that
// trade places on other arrangements (y and z, q and a) stand near enough to
// where the other one is: what is asked of it is left or right.
var keyRows = []string{"1234567890-=", "qwertyuiop", "asdfghjkl;", "zxcvbnm,./"}

// keyPlace is where a key's bar hangs under the universal bar: 0 at the left, 1
// at the right; ok is false for a key that is not known. A row stands a third of
// a key further right than the one above it.
func keyPlace(key rune) (x float64, ok bool) {
	for i, row := range keyRows {
		if at := strings.IndexRune(row, key); at >= 0 {
			return min((float64(at)+float64(i)/3)/10, 1), true
		}
	}
	return 0, false
}

// KeyPlace is where the key of a character stands, 0 at the left of the keyboard
// and 1 at its right; ok is false where that is not known.
func KeyPlace(char string) (x float64, ok bool) { return keyPlace(lowerKey(char)) }

// lowerKey is the key that types a character: its lower case.
func lowerKey(char string) rune {
	r, _ := utf8.DecodeRuneInString(char)
	if r == utf8.RuneError {
		return 0
	}
	return unicode.ToLower(r)
}
