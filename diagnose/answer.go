package diagnose

import (
	"fmt"
	"strings"
)

// staccato is what to type where this way of typing does not bring a fault out.
const staccato = "type a staccato line, every key flicked like a hot stove, and record again"

// answer says what comes of the findings, also where there is none.
func answer(c *Case) Answer {
	t := c.Take
	if !t.Recording.Usable {
		return Answer{AnswerCannotTell, "Cannot tell, because the recording cannot be measured."}
	}
	if len(t.Findings) > 0 {
		return Answer{AnswerFindings, c.inWords()}
	}
	lead, short := c.leadFigure()
	wrong := c.wrong()
	switch {
	case short:
		shows := "no stroke was short enough to show whether it loses spaces by it"
		if _, missed := c.judged(KindType); len(missed) > 0 {
			shows = fmt.Sprintf("the spaces heard to be missed (%d) are too few to lay to it", len(missed))
		}
		late := fmt.Sprintf("This machine trips late (lead %.1f ms, %.1f or more is common), but %s: %s.",
			float64(lead.Median), soundLeadMS, shows, staccato)
		if wrong > 0 {
			late += fmt.Sprintf(" Why %d places may stand wrong cannot be told, because %s.", wrong, strings.Join(c.whyNot(), "; and "))
		}
		return Answer{AnswerCannotShow, "Cannot show here. " + late}
	case wrong > 0:
		a := Answer{AnswerCannotTell, "Cannot tell why"}
		if c.releasedLate() > 0 {
			a = Answer{AnswerCannotShow, "This page cannot show why"} // other typing would
		}
		a.Text += ", because " + strings.Join(c.whyNot(), "; and ") +
			". Hold the places against the paper first: where the letters stand clear, nothing is wrong."
		return a
	case len(t.Strokes) < fewestJudged:
		return Answer{AnswerCannotTell, fmt.Sprintf("Cannot tell, because %d strokes are too few; type eight full lines.", len(t.Strokes))}
	case !t.Summary.ReadyMS.Median.Known():
		return Answer{AnswerCannotTell, "Cannot tell, because the carriage's landings were not heard; lay the phone nearer to the escapement."}
	case !t.Summary.TravelMS.Median.Known():
		return Answer{AnswerNothing, "Nothing wrong that can be heard: every letter that could be judged stands clear. Release and landing could not be heard apart, so of the carriage's pull nothing can be said."}
	case len(c.Profile.Points) < fewestPull || !c.Profile.PullLost.Known():
		return Answer{AnswerNothing, "Nothing wrong that can be heard: every letter that could be judged stands clear. Too few travels were heard to say how the carriage runs along the line."}
	}
	return Answer{AnswerNothing, "Nothing wrong that can be heard: every letter that could be judged stands clear, and the carriage runs evenly along the line. Nothing needs adjusting."}
}

// wrong counts the places that stand wrong on the page: flagged pairs and skips.
func (c *Case) wrong() int { return len(c.Spoiled) + c.Take.Summary.Skipped }

// inWords names the findings and how much they explain.
func (c *Case) inWords() string {
	var s []string
	explained := map[int]bool{}
	for _, f := range c.Take.Findings {
		whose := "in the machine"
		if f.Share == ShareHand {
			whose = "in the hand"
		}
		text := fmt.Sprintf("%s %s (%s)", strings.ReplaceAll(f.Fault, "-", " "), whose, f.Strength)
		if f.Explains > 0 {
			text += fmt.Sprintf(", which explains %d of the %d places that stand wrong", f.Explains, c.wrong())
		}
		s = append(s, text)
		for _, i := range f.relieved {
			explained[i] = true
		}
	}
	text := "Evidence for " + strings.Join(s, "; ") + "."
	left := 0
	for _, p := range c.Spoiled {
		if !explained[p.Second] {
			left++
		}
	}
	shown := map[int]bool{}
	for _, f := range c.Take.Findings {
		if f.Fault == FaultSkipping || f.Fault == FaultChippedRack {
			for _, i := range f.Where {
				shown[i] = true
			}
		}
	}
	for _, st := range c.Take.Strokes {
		if st.Skipped && !shown[st.Index] {
			left++
		}
	}
	if left > 0 {
		text += fmt.Sprintf(" Of %d more the cause cannot be told.", left)
	}
	return text
}

// whyNot are the reasons why places stand wrong and no cause is named.
func (c *Case) whyNot() []string {
	t := c.Take
	var why []string
	if len(t.Strokes) < fewestJudged {
		why = append(why, fmt.Sprintf("%d strokes are too few: type eight full lines", len(t.Strokes)))
	}
	if !t.Summary.TravelMS.Median.Known() {
		why = append(why, "release and landing could not be heard apart, so neither travel nor latency says whose it is")
	}
	missed := 0
	for _, p := range c.Spoiled {
		if t.Strokes[p.First].MissedSpace {
			missed++
		}
	}
	if held := c.releasedLate(); held > 0 {
		why = append(why, fmt.Sprintf("%s spoiled by a late release at an ordinary pace, where a lingering finger and a hanging escapement look alike: %s", are(held, "pair"), staccato))
	}
	if missed > 0 {
		lead, short := c.leadFigure()
		switch {
		case short:
			why = append(why, fmt.Sprintf("the missed spaces heard (%d) are too few, or no key was let go at once, to lay them to the late trip", missed))
		case !lead.Median.Known():
			why = append(why, fmt.Sprintf("too few trips were heard to say whether the missed spaces heard (%d) come of a late one", missed))
		default:
			why = append(why, fmt.Sprintf("the missed spaces heard (%d) come without a late trip, so they may be a carriage that was not heard", missed))
		}
	}
	if t.Summary.Skipped == 1 {
		why = append(why, "one skip can be an accident or a sound wrongly heard")
	}
	if len(why) == 0 {
		why = append(why, "no cause stands out")
	}
	if !c.hasText() {
		why = append(why, "without the text (--text) neither single letters nor the two sides of the keyboard can be looked at")
	}
	return why
}

// releasedLate counts the pairs that were spoiled at an ordinary pace, by a release
// that came late: whether by the finger or by the escapement only flicked keys show.
func (c *Case) releasedLate() int {
	n := 0
	for _, p := range c.Spoiled {
		if !c.Take.Strokes[p.First].MissedSpace && p.IntervalMS >= c.Take.Summary.ReadyMS.Median {
			n++
		}
	}
	return n
}

func are(n int, what string) string {
	if n == 1 {
		return "1 " + what + " was"
	}
	return fmt.Sprintf("%d %ss were", n, what)
}
