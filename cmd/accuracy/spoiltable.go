package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
)

// mark is one figure of a spoiled take beside its goal.
type mark struct {
	name  string
	goal  func(rough bool) float64
	value func(*takeScore) float64
}

func always(goal float64) func(bool) float64 { return func(bool) float64 { return goal } }

// marks are the goals that have to hold.
var marks = []mark{
	{"strikes F", func(rough bool) float64 {
		if rough {
			return 0.98
		}
		return 0.995
	}, fOf("strike")},
	{"spaces F", always(0.95), fOf("space bar")},
	{"trips F", always(0.90), fOf("trip")},
	{"releases F", always(0.95), fOf("release")},
	{"landings F", always(0.97), fOf("landing")},
	{"bad pairs recall", always(0.95), func(s *takeScore) float64 { r, _ := s.labels(); return r }},
	{"precision", always(0.95), func(s *takeScore) float64 { _, p := s.labels(); return p }},
}

// degree is a step of a damage with what was scored under it: figures of the
// takes that were called usable, problems of all.
type degree struct {
	damage, step string
	rough        bool
	usable, all  *takeScore
}

// degrees pools the jobs of a heading by step.
func degrees(heading string, jobs []job, scores []*takeScore) []degree {
	var list []degree
	for i, j := range jobs {
		if j.heading != heading {
			continue
		}
		n := len(list)
		if n == 0 || list[n-1].damage != j.damage || list[n-1].step != j.step {
			list = append(list, degree{j.damage, j.step, j.rough, newTakeScore(), newTakeScore()})
			n++
		}
		list[n-1].all.add(scores[i])
		if scores[i].unusable == 0 {
			list[n-1].usable.add(scores[i])
		}
	}
	return list
}

// figure is a mark's value; unknown when no take was usable.
func (d degree) figure(m mark) float64 {
	if d.usable.takes == 0 {
		return math.NaN()
	}
	return m.value(d.usable)
}

// codes lists the problems that were named.
func codes(s *takeScore) string {
	var names []string
	for c := range s.problems {
		names = append(names, c)
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}

// writeSpoiled prints every step of every damage.
func writeSpoiled(w io.Writer, list []degree) error {
	t := table{left: 2}
	head := []string{"damage", "step"}
	for _, m := range marks {
		head = append(head, m.name)
	}
	t.row(append(head, "usable", "problems")...)
	for _, d := range list {
		row := []string{d.damage, d.step}
		for _, m := range marks {
			v := d.figure(m)
			cell := num(v, 1, 3)
			if v < m.goal(d.rough) {
				cell = "! " + cell
			}
			row = append(row, cell)
		}
		t.row(append(row, fmt.Sprintf("%d of %d", d.usable.takes, d.all.takes), codes(d.all))...)
	}
	return t.write(w)
}

// drop is how much a figure that does not meet its goal on undamaged takes may
// fall before a damage is blamed.
const drop = 0.05

// writeLimits prints, for each damage, the step from which each goal is lost, and
// those at which takes begin to be refused and all are.
func writeLimits(w io.Writer, list []degree) error {
	t := table{left: 1}
	head := []string{"lost from"}
	for _, m := range marks {
		head = append(head, m.name)
	}
	t.row(append(head, "first refused", "all refused")...)
	var clean *degree
	for i := range list {
		if list[i].damage == undamaged {
			clean = &list[i]
		}
	}
	for from := 0; from < len(list); {
		to := from + 1
		for to < len(list) && list[to].damage == list[from].damage {
			to++
		}
		steps := list[from:to]
		from = to
		if steps[0].damage == undamaged {
			continue
		}
		row := []string{steps[0].damage}
		for _, m := range marks {
			row = append(row, lostFrom(steps, m, clean))
		}
		row = append(row,
			firstStep(steps, func(d degree) bool { return d.usable.takes < d.all.takes }),
			firstStep(steps, func(d degree) bool { return d.usable.takes == 0 }))
		t.row(row...)
	}
	return t.write(w)
}

// leastOf is what a figure must reach: its goal, or a little less than on the
// undamaged takes where those miss it.
func leastOf(m mark, rough bool, clean *degree) float64 {
	goal := m.goal(rough)
	if clean == nil {
		return goal
	}
	if v := clean.figure(m); v < goal {
		return v - drop
	}
	return goal
}

// lostFrom is the mildest step from which on no figure that is known reaches
// what it must: a step that only stumbles is no limit.
func lostFrom(steps []degree, m mark, clean *degree) string {
	from := "-"
	for _, d := range slices.Backward(steps) {
		switch v := d.figure(m); {
		case v < leastOf(m, d.rough, clean):
			from = d.step
		case !math.IsNaN(v):
			return from
		}
	}
	return from
}

func firstStep(steps []degree, is func(degree) bool) string {
	if i := slices.IndexFunc(steps, is); i >= 0 {
		return steps[i].step
	}
	return "-"
}
