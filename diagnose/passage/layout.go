package passage

import (
	"slices"
	"strings"
)

// fill makes n lines of width characters: the words of text in order, then words
// of pool. A line of text is broken where the next word does not fit, and is
// shorter by as much; the last line, and every line of the pool, is full.
func fill(width, n int, text, pool []string) []string {
	var lines []string
	var line []string
	for _, w := range text {
		if length(line)+1+len(w) > width {
			if len(lines)+1 == n {
				break
			}
			lines, line = append(lines, strings.Join(line, " ")), nil
		}
		line = append(line, w)
	}
	for len(lines) < n {
		line = finish(line, width, pool)
		lines = append(lines, strings.Join(line, " "))
		// The next line begins with words that are not used up.
		fresh := slices.DeleteFunc(slices.Clone(pool), func(w string) bool { return slices.Contains(line, w) })
		pool, line = append(fresh, pool...), nil
	}
	return lines
}

// length of a line of words with a space between them.
func length(line []string) int {
	n := max(0, len(line)-1)
	for _, w := range line {
		n += len(w)
	}
	return n
}

// finish adds words of the pool in order to a line of words until one to three
// more fill it to width exactly; these are the first that do and that the line
// does not have yet. Where there are none, the last word makes room and it tries
// again.
func finish(line []string, width int, pool []string) []string {
	line = slices.Clone(line)
	for _, w := range pool {
		if length(line)+1+len(w) > width {
			break
		}
		if !slices.Contains(line, w) {
			line = append(line, w)
		}
	}
	for length(line) < width && len(line) > 0 {
		for most := 1; most <= 3; most++ {
			if last := exact(width-length(line)-1, most, pool, line); last != nil {
				return append(line, last...)
			}
		}
		line = line[:len(line)-1]
	}
	return line
}

// exact is at most so many words of the pool, with a space between them, of room
// characters together, none of which the line has.
func exact(room, most int, pool, line []string) []string {
	for i, a := range pool {
		if len(a) > room || slices.Contains(line, a) {
			continue
		}
		if len(a) == room {
			return []string{a}
		}
		if most > 1 {
			if more := exact(room-len(a)-1, most-1, pool[i+1:], line); more != nil {
				return append([]string{a}, more...)
			}
		}
	}
	return nil
}

// runs makes a line of words with gap spaces between them, width characters long.
// The pool has a word of every length from 2 to 8.
func runs(width, gap int, pool []string) string {
	line := pool[0]
	for next := 1; ; next++ {
		room := width - len(line) - gap
		fits := func(w string) bool { return len(w) == room }
		if room > 8 {
			// There must be room for the last word, too.
			fits = func(w string) bool { return len(w)+gap+2 <= room }
		}
		i := 0
		for i < len(pool)-1 && !fits(pool[(next+i)%len(pool)]) {
			i++
		}
		next += i
		line += strings.Repeat(" ", gap) + pool[next%len(pool)]
		if room <= 8 {
			return line
		}
	}
}
