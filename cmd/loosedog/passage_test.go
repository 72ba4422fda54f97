package main

import (
	"bytes"
	"errors"
	"io"
	"math"
	"path/filepath"
	"testing"

	"loosedog/audio"
	"loosedog/diagnose/passage"
)

// The click track is read back as any recording is: a click where the plan has a
// beat, to a tenth of a millisecond, and none elsewhere.
func TestPacerReadsBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pacer.wav")
	var out, errs bytes.Buffer
	if code := run(t.Context(), []string{"passage", "--width", "45", "--pacer", path, "--rate", "7.5"}, nil, &out, &errs); code != exitMeasured || errs.Len() > 0 {
		t.Fatalf("exit code %d: %s", code, errs.String())
	}
	s, err := audio.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if f := s.Format(); f.SampleRate != passage.ClickRate || f.Channels != 1 {
		t.Fatalf("%+v", f)
	}
	var samples []float64
	block := make([]float64, 1<<14)
	for {
		n, err := s.Read(block)
		samples = append(samples, block[:n]...)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	// A click begins where it is loud after 10 ms of quiet.
	var found []float64
	quiet := 0
	for i, v := range samples {
		if math.Abs(v) > 0.2 {
			if quiet > passage.ClickRate/100 {
				found = append(found, float64(i)/passage.ClickRate)
			}
			quiet = 0
		} else {
			quiet++
		}
	}
	sheet, err := passage.NewSheet(45, 10)
	if err != nil {
		t.Fatal(err)
	}
	beats, err := sheet.Plan(7.5)
	if err != nil {
		t.Fatal(err)
	}
	if len(found) != len(beats) {
		t.Fatalf("%d clicks, the plan has %d", len(found), len(beats))
	}
	for i, b := range beats {
		if math.Abs(found[i]-b.Time) > 1e-4 {
			t.Fatalf("click %d at %.4f s, due at %.4f", i, found[i], b.Time)
		}
	}
	// Quiet before the first and after the last, as the measuring wants it.
	if end := float64(len(samples)) / passage.ClickRate; found[0] < 2 || end-found[len(found)-1] < 1 {
		t.Errorf("first click at %g s, last at %g of %g", found[0], found[len(found)-1], end)
	}
}
