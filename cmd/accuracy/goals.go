package main

import (
	"fmt"
	"io"
	"math"
)

// goal is one row of the short table: what is aimed at, and how far a group of
// takes is from it.
type goal struct {
	name   string
	aim    aim
	rough  bool // of the noisy or lossy takes, else of the clean ones
	value  func(*takeScore) float64
	scale  float64
	digits int
}

// aim is what a value shall be at least or at most; neither where no goal is set.
type aim struct {
	least, most float64
	is          bool
	digits      int
}

var none = aim{}

func atLeast(v float64, digits int) aim { return aim{v, math.Inf(1), true, digits} }
func atMost(v float64, digits int) aim  { return aim{math.Inf(-1), v, true, digits} }

func (a aim) String() string {
	switch {
	case !a.is:
		return ""
	case math.IsInf(a.most, 1):
		return fmt.Sprintf("at least %.*f", a.digits, a.least)
	}
	return fmt.Sprintf("at most %.*f", a.digits, a.most)
}

// short tells whether v falls short of the aim.
func (a aim) short(v float64) bool { return a.is && (v < a.least || v > a.most) }

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

func biasOf(kind string) func(*takeScore) float64 {
	return func(s *takeScore) float64 {
		_, _, signed := s.events[kind].spread()
		return math.Abs(signed)
	}
}

// goals are the project's own.
var goals = []goal{
	{"strikes, F within 2 ms", atLeast(0.995, 3), false, fOf("strike"), 1, 4},
	{"strikes, median error ms", atMost(0.15, 2), false, medianErrorOf("strike"), 1e3, 3},
	{"strikes, signed error ms, size of the median", atMost(0.2, 1), false, biasOf("strike"), 1e3, 3},
	{"landings, the same", atMost(0.5, 1), false, biasOf("landing"), 1e3, 3},
	{"strikes, noisy or lossy, F within 5 ms", atLeast(0.98, 2), true, fOf("strike"), 1, 4},
	{"space-bar strokes, F within 5 ms", atLeast(0.95, 2), false, fOf("space bar"), 1, 3},
	{"trips, F within 2 ms", atLeast(0.90, 2), false, fOf("trip"), 1, 3},
	{"releases, F within 3 ms", atLeast(0.95, 2), false, fOf("release"), 1, 3},
	{"landings, F within 3 ms", atLeast(0.97, 2), false, fOf("landing"), 1, 3},
	{"releases, noisy or lossy", none, true, fOf("release"), 1, 3},
	{"landings, noisy or lossy", none, true, fOf("landing"), 1, 3},
	{"bad pairs, recall", atLeast(0.95, 2), false, func(s *takeScore) float64 { r, _ := s.labels(); return r }, 1, 3},
	{"bad pairs, precision", atLeast(0.95, 2), false, func(s *takeScore) float64 { _, p := s.labels(); return p }, 1, 3},
	{"travel, error ms, middle take", atMost(1, 0), false, func(s *takeScore) float64 { t, _ := s.travelErrors(); return medianOrNaN(t) }, 1e3, 2},
	{"travel, error ms, worst take", atMost(1, 0), false, func(s *takeScore) float64 { t, _ := s.travelErrors(); return worst(t) }, 1e3, 2},
	{"slope of 1/travel^2, error %, middle take", atMost(10, 0), false, func(s *takeScore) float64 { _, l := s.travelErrors(); return medianOrNaN(l) }, 100, 1},
	{"lines found for one that is there", atLeast(1, 0), false, func(s *takeScore) float64 { return float64(s.linesFound) / float64(s.linesTrue) }, 1, 3},
	{"takes called unusable", atMost(0, 0), false, func(s *takeScore) float64 { return float64(s.unusable) }, 1, 0},
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
		row := []string{g.name, g.aim.String()}
		for _, blocks := range groups {
			cell := "-"
			for _, b := range blocks {
				if b.name == allRough && g.rough || b.name == allClean && !g.rough {
					v := g.value(b.score)
					if cell = num(v, g.scale, g.digits); g.aim.short(v * g.scale) {
						cell = "short " + cell
					}
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
