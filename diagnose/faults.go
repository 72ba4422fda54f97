package diagnose

import "slices"

// Rule looks for one fault. Each rule has a file of its own, fault_NAME.go, and
// a place in [rules].
type Rule interface {
	// Find returns the fault with its evidence; ok is false when the take gives
	// none, or not enough.
	Find(c *Case) (f Finding, ok bool)
}

// Case is what a rule may look at; it changes nothing in it.
type Case struct {
	// Take is measured but for its findings.
	Take *Take
	// Options are what the user said about the machine.
	Options Options
}

// rules are asked in this order; of two findings of equal strength the earlier
// rule's stands first.
var rules []Rule

// Strengths of a finding.
const (
	Strong   = "strong"
	Likely   = "likely"
	Possible = "possible"
)

// findings asks every rule and puts the strongest first. A take that is not
// usable gives none.
func findings(c *Case, rules []Rule) []Finding {
	found := []Finding{}
	if !c.Take.Recording.Usable {
		return found
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
		found = append(found, f)
	}
	order := []string{Strong, Likely, Possible}
	slices.SortStableFunc(found, func(a, b Finding) int {
		return slices.Index(order, a.Strength) - slices.Index(order, b.Strength)
	})
	return found
}
