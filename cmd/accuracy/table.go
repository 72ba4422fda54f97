package main

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"
)

// table is a Markdown table whose columns stand under one another; the first
// few are set to the left, the others to the right.
type table struct {
	left int
	rows [][]string
}

func (t *table) row(cells ...string) { t.rows = append(t.rows, cells) }

func (t *table) write(w io.Writer) error {
	if len(t.rows) == 0 {
		return nil
	}
	wide := make([]int, len(t.rows[0]))
	for i := range wide {
		wide[i] = 3
	}
	for _, r := range t.rows {
		for i, c := range r {
			wide[i] = max(wide[i], utf8.RuneCountInString(c))
		}
	}
	var b strings.Builder
	for n, r := range t.rows {
		for i, c := range r {
			pad := strings.Repeat(" ", wide[i]-utf8.RuneCountInString(c))
			if i < t.left {
				c += pad
			} else {
				c = pad + c
			}
			b.WriteString("| " + c + " ")
		}
		b.WriteString("|\n")
		if n > 0 {
			continue
		}
		for i, n := range wide {
			if i < t.left {
				b.WriteString("| " + strings.Repeat("-", n) + " ")
			} else {
				b.WriteString("| " + strings.Repeat("-", n-1) + ": ")
			}
		}
		b.WriteString("|\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// block is one row group of the report: a name and what was scored under it.
type block struct {
	name  string
	score *takeScore
}

// pooled tells whether the block is all takes of a kind together.
func (b block) pooled() bool { return b.name == allClean || b.name == allRough }

// writeBlocks prints the table of events, then that of pairs, travel and lines.
func writeBlocks(w io.Writer, blocks []block) error {
	events := table{left: 2}
	events.row("take", "event", "within ms", "true", "found", "F", "precision", "recall", "median ms", "95 % ms", "signed ms")
	for _, b := range blocks {
		for _, k := range kinds {
			eventRow(&events, b.name, k, b.score.rough, b.score.events[k])
		}
		if b.score.outer.ref > 0 {
			eventRow(&events, b.name, outsideKind, b.score.rough, &b.score.outer)
			eventRow(&events, b.name, allKind, b.score.rough, &b.score.all)
			eventRow(&events, b.name, outsideAllKind, b.score.rough, &b.score.outerAll)
		}
	}
	if err := events.write(w); err != nil {
		return err
	}
	fmt.Fprintln(w)
	pairs := table{left: 1}
	pairs.row("take", "pairs bad", "found", "recall", "precision", "travel ms", "measured", "error ms", "pull lost %", "measured", "slope error %", "lines", "found", "unusable")
	for _, b := range blocks {
		s := b.score
		recall, precision := s.labels()
		travelErrs, slopeErrs := s.travelErrors()
		travel, lost := middle(s.travel), middle(s.lost)
		pairs.row(b.name, fmt.Sprint(s.badTrue), fmt.Sprint(s.badFound), num(recall, 1, 3), num(precision, 1, 3),
			num(travel.truth, 1e3, 2), num(travel.measured, 1e3, 2), num(medianOrNaN(travelErrs), 1e3, 2),
			num(lost.truth, 100, 1), num(lost.measured, 100, 1), num(medianOrNaN(slopeErrs), 100, 1),
			fmt.Sprint(s.linesTrue), fmt.Sprint(s.linesFound), fmt.Sprintf("%d of %d", s.unusable, s.takes))
	}
	return pairs.write(w)
}

func eventRow(t *table, name, kind string, rough bool, s *score) {
	f, p, r := s.fMeasure()
	if s.ref == 0 && s.est == 0 {
		f, p, r = math.NaN(), math.NaN(), math.NaN() // nothing to find, none found
	}
	median, p95, signed := s.spread()
	t.row(name, kind, num(window(kind, rough), 1e3, 0), fmt.Sprint(s.ref), fmt.Sprint(s.est), num(f, 1, 3), num(p, 1, 3), num(r, 1, 3),
		num(median, 1e3, 3), num(p95, 1e3, 3), num(signed, 1e3, 3))
}

// middle takes the medians over several takes.
func middle(v []trueAndMeasured) trueAndMeasured {
	var t, m []float64
	for _, x := range v {
		t, m = append(t, x.truth), append(m, x.measured)
	}
	return trueAndMeasured{truth: medianOrNaN(t), measured: medianOrNaN(m)}
}

// num prints a number that is known, else a dash.
func num(v, scale float64, digits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "-"
	}
	return fmt.Sprintf("%.*f", digits, v*scale)
}
