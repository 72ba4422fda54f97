package main

import (
	"math"
	"slices"
	"testing"
)

func TestAim(t *testing.T) {
	for _, c := range []struct {
		aim   aim
		v     float64
		text  string
		short bool
	}{
		{atLeast(0.95, 2), 0.95, "at least 0.95", false},
		{atLeast(0.95, 2), 0.949, "at least 0.95", true},
		{atMost(0.2, 1), 0.2, "at most 0.2", false},
		{atMost(0.2, 1), 0.21, "at most 0.2", true},
		{atMost(0, 0), 0, "at most 0", false},
		{atMost(0, 0), 1, "at most 0", true},
		{none, 0, "", false},
		{atLeast(1, 0), math.NaN(), "at least 1", false}, // nothing to judge
	} {
		if got := c.aim.String(); got != c.text {
			t.Errorf("%q, want %q", got, c.text)
		}
		if got := c.aim.short(c.v); got != c.short {
			t.Errorf("%s: %g falls short: %v", c.text, c.v, got)
		}
	}
}

func TestAnyKind(t *testing.T) {
	got := anyKind(map[string][]float64{"strike": {3, 1}, "landing": {2}, "trip": nil})
	if !slices.Equal(got, []float64{1, 2, 3}) {
		t.Errorf("%v", got)
	}
}
