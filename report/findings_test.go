package report

import (
	"image"
	"io"
	"strings"
	"testing"

	"loosedog/diagnose"
)

func finding(fault string, where ...int) diagnose.Finding {
	return diagnose.Finding{
		Fault: fault, Share: diagnose.ShareMachine, Strength: diagnose.Likely, Explains: 2, Where: where,
		Evidence: []diagnose.Evidence{
			{Measure: "lead, trip to strike", Value: 0.7, Unit: "ms", Low: 0.6, High: 0.8, Reference: 2.4, Basis: diagnose.BasisPractice, Source: "a common setting"},
			{Measure: "chance of that", Value: 0.002, Low: diagnose.Unknown(), High: diagnose.Unknown(), Reference: diagnose.Unknown()},
		},
		Check: "Look at it.", Next: "Look at that.", Caution: "Hold the drum.",
	}
}

// What a finding brings is printed, the caution beside the check.
func TestTextOfAFinding(t *testing.T) {
	take := passage(4, 40, 0.15)
	take.Findings = []diagnose.Finding{finding(diagnose.FaultLateTrip, 3, 5)}
	take.Answer = diagnose.Answer{Code: diagnose.AnswerFindings, Text: "Evidence for late trip."}
	take.Machine = &diagnose.Machine{Name: "shelf 7", Colour: "sea green", LastDone: "cleaned"}
	take.Pull = &diagnose.Pull{Text: "The carriage loses 17 %."}
	got := strings.Join(strings.Fields(string(written(t, func(w io.Writer) error { return Text(w, take, TextOptions{}) }))), " ")
	for _, want := range []string{
		"Machine shelf 7, sea green; last done: cleaned",
		"The carriage loses 17 %.",
		"Evidence for late trip.",
		"1. late trip (the machine, likely): explains 2 of",
		"0.7 ms (0.6 to 0.8), against 2.4 ms [common practice: a common setting]",
		"chance of that: 1 in 500",
		"check Look at it. then Look at that. caution Hold the drum.",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in:\n%s", want, got)
		}
	}
}

func TestOneIn(t *testing.T) {
	for p, want := range map[float64]string{1e-9: "less than 1 in a million", 0.002: "1 in 500", 0.4: "1 in 2.5", 0: "less than 1 in a million"} {
		if got := oneIn(p); got != want {
			t.Errorf("%g: %q, want %q", p, got, want)
		}
	}
}

// Every machine fault is shown: marked along the line, or in a panel; but for the
// pull, whose line is there anyway, and the desk.
func TestEveryFaultIsShown(t *testing.T) {
	for _, c := range []struct {
		fault        string
		along, apart bool
	}{
		{diagnose.FaultBinding, true, false}, {diagnose.FaultWornTooth, true, false},
		{diagnose.FaultSkipping, true, false}, {diagnose.FaultChippedRack, true, false},
		{diagnose.FaultLateTrip, false, true}, {diagnose.FaultLateSpaceBar, false, true},
		{diagnose.FaultTiltedBar, false, true}, {diagnose.FaultSluggishBar, false, true},
		{diagnose.FaultSluggishEscapement, false, true},
		{diagnose.FaultWeakPull, false, false}, {diagnose.FaultUnsteadyDesk, false, false},
	} {
		take := passage(4, 40, 0.15)
		for i := range take.Strokes {
			letter := string(rune('a' + i%26))
			take.Strokes[i].Char = &letter
		}
		take.Findings = []diagnose.Finding{finding(c.fault, 3, 5, 9)}
		marks, note := travelMarks(take)
		v, apart := viewEvidence(take)
		if (len(marks) == 3 && note != "") != c.along || apart != c.apart {
			t.Errorf("%s: marked along the line %v, in a panel %v", c.fault, marks, apart)
		}
		if apart && len(v.plain) == 0 {
			t.Errorf("%s: an empty panel", c.fault)
		}
		if img := drawPicture(take, Waveform{}); img.Bounds().Size() != (image.Point{X: 2000, Y: 1400}) {
			t.Errorf("%s: a picture of %v", c.fault, img.Bounds())
		}
	}
}
