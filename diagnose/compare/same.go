package compare

import (
	"fmt"
	"strings"

	"loosedog/diagnose"
)

// sameMachine looks at what was said of machine and text beside the sounds.
func (c *Comparison) sameMachine(both [2][]*diagnose.Take) {
	var pitch int
	var action diagnose.Action
	var name string
	for _, takes := range both {
		for _, t := range takes {
			p, a, n := toldOf(t)
			switch {
			case pitch != 0 && p != 0 && p != pitch:
				c.differ("other-pitch", "the pitch", fmt.Sprintf("%d letters to the inch", pitch), fmt.Sprint(p))
			case action != "" && a != "" && a != action:
				c.differ("other-action", "the action", string(action), string(a))
			case name != "" && n != "" && n != name && !c.said("other-machine"):
				c.remark(true, "other-machine", "The takes are of two machines, %s and %s. Before and after are of one.", name, n)
			}
			if p != 0 {
				pitch = p
			}
			if a != "" {
				action = a
			}
			if n != "" {
				name = n
			}
		}
	}
	a, b := textOf(both[0]), textOf(both[1])
	switch {
	case a == "" && b == "":
	case a == "" || b == "":
		c.remark(false, "text-in-one-only", "The text is known of one side only, so single letters cannot be compared.")
	case a != b:
		c.remark(false, "other-text", "The pages are not of the same text, as far as it is known. Equal typing and the machine's own measures do not mind; of single letters those are compared that stand on both pages often enough.")
	}
}

// toldOf is what was said of a take's machine: in its machine file, else when it
// was measured. Zero and empty where nobody said.
func toldOf(t *diagnose.Take) (pitch int, action diagnose.Action, name string) {
	if t.Asked != nil {
		pitch, action = t.Asked.Pitch, diagnose.Action(t.Asked.Action)
	}
	if m := t.Machine; m != nil {
		if m.Pitch != 0 {
			pitch = m.Pitch
		}
		if m.Action != "" {
			action = m.Action
		}
		if name = m.Name; m.Number != "" {
			name = "number " + m.Number
		}
	}
	return pitch, action, name
}

// actionOf is the action that the takes were measured with; opt's where none says.
func actionOf(both [2][]*diagnose.Take, opt Options) diagnose.Action {
	for _, takes := range both {
		for _, t := range takes {
			if t == nil {
				continue
			}
			if _, a, _ := toldOf(t); a != "" {
				return a
			}
		}
	}
	if opt.Action == "" {
		return diagnose.FullSpace
	}
	return opt.Action
}

func (c *Comparison) differ(code, what, a, b string) {
	if !c.said(code) {
		c.remark(true, code, "The takes were measured with different words on %s: %s and %s. Travel and ready time follow from it, so these takes cannot be compared.", what, a, b)
	}
}

func (c *Comparison) said(code string) bool {
	for _, r := range c.Remarks {
		if r.Code == code {
			return true
		}
	}
	return false
}

// textOf is what a side's takes say; empty where no letter of it is known.
func textOf(takes []*diagnose.Take) string {
	var b strings.Builder
	known := false
	for _, t := range takes {
		for _, s := range t.Strokes {
			if s.Char != nil {
				known = true
				b.WriteString(*s.Char)
			} else {
				b.WriteByte('\x00')
			}
		}
	}
	if !known {
		return ""
	}
	return b.String()
}
