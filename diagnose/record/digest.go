package record

import (
	"slices"

	"loosedog/diagnose"
	"loosedog/diagnose/compare"
)

// digest puts at the head of a result what a record needs of it.
func digest(t *diagnose.Take, action diagnose.Action) *diagnose.Kept {
	k := &diagnose.Kept{
		Version: diagnose.MeasuringVersion, Usable: t.Recording.Usable, Summary: t.Summary,
		Letters: compare.AtReference(t, action),
		LeadMS:  ofLines(t, lead), TravelMS: ofLines(t, travel),
	}
	if !k.Usable {
		k.Why = "its recording cannot be measured"
		if len(t.Recording.Problems) > 0 {
			k.Why = t.Recording.Problems[0].Text
		}
	}
	if f, ok := strongest(t.Findings); ok {
		f.Evidence, f.Where = []diagnose.Evidence{}, []int{}
		k.Strongest = &f
	}
	return k
}

// strongest is the finding with the strongest evidence, of equal ones the one that
// explains the most: they come in that order.
func strongest(list []diagnose.Finding) (f diagnose.Finding, ok bool) {
	for _, strength := range []string{diagnose.Strong, diagnose.Likely, diagnose.Possible} {
		if i := slices.IndexFunc(list, func(f diagnose.Finding) bool { return f.Strength == strength }); i >= 0 {
			return list[i], true
		}
	}
	return f, false
}

// lead of typed strokes: the space bar's is another thing.
func lead(s diagnose.Stroke) diagnose.Number {
	if s.Kind == diagnose.KindSpace {
		return diagnose.Unknown()
	}
	return s.LeadMS()
}

func travel(s diagnose.Stroke) diagnose.Number { return s.TravelMS }

// ofLines are the medians of the lines that have enough values, as in comparisons.
func ofLines(t *diagnose.Take, of func(diagnose.Stroke) diagnose.Number) []diagnose.Number {
	all := []diagnose.Number{}
	if !t.Recording.Usable {
		return all
	}
	by := make([][]float64, len(t.Lines))
	for _, s := range t.Strokes {
		if v := of(s); v.Known() && s.Line >= 0 && s.Line < len(by) {
			by[s.Line] = append(by[s.Line], float64(v))
		}
	}
	for _, v := range by {
		if len(v) >= compare.FewestOfLine {
			all = append(all, diagnose.Number(diagnose.Median(v)))
		}
	}
	return all
}

// floats are the known ones of some numbers.
func floats(list []diagnose.Number) []float64 {
	var out []float64
	for _, n := range list {
		if n.Known() {
			out = append(out, float64(n))
		}
	}
	return out
}
