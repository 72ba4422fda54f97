package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"loosedog/audio/synth"
	"loosedog/diagnose"
	"loosedog/diagnose/compare"
	"loosedog/diagnose/mechanism"
	"loosedog/diagnose/mechanism/ears"
)

// comparePrefix begins the names of the comparisons.
const comparePrefix = "compare: "

// change is one kind of before and after: the machines and hands of both takes,
// drawn from a seed, and the verdicts that are right.
type change struct {
	name string
	want []string // none where it shows how far the sight reaches
	make func(seed uint64) (before, after performed)
}

type performed struct {
	machine mechanism.Machine
	hand    mechanism.Hand
	later   float64 // s, by which the escapement's sounds come later at the microphone
}

// changes lists what is compared. The machines are drawn; a calmer hand types
// without bursts and flicks less.
func changes() []change {
	better, worse := []string{compare.Better}, []string{compare.Worse}
	same := []string{compare.NoDifference, compare.CannotTell}
	calm := func(seed uint64) mechanism.Hand { return mechanism.DrawHand(mechanism.Calm(), seed+7000) }
	// As drawn, but let go by the key: a machine that lets go on the rebound never
	// trips too briefly.
	byKey := func(seed uint64) mechanism.Machine {
		m, s := mechanism.DrawMachine(seed), mechanism.Sound()
		if m.Release != mechanism.WithKey {
			m.Release, m.ReturnSpeed, m.ReturnSpread = mechanism.WithKey, s.ReturnSpeed, s.ReturnSpread
		}
		return m
	}
	trip := func(mm float64) func(uint64) mechanism.Machine {
		return func(seed uint64) mechanism.Machine { return byKey(seed).LateTrip(mm / 1000) }
	}
	pull := func(by float64) func(uint64) mechanism.Machine {
		return func(seed uint64) mechanism.Machine { return mechanism.DrawMachine(seed).WeakPull(by, by) }
	}
	of := func(h mechanism.Hand) func(uint64) mechanism.Hand {
		return func(seed uint64) mechanism.Hand { return mechanism.DrawHand(h, seed) }
	}
	pair := func(name string, want []string, before, after func(uint64) mechanism.Machine, typed, then func(uint64) mechanism.Hand, later float64) change {
		return change{name, want, func(seed uint64) (a, b performed) {
			return performed{before(seed), typed(seed), 0}, performed{after(seed), then(seed), later}
		}}
	}
	staccato, brisk, hurried := of(mechanism.Staccato(0.12)), of(mechanism.Brisk()), of(mechanism.Hurried())
	var none []string
	return []change{
		pair("trip from 2 to 9.5 mm, same hand", better, trip(2), trip(9.5), staccato, staccato, 0),
		pair("trip from 2 to 9.5 mm, calmer hand", better, trip(2), trip(9.5), staccato, calm, 0),
		pair("pull raised by 40 %, same hand", better, pull(1), pull(1.4), brisk, brisk, 0),
		pair("pull raised by 40 %, calmer hand", better, pull(1), pull(1.4), hurried, calm, 0),
		pair("same machine, calmer hand", same, pull(1), pull(1), hurried, calm, 0),
		pair("same machine, late trip, calmer hand", same, trip(2), trip(2), staccato, calm, 0),
		pair("same machine twice", same, pull(1), pull(1), brisk, brisk, 0),
		pair("pull less by 30 %, calmer hand", worse, pull(1), pull(0.7), hurried, calm, 0),
		pair("trip from 9.5 to 2 mm, calmer hand", worse, trip(9.5), trip(2), staccato, calm, 0),
		pair("same machine twice, phone moved 17 cm", same, byKey, byKey, brisk, brisk, 0.0005),
		pair("pull raised by 5 %, same hand", none, pull(1), pull(1.05), brisk, brisk, 0),
		pair("pull raised by 10 %, same hand", none, pull(1), pull(1.1), brisk, brisk, 0),
		pair("pull raised by 20 %, same hand", none, pull(1), pull(1.2), brisk, brisk, 0),
		pair("pull raised by 80 %, same hand", better, pull(1), pull(1.8), brisk, brisk, 0),
		pair("trip from 2 to 9.5 mm, hand without flicks after", none, trip(2), trip(9.5), staccato, func(seed uint64) mechanism.Hand {
			h := calm(seed)
			h.Flicked = 0
			return h
		}, 0),
	}
}

const (
	// compareSeeds is how many pairs of takes are made of each kind without sound,
	// heardSeeds how many of the first few kinds through it.
	compareSeeds = 100
	heardSeeds   = 3
	heardKinds   = 9
	// compareResamples is how often lines are drawn anew: fewer than the program
	// does, for there are many pairs.
	compareResamples = 150
)

// verdicts counts what was said of one kind of change.
type verdicts struct {
	change change
	said   map[string]int
	n      int
	// off are replayed less counted letters a page of both takes, within how often
	// the replay's interval holds what was counted.
	replays, within int
	off             []float64
}

// right is how often the verdict was one of those wanted.
func (v *verdicts) right() int {
	n := 0
	for _, w := range v.change.want {
		n += v.said[w]
	}
	return n
}

// comparisons makes n pairs of takes of each kind of change, from seeds from first
// on, and compares them as once does.
func comparisons(ctx context.Context, kinds []change, first uint64, n int, once func(context.Context, change, uint64) (*compare.Comparison, error)) ([]*verdicts, error) {
	var list []*verdicts
	for _, c := range kinds {
		list = append(list, &verdicts{change: c, said: map[string]int{}})
	}
	all, err := each(ctx, len(kinds)*n, func(ctx context.Context, i int) (*compare.Comparison, error) {
		return once(ctx, kinds[i/n], first+uint64(i%n))
	})
	if err != nil {
		return nil, err
	}
	for i, c := range all {
		list[i/n].add(c)
	}
	return list, nil
}

func (v *verdicts) add(c *compare.Comparison) {
	v.n++
	v.said[c.Verdict]++
	for _, s := range []compare.Side{c.Before, c.After} {
		if !s.Replayed.Value.Known() {
			continue
		}
		v.replays++
		if s.Counted >= s.Replayed.Low && s.Counted <= s.Replayed.High {
			v.within++
		}
		v.off = append(v.off, float64(s.Replayed.Value-s.Counted))
	}
}

// compareUnheard types a page on either machine, hears both with ears that err, and
// compares them.
func compareUnheard(_ context.Context, c change, seed uint64) (*compare.Comparison, error) {
	before, after := c.make(seed)
	var takes [2]*diagnose.Take
	for i, p := range []performed{before, after} {
		own := 2*seed + uint64(i)
		perf, err := mechanism.Simulate(p.machine, p.hand, mechanism.Shelf, own)
		if err != nil {
			return nil, err
		}
		e := ears.Draw(own)
		e.Later = p.later
		takes[i] = diagnose.Measure(fmt.Sprintf("take %d", i), e.Hear(perf, own), nil, diagnose.Options{})
	}
	return compare.Takes(takes[:1], takes[1:], compare.Options{Resamples: compareResamples}), nil
}

// compareHeard does the same through sound: one machine's sounds, one room, one
// phone, each take rendered, listened to and measured.
func compareHeard(ctx context.Context, c change, seed uint64) (*compare.Comparison, error) {
	folder, err := os.MkdirTemp("", "accuracy-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	before, after := c.make(seed)
	var takes [2]*diagnose.Take
	for i, p := range []performed{before, after} {
		rec := synth.DrawRecording(seed)
		rec.Channels = 1
		s := &mechanism.Scenario{Name: c.name, Machine: p.machine, Hand: p.hand, Text: mechanism.Shelf,
			Palette: synth.NewPalette(seed), Recording: rec, Seed: 2*seed + uint64(i)}
		path := filepath.Join(folder, fmt.Sprintf("take-%d.wav", i))
		if _, err := recordTo(path, s); err != nil {
			return nil, err
		}
		if _, takes[i], err = listen(ctx, path, diagnose.Options{}); err != nil {
			return nil, err
		}
	}
	return compare.Takes(takes[:1], takes[1:], compare.Options{Resamples: compareResamples}), nil
}

// comparedKinds are the kinds of comparison whose name contains only, and those of
// them that are made through sound too.
func comparedKinds(only string) (kinds, audible []change) {
	for i, c := range changes() {
		if strings.Contains(comparePrefix+c.name, only) {
			kinds = append(kinds, c)
			if i < heardKinds {
				audible = append(audible, c)
			}
		}
	}
	return kinds, audible
}

// compareAll makes the tables of comparisons.
func compareAll(ctx context.Context, out, log io.Writer, kinds, audible []change) error {
	for _, t := range []struct {
		how   string
		kinds []change
		n     int
		once  func(context.Context, change, uint64) (*compare.Comparison, error)
	}{
		{"judged by events", kinds, compareSeeds, compareUnheard},
		{"through sound", audible, heardSeeds, compareHeard},
	} {
		if len(t.kinds) == 0 {
			continue
		}
		fmt.Fprintf(log, "comparing %d pairs of takes\n", len(t.kinds)*t.n)
		list, err := comparisons(ctx, t.kinds, heldOutSeed, t.n, t.once)
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "\nComparisons of one page a side, %s, held-out seeds from %d\n\n", t.how, heldOutSeed)
		if err := writeComparisons(out, list); err != nil {
			return err
		}
	}
	return nil
}

// writeComparisons prints how often each verdict was given.
func writeComparisons(w io.Writer, list []*verdicts) error {
	t := table{left: 1}
	t.row("before and after", "pairs", compare.Better, compare.Worse, compare.NoDifference, compare.CannotTell, "right", "replay off", "within")
	for _, v := range list {
		right := fmt.Sprintf("%d %%", 100*v.right()/max(v.n, 1))
		if len(v.change.want) == 0 {
			right = "-"
		}
		t.row(v.change.name, fmt.Sprint(v.n), fmt.Sprint(v.said[compare.Better]), fmt.Sprint(v.said[compare.Worse]),
			fmt.Sprint(v.said[compare.NoDifference]), fmt.Sprint(v.said[compare.CannotTell]), right,
			num(math.Round(100*medianOrNaN(v.off))/100+0, 1, 2), fmt.Sprintf("%d %%", 100*v.within/max(v.replays, 1)))
	}
	return t.write(w)
}
