package mechanism

import (
	"math/rand/v2"
	"strings"
)

// Slips are a typist's errors.
type Slips struct {
	// Rate is the share of characters that go wrong, a quarter of them each: another
	// letter struck, one struck twice, one left out, two exchanged.
	Rate float64
	// Missed and Twice are lines of the text that are left out and typed twice, from
	// 0; none below 0.
	Missed, Twice int
	// Width breaks the lines anew, at the spaces, after at most so many characters;
	// 0 leaves them.
	Width int
}

// Make types a text with slips. meant says for each character of typed but line
// breaks which character of the text it stands for (a count of runes): of two
// that were exchanged the first stands for the first, and of one struck twice
// both stand for it.
func (s Slips) Make(text string, seed uint64) (typed string, meant []int) {
	r := rand.New(rand.NewPCG(seed, 0x511b5))
	var lines [][]rune
	var at [][]int
	n := 0
	for i, line := range strings.Split(text, "\n") {
		runes := []rune(line)
		places := make([]int, len(runes))
		for k := range places {
			places[k] = n
			n++
		}
		n++ // the line break
		if i == s.Missed {
			continue
		}
		times := 1
		if i == s.Twice {
			times = 2
		}
		for range times {
			lines, at = append(lines, runes), append(at, places)
		}
	}
	if s.Width > 0 {
		lines, at = rebreak(lines, at, s.Width)
	}
	var b strings.Builder
	for i, line := range lines {
		if i > 0 {
			b.WriteByte('\n')
		}
		put := func(c rune, place int) { b.WriteRune(c); meant = append(meant, place) }
		for k := 0; k < len(line); k++ {
			c, place := line[k], at[i][k]
			if r.Float64() >= s.Rate {
				put(c, place)
				continue
			}
			switch kind := r.IntN(4); {
			case kind == 0 && c != ' ':
				put('a'+rune(r.IntN(26)), place)
			case kind == 1:
				put(c, place)
				put(c, place)
			case kind == 2 && len(line) > 1:
			case kind == 3 && k+1 < len(line):
				put(line[k+1], place)
				put(c, at[i][k+1])
				k++
			default:
				put(c, place)
			}
		}
	}
	return b.String(), meant
}

// rebreak joins lines with spaces and breaks them anew at spaces, which no line
// then begins or ends with.
func rebreak(lines [][]rune, at [][]int, width int) (out [][]rune, places [][]int) {
	var runes []rune
	var where []int
	for i, line := range lines {
		if len(line) == 0 {
			continue
		}
		if i > 0 {
			// The space stands for the line break before this line, or, where the first
			// one is typed twice, for the one behind it.
			place := at[i][0] - 1
			if place < 0 {
				place = at[i][len(line)-1] + 1
			}
			runes, where = append(runes, ' '), append(where, place)
		}
		runes, where = append(runes, line...), append(where, at[i]...)
	}
	for len(runes) > width {
		k := width
		for k > 0 && runes[k] != ' ' {
			k--
		}
		if k == 0 {
			k = width // a word longer than a line
		}
		end, next := k, k
		for end > 0 && runes[end-1] == ' ' {
			end--
		}
		for next < len(runes) && runes[next] == ' ' {
			next++
		}
		if end > 0 {
			out, places = append(out, runes[:end]), append(places, where[:end])
		}
		runes, where = runes[next:], where[next:]
	}
	return append(out, runes), append(places, where)
}
