package diagnose

import (
	"fmt"
	"math"
)

// Pull is what the travel says of the carriage's net pull (mainspring less
// drag).
type Pull struct {
	// Lost is the share of the net pull that is gone from the first to the last
	// position of the line, with its 95 % interval.
	Lost     Number `json:"lost"`
	LostLow  Number `json:"lost_low"`
	LostHigh Number `json:"lost_high"`
	// NetStartN and NetEndN are the net pull in newtons, DragN what the carriage
	// is held back with; null unless the machine file gives what they need.
	NetStartN Interval `json:"net_start_n"`
	NetEndN   Interval `json:"net_end_n"`
	DragN     Interval `json:"drag_n"`
	// Agrees tells whether recording and spring scale agree; null where they
	// cannot be compared.
	Agrees *bool `json:"agrees"`
	// Text says all that in words; "" when nothing is known.
	Text string `json:"text"`
}

// Interval is a value with its 95 % interval.
type Interval struct {
	Value Number `json:"value"`
	Low   Number `json:"low"`
	High  Number `json:"high"`
}

func unknownInterval() Interval { return Interval{Unknown(), Unknown(), Unknown()} }

// scaleSlop is how far off a spring scale at a moving carriage may be read, as a
// share.
const scaleSlop = 0.07

// pull is nil where the profile has no line.
func (c *Case) pull() *Pull {
	p := c.Profile
	if !p.PullLost.Known() {
		return nil
	}
	out := &Pull{
		Lost: p.PullLost, LostLow: p.LostLow, LostHigh: p.LostHigh,
		NetStartN: unknownInterval(), NetEndN: unknownInterval(), DragN: unknownInterval(),
	}
	m := c.Options.Machine
	if m == nil {
		m = unsaid()
	}
	out.Text = fmt.Sprintf("From position %d to %d the carriage loses %s of its net pull.", p.From, p.To,
		percent(p.PullLost, p.LostLow, p.LostHigh))
	if p.PullLost < 0 {
		out.Text = fmt.Sprintf("From position %d to %d the carriage's net pull does not fall.", p.From, p.To)
	}
	start, end := float64(m.PullStartN), float64(m.PullEndN)
	switch {
	case m.MassKG.Known():
		c.netPull(out, float64(m.MassKG))
		out.Text += fmt.Sprintf(" For a carriage of %.2g kg that is %s at the start and %s at the end.",
			float64(m.MassKG), out.NetStartN.newtons(), out.NetEndN.newtons())
		if known(start) {
			out.holdAgainst(start, end)
		}
	case known(start) && known(end):
		c.dragFromScale(out, start, end)
	case known(start) || known(end):
		out.Text += " For newtons the carriage's mass is needed, too, or the pull at both ends of the line."
	default:
		out.Text += " For newtons a machine file with the carriage's mass is needed."
	}
	return out
}

// netPull is the net pull in newtons by F = 2 p m / travel^2, of half a pitch on a
// half-space machine.
func (c *Case) netPull(out *Pull, mass float64) {
	move := 0.0254 / float64(c.Options.Pitch)
	if c.Options.Action == HalfSpace {
		move /= 2
	}
	at := func(position int) Interval {
		v, low, high := c.inverseSquare(float64(position))
		f := 2 * move * mass
		return Interval{Number(f * v), Number(f * low), Number(f * high)}
	}
	out.NetStartN, out.NetEndN = at(c.Profile.From), at(c.Profile.To)
}

// holdAgainst compares the net pull with what a spring scale read at the line's
// start and, where known, its end. Drag is what the scale reads over the net pull.
// They agree when the drag is not negative and, since drag takes as much away at
// either end, the scale loses as much along the line as the net pull.
func (out *Pull) holdAgainst(start, end float64) {
	net := out.NetStartN
	out.DragN = Interval{Number(start) - net.Value, Number(start) - net.High, Number(start) - net.Low}
	slop := Number(scaleSlop * start)
	agrees := out.DragN.High >= -slop
	if known(end) {
		lost := net.Value - out.NetEndN.Value
		wide := (net.High - net.Low + out.NetEndN.High - out.NetEndN.Low) / 2
		agrees = agrees && math.Abs(float64(lost)-(start-end)) <= float64(wide+slop)
	}
	out.Agrees = &agrees
	out.Text += fmt.Sprintf(" The spring scale read %s at the start", newtons(Number(start)))
	if known(end) {
		out.Text += fmt.Sprintf(" and %s at the end", newtons(Number(end)))
	}
	if agrees {
		out.Text += fmt.Sprintf(": they agree, and %s is drag.", out.DragN.newtons())
	} else {
		out.Text += ": they do not agree. Weigh the carriage and read the scale once more, or tell the action and pitch."
	}
}

// dragFromScale finds the drag without the mass: of pulls F0 and F1 the net ones
// stand in the ratio r of 1/travel^2 at the two ends, so (F1-D)/(F0-D) = r and D =
// (F1 - r F0)/(1 - r).
func (c *Case) dragFromScale(out *Pull, start, end float64) {
	drag := func(lost Number) Number {
		if !(lost > 0) {
			return Unknown()
		}
		return Number((end - (1-float64(lost))*start) / float64(lost))
	}
	d := Interval{drag(out.Lost), drag(out.LostLow), drag(out.LostHigh)}
	scale := 0.0
	if start > 0 {
		scale = 1 - end/start
	}
	// Drag makes the net pull lose a larger share than the spring does.
	agrees := float64(out.LostHigh) >= scale-scaleSlop
	out.Agrees = &agrees
	out.Text += fmt.Sprintf(" The spring scale read %s and %s, a loss of %.0f %%", newtons(Number(start)), newtons(Number(end)), 100*scale)
	switch {
	case !agrees:
		out.Text += ", which is more than the carriage shows: they do not agree. Read the scale once more."
	case d.Value.Known() && d.Low.Known() && d.Value >= 0 && float64(d.Value) < end:
		out.DragN = d
		out.NetStartN = Interval{Number(start) - d.Value, Number(start) - d.High, Number(start) - d.Low}
		out.NetEndN = Interval{Number(end) - d.Value, Number(end) - d.High, Number(end) - d.Low}
		out.Text += fmt.Sprintf(": they agree if the drag is %s.", d.newtons())
	default:
		out.Text += ": they agree, with no drag that could be told."
	}
}

func (i Interval) newtons() string {
	if !i.Low.Known() || !i.High.Known() {
		return newtons(i.Value)
	}
	return fmt.Sprintf("%s (%.1f to %.1f)", newtons(i.Value), float64(i.Low), float64(i.High))
}

func newtons(n Number) string { return fmt.Sprintf("%.1f N", float64(n)) }

func percent(v, low, high Number) string {
	return fmt.Sprintf("%.0f %% (%.0f to %.0f)", 100*float64(v), 100*float64(low), 100*float64(high))
}
