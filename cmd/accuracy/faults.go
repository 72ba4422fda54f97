package main

import (
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/diagnose/mechanism/ears"
	"loosedog/onset"
)

// faultSeed is the first seed of the takes that the rules may have been looked at
// with; faultHeldOut the first of those kept aside.
const (
	faultSeed    = 200001
	faultHeldOut = 300001
)

// trial is one take with at most one fault of known severity.
type trial struct {
	fault string // "" for a sound machine
	hand  string
	scene *mechanism.Scenario
	keyed bool // the text is given
}

// faultHands are the hands that type on faulty machines: they spoil nothing or
// next to nothing on a sound one.
func faultHands() []mechanism.Hand {
	even := mechanism.Brisk()
	even.Name, even.Rate, even.Spread, even.Shortest, even.Flicked = "even hand", 6, 0.15, 0.105, 0.03
	half := mechanism.Staccato(0.3)
	half.Name = "flicking hand"
	return []mechanism.Hand{mechanism.Calm(), mechanism.Staccato(0.12), half, even}
}

// faulty draws takes of a fault that spoils so many places more than the sound
// machine does; hands take turns, and where the fault cannot spoil as many under
// one the next has it. Seeds on which no hand can are left out.
func faulty(f mechanism.Fault, first uint64, n, more int) []trial {
	var list []trial
	hands := faultHands()
	for seed := first; seed < first+uint64(n); seed++ {
		for k := range hands {
			h := hands[(int(seed)+k)%len(hands)]
			s := plainScene(h, seed)
			g, _, ok := f.Grade(*s, more)
			if !ok {
				continue
			}
			list = append(list, trial{f.Name, h.Name, g, f.Keyed})
			break
		}
	}
	return list
}

// plainScene is a sound machine of its own under a hand near the given one.
func plainScene(h mechanism.Hand, seed uint64) *mechanism.Scenario {
	s := mechanism.Ordinary("plain", h, seed)
	if lines := strings.Split(s.Text, "\n"); len(lines) < 8 {
		s.Text += "\n" + strings.Join(strings.Split(mechanism.Shelf, "\n")[:8-len(lines)], "\n")
	}
	return s
}

// sound draws takes of sound machines.
func sound(h mechanism.Hand, first uint64, n int) []trial {
	var list []trial
	for seed := first; seed < first+uint64(n); seed++ {
		list = append(list, trial{"", h.Name, plainScene(h, seed), true})
	}
	return list
}

// judged is what the program made of a trial.
type verdict struct {
	trial
	take *diagnose.Take
}

// byEvents judges trials without sound: the events as middling ears report them.
func byEvents(trials []trial) ([]verdict, error) {
	out := make([]verdict, len(trials))
	errs := make([]error, len(trials))
	var wg sync.WaitGroup
	slots := make(chan bool, 2)
	for i, t := range trials {
		wg.Go(func() {
			slots <- true
			defer func() { <-slots }()
			p, err := t.scene.Perform()
			if err != nil {
				errs[i] = err
				return
			}
			out[i] = verdict{t, judge(p, middling(t.scene.Seed).Hear(p, t.scene.Seed), t.keyed)}
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// middling are ordinary ears that sometimes hear a missed space or a skip that
// was none: up to 4 and up to half a one in 500 strokes.
func middling(seed uint64) ears.Ears {
	e := ears.Draw(seed)
	r := rand.New(rand.NewPCG(seed, 0xfa15))
	e.FalseMissed, e.FalseSkips = 0.008*r.Float64(), 0.001*r.Float64()
	return e
}

// judge measures events; keyed gives it the text.
func judge(p *mechanism.Performance, heard *onset.Take, keyed bool) *diagnose.Take {
	opt := diagnose.Options{Action: diagnose.Action(p.Machine.Action), Pitch: 10}
	if keyed {
		opt.Text = p.Text
	}
	return diagnose.Measure("trial.wav", heard, nil, opt)
}

// named tells whether a take's findings name a fault, and first.
func (v verdict) named(fault string) (first, at bool) {
	for i, f := range v.take.Findings {
		if f.Fault == fault {
			return i == 0, true
		}
	}
	return false, false
}

// faultTable prints how often faults are named.
func faultTable(out io.Writer, first uint64, n int) error {
	t := table{left: 1}
	t.row("fault", "takes", "first", "at all", "another machine fault first", "which", "hands missed")
	for _, f := range mechanism.Faults() {
		trials := faulty(f, first, n, 3)
		list, err := byEvents(trials)
		if err != nil {
			return err
		}
		ones, all, wrong := 0, 0, 0
		which := map[string]int{}
		miss := map[string]int{}
		for _, v := range list {
			a, b := v.named(f.Name)
			if a {
				ones++
			} else {
				miss[v.hand]++
			}
			if b {
				all++
			}
			if !a {
				w := "-" + v.take.Answer.Code
				if len(v.take.Findings) > 0 {
					w = v.take.Findings[0].Fault
					if v.take.Findings[0].Share == diagnose.ShareMachine {
						wrong++
					}
				}
				which[w]++
			}
		}
		t.row(f.Name, fmt.Sprint(len(list)), fmt.Sprint(ones), fmt.Sprint(all), fmt.Sprint(wrong), fmt.Sprint(which), fmt.Sprint(miss))
	}
	if err := t.write(out); err != nil {
		return err
	}
	s := table{left: 1}
	s.row("sound machine", "takes", "given a machine fault", "which", "the hand named", "answers")
	for _, h := range append(faultHands(), mechanism.Brisk(), mechanism.Hurried(), mechanism.Slow()) {
		list, err := byEvents(sound(h, first, n))
		if err != nil {
			return err
		}
		bad, hand := 0, 0
		which, codes := map[string]int{}, map[string]int{}
		for _, v := range list {
			codes[v.take.Answer.Code]++
			if slices.ContainsFunc(v.take.Findings, func(f diagnose.Finding) bool { return f.Share == diagnose.ShareMachine }) {
				bad++
			}
			for _, f := range v.take.Findings {
				if f.Share == diagnose.ShareMachine {
					which[f.Fault]++
				} else {
					hand++
				}
			}
		}
		s.row(h.Name, fmt.Sprint(len(list)), fmt.Sprint(bad), fmt.Sprint(which), fmt.Sprint(hand), fmt.Sprint(codes))
	}
	fmt.Fprintln(out)
	return s.write(out)
}
