package main

import (
	"fmt"
	"os"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
)

// truthSuffix in place of .wav names the truth beside a take.
const truthSuffix = ".truth.json"

// truth is what really happened in a take, as a simulator knows it. Absent
// events are nil: the stroke shares another's release, or made no space.
type truth = mechanism.Truth

func readTruth(path string) (*truth, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	t, err := mechanism.ReadTruth(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if len(t.Strokes) == 0 {
		return nil, fmt.Errorf("%s: no strokes in it", path)
	}
	return t, nil
}

// trueLines counts the lines of the page.
func trueLines(t *truth) int {
	seen := map[int]bool{}
	for _, s := range t.Strokes {
		seen[s.Line] = true
	}
	return len(seen)
}

// trueTravel is a stroke's travel in seconds: as the truth states it, else
// landing minus release (which it is on a full-space machine).
func trueTravel(s mechanism.TruthStroke) (float64, bool) {
	switch {
	case s.Travel != nil:
		return *s.Travel, true
	case s.Release != nil && s.Landing != nil:
		return *s.Landing - *s.Release, true
	}
	return 0, false
}

// told is what the user would say of the machine.
func told(t *truth) diagnose.Options {
	opt := diagnose.Options{Action: diagnose.Action(t.Machine.Action), Pitch: 10}
	if p := t.Machine.Pitch; p > 0 && p < (mechanism.Pica+mechanism.Elite)/2 {
		opt.Pitch = 12
	}
	return opt
}
