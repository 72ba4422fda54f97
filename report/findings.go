package report

import (
	"fmt"
	"strings"

	"loosedog/diagnose"
)

// generalCaution stands beside a check whose finding brings none of its own, so
// that no adjustment is ever proposed bare.
const generalCaution = "The maker's service sheet and a trained repairer come first. Make one adjustment at a time, keep fingers and hair clear of the mainspring, which is under tension, and record again after it."

// mostPlaces is how many places on the page a finding lists.
const mostPlaces = 6

// findings writes every cause with its evidence, what to check and the caution
// that belongs to it. Without findings nothing is written: no adjustment is
// proposed.
func (p *printer) findings(t *diagnose.Take) {
	if len(t.Findings) == 0 {
		return
	}
	p.heading("What the take gives evidence for")
	for i, f := range t.Findings {
		if i > 0 {
			p.blank()
		}
		p.para(fmt.Sprintf("  %d. ", i+1), findingTitle(f)+explains(t, f))
		for _, e := range f.Evidence {
			p.para("     evidence  ", evidence(e))
		}
		if where := places(t, f.Where); where != "" {
			p.para("     where     ", where)
		}
		if f.Check != "" {
			p.para("     check     ", clean(f.Check))
		}
		if f.Next != "" {
			p.para("     then      ", clean(f.Next))
		}
		if caution := cautionOf(f); caution != "" {
			p.para("     caution   ", caution)
		}
	}
}

// cautionOf is the caution that stands beside a finding: its own, else the general
// one where it has something to check.
func cautionOf(f diagnose.Finding) string {
	if f.Caution == "" && f.Check != "" {
		return generalCaution
	}
	return clean(f.Caution)
}

func findingTitle(f diagnose.Finding) string {
	title := strings.ReplaceAll(clean(f.Fault), "-", " ")
	var notes []string
	if f.Share != "" {
		notes = append(notes, "the "+clean(f.Share))
	}
	switch f.Strength {
	case "":
	case "strong":
		notes = append(notes, "strong evidence")
	default:
		notes = append(notes, clean(f.Strength))
	}
	if len(notes) > 0 {
		title += " (" + strings.Join(notes, ", ") + ")"
	}
	return title
}

// explains says how many of the places that stand wrong a cause accounts for.
func explains(t *diagnose.Take, f diagnose.Finding) string {
	if f.Explains <= 0 {
		return ""
	}
	return fmt.Sprintf(": explains %d of %s that stand wrong", f.Explains,
		count(max(len(diagnose.Flagged(t))+t.Summary.Skipped, f.Explains), "place"))
}

// machineWords name a machine as its owner does, and what was last done to it.
func machineWords(m *diagnose.Machine) string {
	if m == nil {
		return ""
	}
	var words []string
	for _, w := range []string{m.Name, m.Number, m.Colour} {
		if w = clean(w); w != "" {
			words = append(words, w)
		}
	}
	s := strings.Join(words, ", ")
	if last := clean(m.LastDone); last != "" {
		if s != "" {
			s += "; "
		}
		s += "last done: " + last
	}
	return s
}

// pull says what the travel tells of the carriage's pull.
func (p *printer) pull(t *diagnose.Take) {
	if t.Pull != nil && t.Pull.Text != "" {
		p.para("  ", clean(t.Pull.Text))
	}
}

func evidence(e diagnose.Evidence) string {
	s := clean(e.Measure) + ": "
	if strings.HasPrefix(e.Measure, "chance ") && e.Unit == "" && e.Value.Known() {
		return s + oneIn(float64(e.Value))
	}
	if e.Value.Known() {
		s += quantity(e.Value, e.Unit)
	} else {
		s += cannotTell
	}
	if e.Low.Known() && e.High.Known() {
		s += fmt.Sprintf(" (%s to %s)", quantity(e.Low, ""), quantity(e.High, ""))
	}
	if e.Reference.Known() {
		s += ", against " + quantity(e.Reference, e.Unit)
	}
	from := clean(e.Source)
	if e.Basis != "" {
		from = clean(e.Basis) + ": " + from
	}
	if from != "" {
		s += " [" + strings.TrimSuffix(from, ": ") + "]"
	}
	return s
}

// oneIn says a small probability as people do.
func oneIn(p float64) string {
	switch {
	case p <= 1e-6:
		return "less than 1 in a million"
	case p >= 0.1:
		return fmt.Sprintf("1 in %.2g", 1/p)
	}
	return fmt.Sprintf("1 in %.0f", 1/p)
}

func quantity(n diagnose.Number, unit string) string {
	s := fmt.Sprintf("%.3g", float64(n))
	if unit != "" {
		s += " " + clean(unit)
	}
	return s
}

// places names strokes by where they stand on the page.
func places(t *diagnose.Take, where []int) string {
	var out []string
	n := 0
	for _, i := range where {
		if i < 0 || i >= len(t.Strokes) {
			continue
		}
		n++
		if n <= mostPlaces {
			s := t.Strokes[i]
			out = append(out, fmt.Sprintf("line %d position %d", s.Line+1, s.Position))
		}
	}
	if n > mostPlaces {
		out = append(out, fmt.Sprintf("and %d more", n-mostPlaces))
	}
	return strings.Join(out, ", ")
}
