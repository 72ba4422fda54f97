package mechanism

import (
	"strings"
	"unicode"
)

// rows of the keyboard from left to right; a key's place in its row stands for
// its place under the universal bar.
var rows = []string{"1234567890-=", "qwertyuiop'", "asdfghjkl;:", "zxcvbnm,.?!"}

// place of a key: 0 leftmost to 1 rightmost; 0.5 where the key is not known.
func place(key rune) float64 {
	key = unicode.ToLower(key)
	for i, row := range rows {
		if c := strings.IndexRune(row, key); c >= 0 {
			// Each row stands a little further right.
			return (float64(c) + 0.3*float64(i)) / 11.9
		}
	}
	return 0.5
}

// leftHand tells the hand that strikes a key; the space bar is struck by the
// thumb of either.
func leftHand(key rune) bool {
	return strings.ContainsRune("123456qwertasdfgzxcvb", unicode.ToLower(key))
}

// alternate tells whether two keys are struck by different hands.
func alternate(a, b rune) bool {
	return a == ' ' || b == ' ' || leftHand(a) != leftHand(b)
}
