package main

import (
	"context"
	"fmt"
	"io"
	"slices"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
)

// actionsPrefix begins the names of takes of machines of each action.
const actionsPrefix = "action: "

// acted lists takes of machines of the three actions: the other two measured
// with what they are, then takes measured as what they are not.
func acted(first uint64, n int) []job {
	kinds := []struct {
		condition string
		told      diagnose.Action
	}{
		{"half-space", diagnose.HalfSpace},
		{"down-stroke", diagnose.DownStroke},
		{"half-space", diagnose.FullSpace},
		{"down-stroke", diagnose.FullSpace},
		{"sound machine, calm hand", diagnose.HalfSpace},
		{"sound machine, calm hand", diagnose.DownStroke},
	}
	all := mechanism.Conditions()
	var jobs []job
	for _, k := range kinds {
		i := slices.IndexFunc(all, func(c mechanism.Condition) bool { return c.Name == k.condition })
		if i < 0 {
			continue
		}
		for s := range uint64(n) {
			seed := first + uint64(i)*seedStep + s
			jobs = append(jobs, job{name: actionsPrefix + k.condition + ", measured as " + string(k.told), told: k.told,
				take: func(_ context.Context, folder string) (string, *truth, error) {
					return simulate(all[i], seed, folder)
				}})
		}
	}
	return jobs
}

// writeActions prints a row for each.
func writeActions(w io.Writer, blocks []block) error {
	t := table{left: 1}
	t.row("take", "strikes F", "trips F", "releases F", "landings F", "travel error ms", "usable", "problems")
	for _, b := range blocks {
		if b.pooled() {
			continue
		}
		s := b.score
		travel, _ := s.travelErrors()
		t.row(b.name, num(fOf("strike")(s), 1, 3), num(fOf("trip")(s), 1, 3), num(fOf("release")(s), 1, 3), num(fOf("landing")(s), 1, 3),
			num(medianOrNaN(travel), 1e3, 2), fmt.Sprintf("%d of %d", s.takes-s.unusable, s.takes), codes(s))
	}
	return t.write(w)
}
