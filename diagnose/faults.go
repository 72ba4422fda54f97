package diagnose

import (
	"slices"

	"loosedog/onset"
)

// The faults that are looked for.
const (
	FaultLateTrip           = "late-trip"
	FaultWeakPull           = "weak-pull"
	FaultBinding            = "binding"
	FaultWornTooth          = "worn-tooth"
	FaultSluggishEscapement = "sluggish-escapement"
	FaultSluggishBar        = "sluggish-bar"
	FaultSkipping           = "skipping"
	FaultChippedRack        = "chipped-rack"
	FaultTiltedBar          = "tilted-bar"
	FaultLateSpaceBar       = "late-space-bar"
	FaultHurriedHand        = "hurried-hand"
	FaultUnsteadyDesk       = "unsteady-desk"
)

// Rule looks for one fault. Each rule has a file of its own, fault_NAME.go, and
// a place in [rules].
type Rule interface {
	// Find returns the fault with its evidence; ok is false when the take gives
	// none, or not enough.
	Find(c *Case) (f Finding, ok bool)
}

// ruleFunc is a rule that is a plain function.
type ruleFunc func(c *Case) (Finding, bool)

// Find calls the function.
func (r ruleFunc) Find(c *Case) (Finding, bool) { return r(c) }

// rules are asked in this order; of two findings that explain as much and are
// equally strong the earlier rule's stands first. The hand's comes last: it is
// asked for what the machine's leave over.
var rules = []Rule{
	ruleFunc(lateTrip),
	ruleFunc(weakPull),
	ruleFunc(binding),
	ruleFunc(wornTooth),
	ruleFunc(sluggishBar),
	ruleFunc(sluggishEscapement),
	ruleFunc(chippedRack),
	ruleFunc(skipping),
	ruleFunc(tiltedBar),
	ruleFunc(lateSpaceBar),
	ruleFunc(unsteadyDesk),
	ruleFunc(hurriedHand),
}

// Strengths of a finding.
const (
	Strong   = "strong"
	Likely   = "likely"
	Possible = "possible"
)

// findCauses asks every rule and sets t's Machine, Pull, Findings and Answer. t is
// measured but for these, heard are the events that it was measured from.
func findCauses(t *Take, heard *onset.Take, opt Options) {
	c := newCase(t, heard, opt)
	t.Machine = opt.Machine
	t.Pull = c.pull()
	t.Findings = findings(c, rules)
	t.Answer = answer(c)
}

// findings asks every rule and puts those first that explain the most, of these
// the strongest. A take that is not usable gives none.
func findings(c *Case, rules []Rule) []Finding {
	c.found = []Finding{}
	if !c.Take.Recording.Usable {
		return c.found
	}
	for _, r := range rules {
		f, ok := r.Find(c)
		if !ok {
			continue
		}
		if f.Evidence == nil {
			f.Evidence = []Evidence{}
		}
		if f.Where == nil {
			f.Where = []int{}
		}
		c.found = append(c.found, f)
	}
	order := []string{Strong, Likely, Possible}
	slices.SortStableFunc(c.found, func(a, b Finding) int {
		if a.Explains != b.Explains {
			return b.Explains - a.Explains
		}
		return slices.Index(order, a.Strength) - slices.Index(order, b.Strength)
	})
	return c.found
}

// plain is evidence without an interval or without something to compare with.
func plain(measure string, value float64, unit string) Evidence {
	return Evidence{Measure: measure, Value: Number(value), Unit: unit, Low: Unknown(), High: Unknown(), Reference: Unknown()}
}

// within adds an interval.
func (e Evidence) within(low, high float64) Evidence {
	e.Low, e.High = Number(low), Number(high)
	return e
}

// against adds what the value is compared with.
func (e Evidence) against(reference float64, basis, source string) Evidence {
	e.Reference, e.Basis, e.Source = Number(reference), basis, source
	return e
}

// known tells whether f is a number.
func known(f float64) bool { return Number(f).Known() }
