package main

import (
	"bytes"
	"fmt"
	"os"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/diagnose/mechanism/ears"
	"loosedog/report"
)

// measuredTake is the JSON of a page that a simulated machine made, without sound:
// "late" trips late and is typed with flicked strokes, "sound" is the same machine
// put right, typed by a calm hand, "again" that once more, "half" a half-space one,
// "unusable" a recording that could not be measured.
func measuredTake(kind string) ([]byte, error) {
	machine, hand, seed := mechanism.Sound(), mechanism.Calm(), uint64(902)
	switch kind {
	case "late":
		machine, hand, seed = machine.LateTrip(0.002), mechanism.Staccato(0.12), 901
	case "again":
		seed = 903
	case "half":
		machine = machine.With(mechanism.HalfSpace, 0)
	case "sound", "unusable":
	default:
		return nil, fmt.Errorf("no take of kind %q", kind)
	}
	p, err := mechanism.Simulate(machine, hand, mechanism.Shelf, seed)
	if err != nil {
		return nil, err
	}
	opt := diagnose.Options{Action: diagnose.Action(machine.Action), Pitch: 10}
	t := diagnose.Measure(kind+".wav", ears.Draw(seed).Hear(p, seed), nil, opt)
	t.Asked = &diagnose.Asked{Action: string(opt.Action), Pitch: opt.Pitch}
	t.Recording.Usable = kind != "unusable"
	var b bytes.Buffer
	err = report.JSON(&b, t)
	return b.Bytes(), err
}

// scriptMkmeasured: mkmeasured KIND FILE writes a take's JSON of measuredTake.
func scriptMkmeasured(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: mkmeasured kind file")
	}
	b, err := measuredTake(args[0])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), b, 0o666))
}

// scriptNarrow: narrow FILE says that no line of a text is wider than a terminal of
// 80 columns; "stdout" as FILE is what the last command printed.
func scriptNarrow(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: narrow file")
	}
	for _, l := range strings.Split(ts.ReadFile(args[0]), "\n") {
		if n := len([]rune(l)); n > 80 {
			ts.Fatalf("%d columns: %s", n, l)
		}
	}
}
