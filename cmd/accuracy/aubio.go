package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"math"
	"os/exec"
	"slices"
	"strconv"
)

// outside is a general onset detector that shares nothing with this project:
// aubioonset with its defaults, as a reference for the strikes.
func outside(ctx context.Context, wav string) ([]float64, error) {
	out, err := exec.CommandContext(ctx, "aubioonset", wav).Output()
	if err != nil {
		return nil, fmt.Errorf("aubioonset %s: %w", wav, err)
	}
	var times []float64
	for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); {
		if t, err := strconv.ParseFloat(lines.Text(), 64); err == nil {
			times = append(times, t)
		}
	}
	return times, nil
}

// The rows of the table that stand beside it.
const (
	allKind        = "any event"
	outsideKind    = "strike, by aubioonset"
	outsideAllKind = "any event, by aubioonset"
)

// mirexWindow is the usual tolerance for onsets of music in seconds (mir_eval's
// default).
const mirexWindow = 0.050

// scoreOutside scores the outside reference. It marks another point of a sound
// than ours, which shall not count against it: its median error within the
// usual wide tolerance is taken off all of its times first.
func scoreOutside(ref, est []float64, window float64) score {
	wide := scoreEvents(ref, est, mirexWindow)
	off := slices.Clone(est)
	if _, _, bias := wide.spread(); !math.IsNaN(bias) {
		for i := range off {
			off[i] -= bias
		}
	}
	return scoreEvents(ref, off, window)
}

// haveOutside tells whether aubioonset is installed.
func haveOutside() bool {
	_, err := exec.LookPath("aubioonset")
	return err == nil
}
