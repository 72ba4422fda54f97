package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"loosedog/diagnose/mechanism"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"loosedog": main,
		"tile":     tileMain, // for the benchmarks
		"pages":    pagesMain,
	})
}

// TestScripts runs testdata/script: the program as its users meet it.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "../../testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Condition:           condition,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"mkwav":      scriptMkwav,
			"mktake":     scriptMktake,
			"mkcut":      scriptMkcut,
			"exitcode":   scriptExitcode,
			"oneline":    scriptOneline,
			"jsonkeys":   scriptJSONKeys,
			"mkmeasured": scriptMkmeasured,
			"narrow":     scriptNarrow,
		},
	})
}

// inCI tells whether a tool that is missing is a failure, not a reason to skip.
func inCI() bool { return os.Getenv("CI") == "true" }

// condition knows [tool:NAME]: the program NAME is installed. On the build
// machine it always holds, so that a script cannot be skipped there. And
// [device:PATH]: PATH is there.
func condition(cond string) (bool, error) {
	switch kind, arg, _ := strings.Cut(cond, ":"); kind {
	case "tool":
		_, err := exec.LookPath(arg)
		return err == nil || inCI(), nil
	case "device":
		_, err := os.Stat(arg)
		return err == nil, nil
	}
	return false, fmt.Errorf("unknown condition %q", cond)
}

// scriptMkwav: mkwav KIND FILE writes one of the recordings of wav_test.go.
func scriptMkwav(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: mkwav kind file")
	}
	b, err := wavOf(args[0])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), b, 0o666))
}

// scriptMktake: mktake FILE writes the first lines of the demo's take.
func scriptMktake(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: mktake file")
	}
	b, err := demoTake()
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b, 0o666))
}

// scriptMkcut: mkcut FROM TO copies the first four fifths of a recording.
func scriptMkcut(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: mkcut from to")
	}
	b := ts.ReadFile(args[0])
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(b[:len(b)/5*4]), 0o666))
}

// scriptExitcode: exitcode N PROGRAM ARG... runs the program and wants exactly
// that exit code.
func scriptExitcode(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exitcode n program [arg...]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		exit, ok := errors.AsType[*exec.ExitError](err)
		if !ok {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// scriptOneline: oneline says that standard error of the last command holds
// exactly one error, in one line, in the house's form, and at most a hint beside
// it.
func scriptOneline(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 0 {
		ts.Fatalf("usage: oneline")
	}
	errs := 0
	for line := range strings.Lines(ts.ReadFile("stderr")) {
		line = strings.TrimSuffix(line, "\n")
		text, isErr := strings.CutPrefix(line, "loosedog: error: ")
		switch {
		case isErr:
			errs++
		case strings.HasPrefix(line, "loosedog: hint: "):
			continue
		default:
			ts.Fatalf("a line that is neither error nor hint: %q", line)
		}
		if text == "" || strings.HasSuffix(text, ".") || len(text) > 400 {
			ts.Fatalf("not a clear line: %q", text)
		}
		for _, junk := range []string{"panic", "goroutine", "runtime error", "0xc0", "%!", "nil pointer"} {
			if strings.Contains(text, junk) {
				ts.Fatalf("the error shows the program's inside: %q", text)
			}
		}
	}
	if errs != 1 {
		ts.Fatalf("%d errors, want one", errs)
	}
}

// scriptJSONKeys: jsonkeys FILE prints every key of a JSON object once, as a
// path, sorted; "stdout" as FILE is what the last command printed.
func scriptJSONKeys(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: jsonkeys file")
	}
	var v any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &v))
	seen := map[string]bool{}
	collectKeys(v, "", seen)
	var keys []string
	for k := range seen {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	fmt.Fprintln(ts.Stdout(), strings.Join(keys, "\n"))
}

// mayBeEmpty are lists whose members' keys depend on the take.
var mayBeEmpty = []string{"recording.problems", "findings"}

func collectKeys(v any, path string, seen map[string]bool) {
	switch v := v.(type) {
	case map[string]any:
		for k, inner := range v {
			at := strings.TrimPrefix(path+"."+k, ".")
			seen[at] = true
			if !slices.Contains(mayBeEmpty, at) {
				collectKeys(inner, at, seen)
			}
		}
	case []any:
		for _, inner := range v {
			collectKeys(inner, path, seen)
		}
	}
}

// demoTake is the first lines of the demo's take as a WAV file, made once.
var demoTake = sync.OnceValues(func() ([]byte, error) {
	scene := mechanism.Demo()
	scene.Text = strings.Join(strings.Split(scene.Text, "\n")[:3], "\n")
	_, samples, _, err := scene.Record()
	return pcm16(samples), err
})
