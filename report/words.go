package report

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"golang.org/x/text/width"

	"loosedog/diagnose"
)

// cannotTell stands wherever a thing is not in the sound.
const cannotTell = "cannot tell"

// clean makes a string that came from outside (a file name, a typed character)
// safe to print on one line of a terminal or a label track: no control
// characters, no changes of writing direction, no broken UTF-8.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r' || unicode.Is(unicode.Zl, r) || unicode.Is(unicode.Zp, r):
			return ' '
		case unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || r == unicode.ReplacementChar:
			return '?'
		default:
			return r
		}
	}, strings.ToValidUTF8(s, "?"))
}

// columns is how many columns of a terminal s takes.
func columns(s string) int {
	n := 0
	for _, r := range s {
		if unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Me, r) {
			continue
		}
		switch width.LookupRune(r).Kind() {
		case width.EastAsianWide, width.EastAsianFullwidth:
			n += 2
		default:
			n++
		}
	}
	return n
}

// wrap breaks s at its blanks into lines of at most limit columns; a word longer
// than a line is cut.
func wrap(s string, limit int) []string {
	if limit < 2 {
		limit = 2
	}
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		for columns(word) > limit {
			if line != "" {
				lines = append(lines, line)
				line = ""
			}
			head, tail := cut(word, limit)
			lines = append(lines, head)
			word = tail
		}
		switch {
		case line == "":
			line = word
		case columns(line)+1+columns(word) <= limit:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	if line != "" || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}

// cut splits word after as many characters as fit into limit columns.
func cut(word string, limit int) (head, tail string) {
	n := 0
	for i, r := range word {
		c := columns(string(r))
		if n+c > limit {
			return word[:i], word[i:]
		}
		n += c
	}
	return word, ""
}

// ms writes a number of milliseconds with one decimal and no unit.
func ms(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return cannotTell
	}
	return decimal(x)
}

// decimal writes x with one decimal; a number too long for any column, which no
// recording gives, is written with its power of ten.
func decimal(x float64) string {
	if math.Abs(x) >= 1e6 {
		return fmt.Sprintf("%.3g", x)
	}
	s := fmt.Sprintf("%.1f", x)
	if s == "-0.0" {
		return "0.0"
	}
	return s
}

// shortBy says by how much of a space a flagged pair's letter stands short.
func shortBy(p pair) string {
	switch {
	case p.short >= 0.995, math.IsNaN(p.short) && p.spacing == diagnose.SpacingPiled:
		return "whole space"
	case math.IsNaN(p.short):
		return cannotTell
	case p.short < 0:
		return cannotTell
	default:
		return fmt.Sprintf("%.2f space", p.short)
	}
}

// count writes n with its noun: "1 stroke", "3 strokes".
func count(n int, noun string) string { return tally{n, noun, noun + "s"}.String() }

// tally is a number with what it counts: one of it, and more or none.
type tally struct {
	n         int
	one, many string
}

func (c tally) String() string {
	if c.n == 1 {
		return "1 " + c.one
	}
	return fmt.Sprintf("%d %s", c.n, c.many)
}

// some writes those that are not 0.
func some(list ...tally) []string {
	var out []string
	for _, c := range list {
		if c.n > 0 {
			out = append(out, c.String())
		}
	}
	return out
}

// rate writes strokes to the second.
func rate(n diagnose.Number) string {
	if !n.Known() {
		return "rate: " + cannotTell
	}
	return decimal(float64(n)) + " strokes a second"
}

// clock writes a duration in seconds for people.
func clock(s float64) string {
	if math.IsNaN(s) || s < 0 || s > 1e9 {
		return "an unknown time"
	}
	if s < 60 {
		return fmt.Sprintf("%.1f s", s)
	}
	whole := int(math.Round(s))
	if whole < 3600 {
		return fmt.Sprintf("%d min %d s", whole/60, whole%60)
	}
	return fmt.Sprintf("%d h %d min", whole/3600, whole%3600/60)
}
