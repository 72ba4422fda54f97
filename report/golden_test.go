package report

import (
	"bytes"
	"encoding/json"
	"flag"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"loosedog/diagnose"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares got with a file in testdata; on a difference it leaves what it
// got beside it.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (make it with go test ./report -update)", err)
	}
	if !bytes.Equal(want, got) {
		if err := os.WriteFile(path+".got", got, 0o644); err != nil {
			t.Error(err)
		}
		t.Errorf("%s: not as it was; see %s.got, or run with -update if the change is meant", path, path)
	}
}

// written is what a format writes.
func written(t *testing.T, write func(io.Writer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestTextGolden(t *testing.T) {
	one := blankTake("one.wav")
	one.Strokes = []diagnose.Stroke{blankStroke(0, 0, 0, 1)}
	one.Summary.Strokes, one.Summary.Lines = 1, 1
	hostile := smallTake()
	hostile.Recording.Path = "\x1b[31mred\n\u202egpj." + strings.Repeat("länge", 30) + "錄音.wav\xff"
	for name, take := range map[string]*diagnose.Take{
		"small":     smallTake(),
		"passage":   withFindings(passage(4, 40, 0.15)),
		"sound":     passage(4, 40, 0),
		"no_travel": deaf(passage(4, 40, 0.15), false),
		"deaf":      deaf(passage(4, 40, 0.15), true),
		"unusable":  unusable(),
		"nothing":   blankTake("silence.wav"),
		"one":       one,
		"hostile":   hostile,
	} {
		t.Run(name, func(t *testing.T) {
			got := written(t, func(w io.Writer) error { return Text(w, take, TextOptions{}) })
			golden(t, name+".txt", got)
		})
	}
}

func TestMachineFormatsGolden(t *testing.T) {
	take := smallTake()
	golden(t, "small.csv", written(t, func(w io.Writer) error { return CSV(w, take) }))
	golden(t, "small.labels.tsv", written(t, func(w io.Writer) error { return Labels(w, take) }))
	golden(t, "small.json", written(t, func(w io.Writer) error { return JSON(w, withFindings(take)) }))
	golden(t, "nothing.json", written(t, func(w io.Writer) error { return JSON(w, &diagnose.Take{}) }))
}

// A program that reads the JSON gets back what was measured.
func TestJSONReadsBack(t *testing.T) {
	take := withFindings(passage(2, 30, 0.2))
	raw := written(t, func(w io.Writer) error { return JSON(w, take) })
	if !bytes.HasSuffix(raw, []byte("}\n")) {
		t.Error("no newline at the end")
	}
	var back diagnose.Take
	if err := json.Unmarshal(raw, &back); err != nil {
		t.Fatal(err)
	}
	again := written(t, func(w io.Writer) error { return JSON(w, &back) })
	if !bytes.Equal(raw, again) {
		t.Error("reading the JSON and writing it again changes it")
	}
	if len(back.Strokes) != len(take.Strokes) || !reflect.DeepEqual(back.Findings[0].Where, take.Findings[0].Where) {
		t.Error("strokes or places were lost")
	}
}

// "List members are never null": a program need not tell null from empty.
func TestJSONNilSlices(t *testing.T) {
	take := &diagnose.Take{Findings: []diagnose.Finding{{Fault: "binding"}}}
	raw := written(t, func(w io.Writer) error { return JSON(w, take) })
	for _, want := range []string{
		`"problems": []`, `"strokes": []`, `"lines": []`, `"evidence": []`, `"where": []`,
		`"schema": "loosedog.take/1"`,
	} {
		if !bytes.Contains(raw, []byte(want)) {
			t.Errorf("no %s in %s", want, raw)
		}
	}
	if take.Findings[0].Where != nil {
		t.Error("the take itself was changed")
	}
}

func TestNoTake(t *testing.T) {
	for name, write := range map[string]func(io.Writer) error{
		"text":   func(w io.Writer) error { return Text(w, nil, TextOptions{}) },
		"json":   func(w io.Writer) error { return JSON(w, nil) },
		"csv":    func(w io.Writer) error { return CSV(w, nil) },
		"labels": func(w io.Writer) error { return Labels(w, nil) },
		"png":    func(w io.Writer) error { return PNG(w, nil, Waveform{}) },
	} {
		var b bytes.Buffer
		if err := write(&b); err == nil || b.Len() > 0 {
			t.Errorf("%s of no take: error %v, %d bytes written", name, err, b.Len())
		}
	}
	if _, _, ok := PictureSpan(nil); ok {
		t.Error("a span of no take")
	}
}
