package compare

import (
	"strings"
	"testing"

	"loosedog/diagnose"
)

func TestByHandIsRemarked(t *testing.T) {
	fixed := &diagnose.Take{Corrections: make([]diagnose.Correction, 3), Recording: diagnose.Recording{Path: "b.wav"}}
	c := Takes([]*diagnose.Take{{Recording: diagnose.Recording{Path: "a.wav"}}}, []*diagnose.Take{fixed, nil}, Options{})
	var said []string
	for _, r := range c.Remarks {
		if r.Code == "by-hand" && !r.Stops {
			said = append(said, r.Text)
		}
	}
	if len(said) != 1 || !strings.Contains(said[0], "from after, b.wav was") || !strings.Contains(said[0], "3") {
		t.Errorf("%q", said)
	}
}
