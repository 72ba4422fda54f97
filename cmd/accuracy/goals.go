package main

import (
	"fmt"
	"io"
	"math"
)

// goal is one row of the short table: what is aimed at, and how far a group of
// takes is from it.
type goal struct {
	name, aim string
	rough     bool // of the noisy or lossy takes, else of the clean ones
	value     func(*takeScore) float64
	scale     float64
	digits    int
}

func fOf(kind string) func(*takeScore) float64 {
	return func(s *takeScore) float64 {
		e := s.events[kind]
		if e.ref == 0 && e.est == 0 {
			return math.NaN()
		}
		f, _, _ := e.fMeasure()
		return f
	}
}

func medianErrorOf(kind string) func(*takeScore) float64 {
	return func(s *takeScore) float64 {
		median, _, _ := s.events[kind].spread()
		return median
	}
}

// goals are the project's own.
var goals = []goal{
	{"strikes, F within 2 ms", "at least 0.995", false, fOf("strike"), 1, 4},
	{"strikes, median error ms", "at most 0.15", false, medianErrorOf("strike"), 1e3, 3},
	{"strikes, noisy or lossy, F within 5 ms", "at least 0.98", true, fOf("strike"), 1, 4},
	{"space-bar strokes, F within 5 ms", "", false, fOf("space bar"), 1, 3},
	{"trips, F within 2 ms", "at least 0.90", false, fOf("trip"), 1, 3},
	{"releases, F within 3 ms", "at least 0.95", false, fOf("release"), 1, 3},
	{"landings, F within 3 ms", "at least 0.97", false, fOf("landing"), 1, 3},
	{"releases, noisy or lossy", "", true, fOf("release"), 1, 3},
	{"landings, noisy or lossy", "", true, fOf("landing"), 1, 3},
	{"bad pairs, recall", "at least 0.95", false, func(s *takeScore) float64 { r, _ := s.labels(); return r }, 1, 3},
	{"bad pairs, precision", "at least 0.95", false, func(s *takeScore) float64 { _, p := s.labels(); return p }, 1, 3},
	{"travel, error ms, middle take", "at most 1", false, func(s *takeScore) float64 { t, _ := s.travelErrors(); return medianOrNaN(t) }, 1e3, 2},
	{"travel, error ms, worst take", "at most 1", false, func(s *takeScore) float64 { t, _ := s.travelErrors(); return worst(t) }, 1e3, 2},
	{"slope of 1/travel^2, error %, middle take", "at most 10", false, func(s *takeScore) float64 { _, l := s.travelErrors(); return medianOrNaN(l) }, 100, 1},
	{"takes called unusable", "0", false, func(s *takeScore) float64 { return float64(s.unusable) }, 1, 0},
}

// writeGoals prints the short table: one column for each group of takes.
func writeGoals(w io.Writer, headings []string, groups [][]block) error {
	t := table{left: 2}
	head := []string{"clean takes unless it says otherwise", "goal"}
	for i := range headings {
		head = append(head, fmt.Sprintf("(%d)", i+1))
	}
	t.row(head...)
	for _, g := range goals {
		row := []string{g.name, g.aim}
		for _, blocks := range groups {
			cell := "-"
			for _, b := range blocks {
				if b.name == allRough && g.rough || b.name == allClean && !g.rough {
					cell = num(g.value(b.score), g.scale, g.digits)
				}
			}
			row = append(row, cell)
		}
		t.row(row...)
	}
	if err := t.write(w); err != nil {
		return err
	}
	fmt.Fprintln(w)
	for i, h := range headings {
		fmt.Fprintf(w, "(%d) %s\n", i+1, h)
	}
	return nil
}
