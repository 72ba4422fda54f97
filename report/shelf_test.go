package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"loosedog/diagnose"
	"loosedog/diagnose/record"
)

// day is a date of 2026.
func day(month time.Month, d int) time.Time {
	return time.Date(2026, month, d, 0, 0, 0, 0, time.Local)
}

// keptTake is a measured take: travel, lead and letters with intervals of a tenth.
func keptTake(file string, when time.Time, travel, lead, letters float64) *record.Take {
	around := func(v float64) diagnose.Figure {
		return diagnose.Figure{Median: diagnose.Number(v), P95: diagnose.Unknown(), Low: diagnose.Number(0.95 * v), High: diagnose.Number(1.05 * v)}
	}
	k := &diagnose.Kept{Usable: true, Letters: around(letters)}
	k.Summary.Strokes, k.Summary.RatePerS = 490, 5
	k.Summary.TravelMS, k.Summary.LeadMS = around(travel), around(lead)
	k.Summary.MachineLatencyMS, k.Summary.ReadyMS = around(31), around(31+travel)
	for i := range 8 {
		k.TravelMS = append(k.TravelMS, diagnose.Number(travel+0.1*float64(i)))
		k.LeadMS = append(k.LeadMS, diagnose.Number(lead+0.02*float64(i)))
	}
	return &record.Take{File: file, Date: when, DateFrom: record.FromName, Kept: k}
}

// smallMachine has a year of four takes.
func smallMachine() *record.Machine {
	m := &record.Machine{Folder: "shelf-7", Said: &diagnose.Machine{Name: "shelf 7", Colour: "sea green"}, Log: new(record.Log)}
	m.Takes = []*record.Take{
		keptTake("winter.wav", day(1, 19), 34, 0.8, 66), keptTake("before.wav", day(4, 13), 34.1, 0.8, 70),
		keptTake("after.wav", day(4, 27), 34, 2.9, 44), keptTake("autumn.wav", day(10, 19), 41, 2.9, 71),
	}
	m.Takes = append(m.Takes, &record.Take{File: "loud.wav", Date: day(11, 2), DateFrom: record.FromModified, Why: "it is no recording"})
	m.Log.Entries = []record.Entry{
		{Date: day(4, 22), Text: "trip moved earlier, by a turn of the screw"},
		{Date: day(9, 1), Text: "lent to the pilot's office"},
	}
	m.Takes[3].Kept.Strongest = &diagnose.Finding{Fault: "weak-pull", Share: diagnose.ShareMachine, Strength: diagnose.Likely,
		Check: "Look along the rails for drag.", Caution: "Hold the drum."}
	return m
}

func smallShelf() *record.Shelf {
	still := &record.Machine{Folder: "shelf-2", Log: new(record.Log), Takes: []*record.Take{keptTake("2026-03-01.wav", day(3, 1), 36, 3, 73)}}
	none := &record.Machine{Folder: "shelf-9", Log: new(record.Log), Problems: []string{"log.txt: line 2 begins with no date"}}
	s := record.NewShelf("machines", []*record.Machine{none, smallMachine(), still}, []string{"machines holds takes"})
	return s
}

// hostileMachine has names and numbers that nobody expects.
func hostileMachine() *record.Machine {
	m := smallMachine()
	m.Said = nil
	m.Folder = "\x1b[31mred\n\u202egpj." + strings.Repeat("länge", 30) + "錄音\xff"
	m.Problems = []string{strings.Repeat("x", 300) + "\x07"}
	m.Log.Entries = append(m.Log.Entries, record.Entry{Date: day(12, 1), Text: strings.Repeat("=cmd|'錄' ", 80)})
	for i, v := range []float64{math.NaN(), math.Inf(1), -1e300, 1e300} {
		k := m.Takes[i].Kept
		n := diagnose.Number(v)
		k.Summary.TravelMS = diagnose.Figure{Median: n, P95: n, Low: n, High: n}
		k.Letters = k.Summary.TravelMS
		k.TravelMS = []diagnose.Number{n, n, 3}
	}
	return m
}

func TestShelfGolden(t *testing.T) {
	s, h := smallShelf(), record.NewHistory(smallMachine())
	golden(t, "shelf.txt", written(t, func(w io.Writer) error { return ShelfText(w, s) }))
	golden(t, "shelf.csv", written(t, func(w io.Writer) error { return ShelfCSV(w, s) }))
	golden(t, "history.txt", written(t, func(w io.Writer) error { return HistoryText(w, h) }))
	golden(t, "history.csv", written(t, func(w io.Writer) error { return HistoryCSV(w, h) }))
}

// Whatever a shelf holds, every format is whole: text of 80 columns (some more for
// numbers that no take has) without control characters, JSON without odd numbers, tables of even rows, pictures of one size.
func TestShelfFormats(t *testing.T) {
	many := &record.Machine{Folder: "many", Log: new(record.Log)}
	var crowd []*record.Machine
	for i := range 40 {
		many.Takes = append(many.Takes, keptTake(fmt.Sprintf("%d.wav", i), day(1, 1), 30+float64(i%3), 3, 40))
		many.Log.Entries = append(many.Log.Entries, record.Entry{Date: day(1, 1), Text: "dusted"})
		crowd = append(crowd, &record.Machine{Folder: fmt.Sprint("shelf-", i), Log: many.Log, Takes: many.Takes[i : i+1]})
	}
	empty := &record.Machine{Folder: "empty", Log: new(record.Log)}
	for name, m := range map[string][]*record.Machine{
		"small": {smallMachine()}, "hostile": {hostileMachine()}, "many": {many}, "empty": {empty}, "crowd": crowd, "none": nil,
	} {
		s := record.NewShelf("machines", m, nil)
		h := record.NewHistory(empty)
		if len(m) > 0 {
			h = record.NewHistory(m[0])
		}
		for kind, write := range map[string][2]func(io.Writer) error{
			"text": {func(w io.Writer) error { return ShelfText(w, s) }, func(w io.Writer) error { return HistoryText(w, h) }},
			"json": {func(w io.Writer) error { return ShelfJSON(w, s) }, func(w io.Writer) error { return HistoryJSON(w, h) }},
			"csv":  {func(w io.Writer) error { return ShelfCSV(w, s) }, func(w io.Writer) error { return HistoryCSV(w, h) }},
			"png":  {func(w io.Writer) error { return ShelfPNG(w, s) }, func(w io.Writer) error { return HistoryPNG(w, h) }},
		} {
			for i, f := range write {
				if kind == "png" && name == "small" {
					continue // pictures take time, and the others hold all that this one does
				}
				b := written(t, f)
				what := fmt.Sprintf("%s, %s of %s", name, kind, []string{"shelf", "history"}[i])
				switch kind {
				case "text":
					for line := range strings.Lines(string(b)) {
						line = strings.TrimSuffix(line, "\n")
						if columns(line) > textWidth+20 || strings.ContainsAny(line, "\x1b\x07\u202e") {
							t.Errorf("%s: %q", what, line)
						}
					}
					if i == 0 && bytes.Contains(b, []byte("check ")) && !bytes.Contains(b, []byte("caution")) {
						t.Errorf("%s: a check without a caution", what)
					}
				case "json":
					var v map[string]any
					if err := json.Unmarshal(b, &v); err != nil || v["schema"] == nil {
						t.Errorf("%s: %v", what, err)
					}
				case "csv":
					if _, err := csv.NewReader(bytes.NewReader(b)).ReadAll(); err != nil {
						t.Errorf("%s: %v", what, err)
					}
					if bytes.Contains(b, []byte(",=cmd")) {
						t.Errorf("%s: a cell that begins like a formula", what)
					}
				case "png":
					img, err := png.Decode(bytes.NewReader(b))
					if err != nil || img.Bounds().Dx() != 2000 || img.Bounds().Dy() != 1400 {
						t.Errorf("%s: %v", what, err)
					}
				}
			}
		}
	}
	for _, err := range []error{ShelfText(io.Discard, nil), ShelfJSON(io.Discard, nil), ShelfCSV(io.Discard, nil), ShelfPNG(io.Discard, nil),
		HistoryText(io.Discard, nil), HistoryJSON(io.Discard, nil), HistoryCSV(io.Discard, nil), HistoryPNG(io.Discard, nil)} {
		if err == nil {
			t.Error("nothing was written without an error")
		}
	}
}
