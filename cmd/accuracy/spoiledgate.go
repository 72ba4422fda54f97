package main

import (
	"fmt"
	"io"
)

// What the program said of a take, and how well it was measured: the indexes of a
// gateCount.
const (
	saidNothing = iota // usable, and no problem named
	saidSo             // usable, with a problem
	refused
)

const (
	reached = iota // strikes and landings reach their goals
	short          // they do not, but most landings are right
	misread        // most are not
)

// gateCount counts takes by what was said of them and how well they were measured.
type gateCount [3][3]int

// gradeOf is how well a take was measured. Within 5 ms, since codecs blur strikes.
func gradeOf(s *takeScore) int {
	strikes, landings := fOf("strike")(s), fOf("landing")(s)
	switch {
	case strikes >= 0.98 && landings >= 0.97:
		return reached
	case landings >= 0.5:
		return short
	}
	return misread
}

// writeGate prints for each damage what the gate does: of takes that reach the goals
// for strikes and landings, that fall short of them, and that are misread, how many
// were called usable without a word, usable with a problem named, and refused.
func writeGate(w io.Writer, list []degree) error {
	t := table{left: 1}
	t.row("goals reached, short, misread", "nothing said", "problem named", "refused")
	var all gateCount
	row := func(name string, c gateCount) {
		cells := []string{name}
		for _, said := range c {
			cells = append(cells, fmt.Sprintf("%d, %d, %d", said[reached], said[short], said[misread]))
		}
		t.row(cells...)
	}
	var names []string
	of := map[string]*gateCount{}
	for _, d := range list {
		if of[d.damage] == nil {
			of[d.damage] = new(gateCount)
			names = append(names, d.damage)
		}
		for said := range d.all.gate {
			for grade, n := range d.all.gate[said] {
				of[d.damage][said][grade] += n
				all[said][grade] += n
			}
		}
	}
	for _, name := range names {
		row(name, *of[name])
	}
	row("all", all)
	return t.write(w)
}
