package mechanism

import (
	"slices"
	"strings"

	"loosedog/audio/synth"
)

// Lent is one machine of the lending shelf: what its owner would keep of it.
type Lent struct {
	Folder         string
	Number, Colour string
	// Log are the lines of its log.
	Log   []string
	Takes []LentTake
}

// LentTake is one take of a lent machine. Date is the day it was made, 2006-01-02.
type LentTake struct {
	File, Date string
	Scene      *Scenario
}

// Lending is the lending shelf of the harbour-town library: twelve machines of our own
// invention, a year of takes for four of them. Every call gives the same.
func Lending() []Lent {
	s := Sound()
	heavy := s
	heavy.Mass, heavy.PullStart, heavy.PullEnd = 1.45, 7.6, 6.5
	light := s
	light.Mass, light.PullStart, light.PullEnd = 1.0, 5.5, 4.7
	pull := func(m Machine, share float64) Machine { return m.WeakPull(share, share*0.92) }
	year := func(number, colour string, log []string, dates []string, machines ...Machine) Lent {
		l := Lent{Number: number, Colour: colour, Log: log}
		for i, d := range dates {
			l.Takes = append(l.Takes, LentTake{File: d + ".wav", Date: d, Scene: &Scenario{Machine: machines[i]}})
		}
		return l
	}
	one := func(number, colour, date string, m Machine, log ...string) Lent {
		return year(number, colour, log, []string{date}, m)
	}
	shelf := []Lent{
		one("1", "brick", "2026-09-14", pull(heavy, 0.45), "2026-03-02  ribbon changed"),
		one("2", "ivory", "2026-09-14", pull(s, 0.60)),
		// Its mainspring tires from take to take.
		year("3", "rust red", []string{"2026-02-20  ribbon changed, type cleaned"},
			[]string{"2026-01-12", "2026-03-16", "2026-06-08", "2026-08-17", "2026-10-26"},
			s, pull(s, 0.92), pull(s, 0.62), pull(s, 0.60), pull(s, 0.34)),
		one("4", "bottle green", "2026-09-15", pull(s, 0.38), "2026-05-11  platen turned round"),
		// Nothing happens to it all year.
		year("5", "lemon", []string{"2026-05-04  dusted"},
			[]string{"2026-02-02", "2026-05-04", "2026-08-03", "2026-11-02"},
			pull(light, 1.25), pull(light, 1.25), pull(light, 1.25), pull(light, 1.25)),
		one("6", "sand", "2026-09-15", pull(heavy, 0.71)),
		// It tripped late until somebody moved the trip. Its takes are dated by the log.
		year("7", "sea green", []string{"2026-04-22  trip moved earlier, by a turn of the screw", "2026-09-01  lent to the pilot's office"},
			[]string{"2026-01-19", "2026-04-13", "2026-04-27", "2026-07-20", "2026-10-19"},
			s.LateTrip(0.0025), s.LateTrip(0.0025), s, s, s),
		one("8", "navy", "2026-09-16", pull(s, 1.75)),
		one("9", "heather", "2026-09-16", pull(light, 2.3)),
		one("10", "black", "2026-09-17", pull(heavy, 1.47)),
		// A dry rail all along, cleaned in the summer.
		year("11", "slate", []string{"2026-06-29  carriage rails cleaned, one drop of oil"},
			[]string{"2026-01-26", "2026-05-18", "2026-07-06", "2026-10-05"},
			pull(s, 0.55), pull(s, 0.53), pull(s, 0.86), pull(s, 0.84)),
		one("12", "copper", "2026-09-17", pull(light, 0.52), "2026-07-01  feet replaced"),
	}
	for i := range shelf {
		l := &shelf[i]
		l.Folder = "shelf-" + l.Number
		name := "shelf " + l.Number + ", " + l.Colour
		for k := range l.Takes {
			t := &l.Takes[k]
			seed := uint64(100*(i+1) + k)
			rec := synth.Plain()
			rec.Rate = 22050
			h := DrawHand(Staccato(0.12), seed)
			h.Name = "a borrower"
			*t.Scene = Scenario{Name: name + ", " + t.Date, Machine: t.Scene.Machine, Hand: h, Text: lendingText(k),
				Palette: synth.NewPalette(21), Recording: rec, Seed: seed}
			t.Scene.Machine.Name = name
			if l.Number == "7" {
				t.File = []string{"winter", "before", "after", "summer", "autumn"}[k] + ".wav"
				l.Log = append(l.Log, t.Date+"  take "+t.File)
			}
		}
		slices.Sort(l.Log)
	}
	return shelf
}

// lendingText is a short page: lines of the two texts in turn, cut short.
func lendingText(turn int) string {
	lines := strings.Split(Shelf+"\n"+Quay, "\n")
	var page []string
	for i := range 6 {
		l := lines[(turn+i)%len(lines)]
		page = append(page, l)
	}
	return cutLines(strings.Join(page, "\n"), 40)
}

// PerPage types pages of the shelf's text with a hand and counts, in letters for each
// page strokes, how many come out crowded or piled.
func (m Machine) PerPage(h Hand, pages, strokes int) (float64, error) {
	n, bad := 0, 0
	for seed := range uint64(pages) {
		p, err := Simulate(m, h, Shelf, 0x9a6e+seed)
		if err != nil {
			return 0, err
		}
		n += len(p.Strokes)
		bad += p.Count(Crowded) + p.Count(Piled)
	}
	return float64(strokes) * float64(bad) / float64(max(n, 1)), nil
}
