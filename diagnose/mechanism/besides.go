package mechanism

import (
	"math/rand/v2"
	"strings"

	"loosedog/audio/synth"
)

// Besides lists takes in which the hand does more than type: nothing is wrong with
// the machines. Each sound's usual level is drawn anew, from 24 dB under the strike to
// as loud as it.
func Besides() []Condition {
	of := func(name string, h Habits, low, high float64) Condition {
		return Condition{Name: name, Clean: true, Make: func(seed uint64) *Scenario {
			hand := Calm()
			if seed%2 == 0 {
				hand = Brisk()
			}
			s := Ordinary(name, hand, seed)
			s.Hand.Habits = h
			r := rand.New(rand.NewPCG(seed, 0xbe51))
			for _, k := range []synth.Kind{synth.Backspace, synth.Pawl, synth.Shift, synth.ShiftUp, synth.Tabulator, synth.TabStop, synth.Margin, synth.Bail} {
				s.Palette.Level[k] = between(r, low, high)
			}
			s.Text = firstLines(s.Text, 5)
			if h.Tabs > 0 {
				s.Text = cutLines(s.Text, 38) // room to run
			}
			return s
		}}
	}
	all := Habits{Backspaces: 0.02, Capitals: 0.1, Tabs: 0.05, Margins: 0.4, Between: 0.4}
	return []Condition{
		of("backspaces", Habits{Backspaces: 0.05}, -24, 0),
		of("capitals", Habits{Capitals: 0.5}, -24, 0),
		of("tabulator", Habits{Tabs: 0.3}, -24, 0),
		of("margin release, paper bail, tab stops set", Habits{Margins: 1, Between: 1}, -24, 0),
		of("all of these", all, -24, 0),
		of("all of these, as loud as strikes", all, -6, 2),
	}
}

// cutLines ends the lines of a text after at most so many bytes.
func cutLines(text string, most int) string {
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		lines[i] = strings.TrimSpace(l[:min(len(l), most)])
	}
	return strings.Join(lines, "\n")
}
