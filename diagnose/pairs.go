package diagnose

import (
	"cmp"
	"slices"
)

// Pair is two strokes of a line, one after the other.
type Pair struct {
	// First and Second are stroke indexes.
	First, Second int
	// IntervalMS is strike to strike; ReadyMS and SlackMS are the first stroke's.
	IntervalMS, ReadyMS, SlackMS Number
	// Spacing is SpacingClear, SpacingCrowded or SpacingPiled; empty where it
	// cannot be told.
	Spacing string
	// ShortBy is by how much of a space the second letter stands short, 0 to 1.
	ShortBy Number
	// Seen is false where the second stroke is a crowded space: it prints nothing
	// that could stand wrong.
	Seen bool
}

// Flagged tells whether the pair is crowded or piled.
func (p Pair) Flagged() bool { return p.Spacing == SpacingCrowded || p.Spacing == SpacingPiled }

// Pairs lists the pairs of a take in order.
func Pairs(t *Take) []Pair {
	pairs := []Pair{}
	for i := 1; i < len(t.Strokes); i++ {
		a, b := t.Strokes[i-1], t.Strokes[i]
		if a.Line != b.Line {
			continue
		}
		p := Pair{
			First: i - 1, Second: i,
			IntervalMS: a.IntervalMS, ReadyMS: a.ReadyMS, SlackMS: a.SlackMS,
			ShortBy: b.ShortBy,
		}
		if b.Spacing != nil {
			p.Spacing = *b.Spacing
		}
		p.Seen = b.Kind == KindType || p.Spacing == SpacingPiled
		pairs = append(pairs, p)
	}
	return pairs
}

// Flagged lists the crowded and piled pairs of a take, the worst first: those
// that show on paper before crowded spaces, then by how much of a space is
// short (half a space where that is not known), then by slack, then in order.
func Flagged(t *Take) []Pair {
	all := slices.DeleteFunc(Pairs(t), func(p Pair) bool { return !p.Flagged() })
	slices.SortStableFunc(all, func(a, b Pair) int {
		if a.Seen != b.Seen {
			if a.Seen {
				return -1
			}
			return 1
		}
		return cmp.Or(
			cmp.Compare(b.short(), a.short()),
			cmp.Compare(a.SlackMS, b.SlackMS), // an unknown one sorts first
		)
	})
	return all
}

// Worst is the first of [Flagged]; ok is false when no pair is flagged.
func Worst(t *Take) (worst Pair, ok bool) {
	all := Flagged(t)
	if len(all) == 0 {
		return Pair{}, false
	}
	return all[0], true
}

func (p Pair) short() float64 {
	if !p.ShortBy.Known() {
		return 0.5
	}
	return float64(p.ShortBy)
}
