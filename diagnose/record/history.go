package record

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"loosedog/diagnose"
	"loosedog/diagnose/compare"
)

// HistorySchema names the layout of a history's JSON.
const HistorySchema = "loosedog.history/1"

// History is one machine over its takes.
type History struct {
	Schema  string `json:"schema"`
	Machine string `json:"machine"`
	Folder  string `json:"folder"`
	// Takes are those with figures, in order of date.
	Takes []Made `json:"takes"`
	// Measures are what was measured, one point a take.
	Measures []Course `json:"measures"`
	// Done is what was done, from the log.
	Done []Deed `json:"done"`
	// Changes are those that stand out from noise, in order of measure and date.
	Changes     []Change  `json:"changes"`
	NotMeasured []Without `json:"not_measured"`
	Problems    []string  `json:"problems"`
	Method      []string  `json:"method"`
}

// Made is a take with figures.
type Made struct {
	When
	Strokes int             `json:"strokes"`
	Rate    diagnose.Number `json:"rate_per_s"`
	at      time.Time
}

// At is when the take was made.
func (m Made) At() time.Time { return m.at }

// Course is one measure over the takes.
type Course struct {
	Name string `json:"name"` // stable, for programs
	Text string `json:"text"`
	Unit string `json:"unit"`
	// Tested tells that changes are looked for.
	Tested bool            `json:"tested"`
	Points []compare.Range `json:"points"`
}

// Deed is one thing that was done.
type Deed struct {
	Date string `json:"date"`
	Text string `json:"text"`
	at   time.Time
}

// At is when it was done.
func (d Deed) At() time.Time { return d.at }

// Change is a measure that changed between two takes.
type Change struct {
	Measure string `json:"measure"` // its name
	Text    string `json:"text"`
	Unit    string `json:"unit"`
	// Before is the last take before the change, After the first one behind it, as
	// indexes of Takes.
	Before int `json:"before"`
	After  int `json:"after"`
	// Shift is what the lines behind it differ by from those before it, back to the
	// change before and on to the next one.
	Shift     compare.Range   `json:"shift"`
	P         diagnose.Number `json:"p"`
	Corrected diagnose.Number `json:"p_corrected"`
	// Done is what the log says was done between the two takes.
	Done []string `json:"done"`
}

// travelFloor in ms: release and landing come from one place, and half a millisecond
// is what their hearing may be off by as a whole.
const travelFloor = 0.5

// courses are the measures of a history. Floor and factor of the lead are those of
// comparisons: the phone may lie elsewhere, and another hand strike harder.
var courses = []struct {
	name, text, unit string
	floor, factor    float64
	of               func(*diagnose.Kept) diagnose.Figure
	lines            func(*diagnose.Kept) []diagnose.Number
}{
	{"travel", "travel", "ms", travelFloor, 1, func(k *diagnose.Kept) diagnose.Figure { return k.Summary.TravelMS }, func(k *diagnose.Kept) []diagnose.Number { return k.TravelMS }},
	{"lead", "lead", "ms", compare.PlaceFloor, compare.TouchFactor, func(k *diagnose.Kept) diagnose.Figure { return k.Summary.LeadMS }, func(k *diagnose.Kept) []diagnose.Number { return k.LeadMS }},
	{"machine_latency", "machine's share of the latency", "ms", 0, 1, func(k *diagnose.Kept) diagnose.Figure { return k.Summary.MachineLatencyMS }, nil},
	{"ready", "ready time", "ms", 0, 1, func(k *diagnose.Kept) diagnose.Figure { return k.Summary.ReadyMS }, nil},
	{"letters", "letters a page at the same hand", "letters", 0, 1, func(k *diagnose.Kept) diagnose.Figure { return k.Letters }, nil},
}

// NewHistory is the history of a machine whose takes are measured.
func NewHistory(m *Machine) *History {
	h := &History{Schema: HistorySchema, Machine: m.Name(), Folder: m.Folder,
		Takes: []Made{}, Measures: []Course{}, Done: []Deed{}, Changes: []Change{}, NotMeasured: []Without{},
		Problems: append([]string{}, m.Problems...), Method: method}
	var takes []*Take
	for _, t := range m.Takes {
		if !t.Usable() {
			h.NotMeasured = append(h.NotMeasured, t.without())
			continue
		}
		takes = append(takes, t)
		s := t.Kept.Summary
		h.Takes = append(h.Takes, Made{When: *when(t), Strokes: s.Strokes, Rate: s.RatePerS, at: t.Date})
	}
	for _, e := range m.Log.Done() {
		h.Done = append(h.Done, Deed{Date: e.Date.Format(time.DateOnly), Text: e.Text, at: e.Date})
	}
	var lines [][][]float64 // of what is tested, by take
	var index [][]int       // which takes those are
	var tested []int
	var floor, factor []float64
	for i, c := range courses {
		course := Course{Name: c.name, Text: c.text, Unit: c.unit, Tested: c.lines != nil, Points: []compare.Range{}}
		for _, t := range takes {
			course.Points = append(course.Points, ranged(c.of(t.Kept)))
		}
		h.Measures = append(h.Measures, course)
		if c.lines == nil {
			continue
		}
		var of [][]float64
		var at []int
		for k, t := range takes {
			if v := floats(c.lines(t.Kept)); len(v) > 0 {
				of, at = append(of, v), append(at, k)
			}
		}
		lines, index, tested = append(lines, of), append(index, at), append(tested, i)
		floor, factor = append(floor, c.floor), append(factor, c.factor)
	}
	found := steps(lines, floor, factor)
	for _, s := range found {
		c := courses[tested[s.series]]
		before, after := index[s.series][s.at-1], index[s.series][s.at]
		k := Change{Measure: c.name, Text: c.text, Unit: c.unit, Before: before, After: after,
			Shift: s.shift, P: diagnose.Number(s.p), Corrected: diagnose.Number(s.corrected), Done: []string{}}
		for _, e := range m.Log.Between(takes[before].Date, takes[after].Date) {
			k.Done = append(k.Done, e.Date.Format(time.DateOnly)+": "+e.Text)
		}
		h.Changes = append(h.Changes, k)
	}
	return h
}

// method says how changes are told from noise.
var method = []string{
	"Values are medians of a take with their 95 % intervals.",
	"Changes are looked for in the travel, which is the machine's alone, and in the lead. What is counted are lines, not strokes: the median of each line.",
	fmt.Sprintf("A change is where the lines before differ most from those behind: Pettitt's rank statistic between takes (Pettitt 1979), divided by its standard deviation so that the ends count, too. Its p-value comes from dealing the lines out anew to the takes (up to %d times).", dealings),
	fmt.Sprintf("All measures and all places are corrected for being several (Holm 1979, and half of the rest for each further round): of histories in which nothing changed, and whose takes differ by no more than their lines do, at most %.0f in 100 show a change.", 100*alpha),
	fmt.Sprintf("A change must besides be %d times the usual step from one take to the next, where there are three takes or more, and at least %g ms of travel, or %g ms of lead and twice or half of it: less is made by a phone in another place or a harder touch, too. A slow drift is no step, and may not be shown as one.", wander, travelFloor, compare.PlaceFloor),
	"The machine's share of the latency, the ready time and the letters a page are shown but not tested.",
}

// DoneBetween says what the log of a machine's folder tells was done between takes of
// before and takes of after: recordings or their results, all in one folder. It is
// empty where they do not lie in one, where there is no log, and where the takes of
// after are not the later ones.
func DoneBetween(before, after []string) string {
	if len(before) == 0 || len(after) == 0 {
		return ""
	}
	var folder string
	for i, path := range append(append([]string{}, before...), after...) {
		abs, err := filepath.Abs(path)
		if err != nil || i > 0 && filepath.Dir(abs) != folder {
			return ""
		}
		folder = filepath.Dir(abs)
	}
	if l, err := ReadLogFile(folder); err != nil || len(l.Done()) == 0 {
		return ""
	}
	m, err := Open(folder)
	if err != nil {
		return ""
	}
	dates := func(paths []string) (all []time.Time) {
		for _, p := range paths {
			for _, t := range m.Takes {
				if name := filepath.Base(p); t.File == name || ResultFile(t.File) == name {
					all = append(all, t.Date)
					break
				}
			}
		}
		return all
	}
	b, a := dates(before), dates(after)
	if len(b) != len(before) || len(a) != len(after) {
		return ""
	}
	from, to := slices.MaxFunc(b, time.Time.Compare), slices.MinFunc(a, time.Time.Compare)
	if to.Before(from) {
		return ""
	}
	var done []string
	for _, e := range m.Log.Between(from, to) {
		done = append(done, e.Text)
	}
	return strings.Join(done, "; ")
}
