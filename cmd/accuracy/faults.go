package main

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/diagnose/mechanism/ears"
)

// faultsName is what -only asks for to have these tables alone.
const faultsName = "faults"

// faultSeeds takes of each fault are judged by events, soundSeeds through sound,
// for each -seeds.
const (
	faultSeeds = 50
	soundSeeds = 2
)

// The first seeds of the takes judged by events: those that the rules may have
// been looked at with, and those kept aside, which are only scored.
const (
	faultSeed    = 200001
	faultHeldOut = 300001
)

// trial is one take with the faults it has.
type trial struct {
	faults []string // none for a sound machine
	hand   string
	scene  *mechanism.Scenario
	keyed  bool // the text is given
}

// verdict is what the program made of a trial.
type verdict struct {
	trial
	take *diagnose.Take
}

// named tells whether a fault is named, and whether it is the first.
func (v verdict) named(fault string) (first, at bool) {
	i := slices.IndexFunc(v.take.Findings, func(f diagnose.Finding) bool { return f.Fault == fault })
	return i == 0, i >= 0
}

// machineFaults are the findings that blame the machine.
func (v verdict) machineFaults() []string {
	var names []string
	for _, f := range v.take.Findings {
		if f.Share == diagnose.ShareMachine {
			names = append(names, f.Fault)
		}
	}
	return names
}

// faultHands are hands that spoil nothing or next to nothing on a sound machine.
func faultHands() []mechanism.Hand {
	even := mechanism.Brisk()
	even.Name, even.Rate, even.Spread, even.Shortest, even.Flicked = "even hand", 6, 0.15, 0.105, 0.03
	flicking := mechanism.Staccato(0.3)
	flicking.Name = "flicking hand"
	return []mechanism.Hand{mechanism.Calm(), even, mechanism.Staccato(0.12), flicking}
}

// plainScene is a sound machine of its own under a hand near the given one, which
// types eight lines.
func plainScene(h mechanism.Hand, seed uint64) *mechanism.Scenario {
	s := mechanism.Ordinary("trial", h, seed)
	shelf := strings.Split(mechanism.Shelf, "\n")
	if n := strings.Count(s.Text, "\n") + 1; n < len(shelf) {
		s.Text += "\n" + strings.Join(shelf[:len(shelf)-n], "\n")
	}
	return s
}

// faulty draws n takes of a fault, each just bad enough to spoil so many places
// more than the sound machine does. The hands take turns; where the fault cannot
// spoil as many under one the next has it, and a seed on which it can under none
// is left out.
func faulty(ctx context.Context, f mechanism.Fault, first uint64, n, more int, keyed bool) ([]trial, error) {
	hands := faultHands()
	graded, err := each(ctx, n, func(_ context.Context, i int) (trial, error) {
		seed := first + uint64(i)
		for k := range hands {
			h := hands[(int(seed)+k)%len(hands)]
			if g, _, ok := f.Grade(*plainScene(h, seed), more); ok {
				return trial{[]string{f.Name}, h.Name, g, keyed}, nil
			}
		}
		return trial{}, nil
	})
	return slices.DeleteFunc(graded, func(t trial) bool { return t.scene == nil }), err
}

// soundMachines draws n takes of machines with nothing wrong under a hand.
func soundMachines(h mechanism.Hand, first uint64, n int) []trial {
	var list []trial
	for seed := first; seed < first+uint64(n); seed++ {
		list = append(list, trial{nil, h.Name, plainScene(h, seed), true})
	}
	return list
}

// couples are two faults in one machine, or one under a hurried hand.
func couples(first uint64, n int) map[string][]trial {
	byName := map[string]mechanism.Fault{}
	for _, f := range mechanism.Faults() {
		byName[f.Name] = f
	}
	flicking := faultHands()[2]
	out := map[string][]trial{}
	for _, pair := range [][2]string{
		{"late-trip", "binding"}, {"weak-pull", "skipping"}, {"worn-tooth", "binding"},
		{"weak-pull", "sluggish-bar"}, {"late-space-bar", "weak-pull"},
		{"late-trip", diagnose.FaultHurriedHand}, {"weak-pull", diagnose.FaultHurriedHand}, {"binding", diagnose.FaultHurriedHand},
	} {
		name := pair[0] + " and " + pair[1]
		for seed := first; seed < first+uint64(n); seed++ {
			g, _, ok := byName[pair[0]].Grade(*plainScene(flicking, seed), 6)
			if !ok {
				continue
			}
			if second, is := byName[pair[1]]; is {
				if g, _, ok = second.Grade(*g, 6); !ok {
					continue
				}
			} else {
				h := mechanism.DrawHand(mechanism.Hurried(), seed)
				h.Flicked = g.Hand.Flicked
				g.Hand = h
			}
			out[name] = append(out[name], trial{pair[:], g.Hand.Name, g, true})
		}
	}
	return out
}

// byEvents judges trials without sound.
func byEvents(ctx context.Context, t trial) (*diagnose.Take, error) {
	p, err := t.scene.Perform()
	if err != nil {
		return nil, err
	}
	return diagnose.Measure("trial.wav", middling(t.scene.Seed).Hear(p, t.scene.Seed), nil, t.options(p)), nil
}

// bySound renders the trial and measures the recording.
func bySound(ctx context.Context, t trial) (*diagnose.Take, error) {
	folder, err := os.MkdirTemp("", "accuracy-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "trial.wav")
	p, err := recordTo(path, t.scene)
	if err != nil {
		return nil, err
	}
	_, take, err := listen(ctx, path, t.options(p))
	return take, err
}

// options are what the user says.
func (t trial) options(p *mechanism.Performance) diagnose.Options {
	opt := told(p.Truth())
	if t.keyed {
		opt.Text = p.Text
	}
	return opt
}

// middling are ordinary ears that sometimes hear a missed space that was none, up
// to 4 in 500 strokes, and rarely a skip that was none, up to 1 in 5000: through
// sound, none was heard in 37 takes of sound machines.
func middling(seed uint64) ears.Ears {
	e := ears.Draw(seed)
	r := rand.New(rand.NewPCG(seed, 0xfa15))
	e.FalseMissed, e.FalseSkips = 0.008*r.Float64(), 0.0002*r.Float64()
	return e
}

// judgeAll judges trials.
func judgeAll(ctx context.Context, trials []trial, by func(context.Context, trial) (*diagnose.Take, error)) ([]verdict, error) {
	return each(ctx, len(trials), func(ctx context.Context, i int) (verdict, error) {
		t := trials[i]
		take, err := by(ctx, t)
		if err != nil {
			return verdict{}, fmt.Errorf("%s under a %s, seed %d: %w", strings.Join(t.faults, " and "), t.hand, t.scene.Seed, err)
		}
		return verdict{t, take}, nil
	})
}

// tally counts takes, and of how many the fault is named. asked are those that are
// given no cause, but told to flick keys and record again; shown are those of them of
// which it is named first then.
type tally struct{ takes, first, at, other, unusable, asked, shown int }

func (n *tally) add(v verdict, fault string) {
	n.takes++
	first, at := v.named(fault)
	if first {
		n.first++
	}
	if at {
		n.at++
	}
	if !first && len(v.take.Findings) > 0 && v.take.Findings[0].Share == diagnose.ShareMachine {
		n.other++
	}
	if !v.take.Recording.Usable {
		n.unusable++
	}
	if v.asked() {
		n.asked++
	}
}

// asked tells whether no cause is given and flicked keys are asked for, to show it.
func (v verdict) asked() bool {
	return len(v.take.Findings) == 0 && strings.Contains(v.take.Answer.Text, "staccato")
}

// obeyed is the trial of one who did as asked: every second line staccato, which is
// half of the keys flicked.
func (t trial) obeyed() trial {
	scene := *t.scene
	scene.Hand.Flicked = max(scene.Hand.Flicked, 0.5)
	t.scene = &scene
	return t
}

func (n *tally) firsts() string {
	if n.takes == 0 {
		return "-"
	}
	return fmt.Sprintf("%d of %d", n.first, n.takes)
}

// kindOfFault is a row: a fault, and whether the text is given with its takes.
type kindOfFault struct {
	mechanism.Fault
	keyed bool
}

func (k kindOfFault) title() string {
	if k.Keyed && !k.keyed {
		return k.Name + ", no text given"
	}
	return k.Name
}

// kindsOfFault are the rows: keyed faults come with and without the text.
func kindsOfFault() []kindOfFault {
	var all []kindOfFault
	for _, f := range mechanism.Faults() {
		all = append(all, kindOfFault{f, f.Keyed})
		if f.Keyed {
			all = append(all, kindOfFault{f, false})
		}
	}
	return all
}

// writeFaults prints how often faults are named: from n takes of each judged by
// events, drawn from seeds from first on, and from m takes through sound of each
// condition, whose seeds begin at takes.
func writeFaults(ctx context.Context, out io.Writer, seeds string, first, takes uint64, n, m int) error {
	fmt.Fprintf(out, "\nFaults named, judged by events, %s: each just bad enough to spoil three letters a page of eight lines\n\n", seeds)
	if err := writeNamed(ctx, out, first, n); err != nil {
		return err
	}
	fmt.Fprintf(out, "\nSound machines, judged by events, %s\n\n", seeds)
	if err := writeUnblamed(ctx, out, first, n); err != nil {
		return err
	}
	fmt.Fprintf(out, "\nTwo at once, judged by events, %s\n\n", seeds)
	if err := writeCouples(ctx, out, first, max(n/2, 1)); err != nil {
		return err
	}
	fmt.Fprintf(out, "\nLate trips under a slow, even hand that flicks no key, judged by events, %s\n\n", seeds)
	if err := writeHidden(ctx, out, first, n); err != nil {
		return err
	}
	fmt.Fprintf(out, "\nFaults named, through sound, %s: the conditions of the other tables, the text given\n\n", seeds)
	return writeHeard(ctx, out, takes, m)
}

func writeNamed(ctx context.Context, out io.Writer, first uint64, n int) error {
	t := table{left: 1}
	head := []string{"fault", "takes", "named first", "named at all", "another machine fault first", "no cause, asked to flick", "then named first"}
	for _, h := range faultHands() {
		head = append(head, h.Name)
	}
	head = append(head, "1 letter a page", "10 letters a page")
	t.row(head...)
	for _, k := range kindsOfFault() {
		trials, err := faulty(ctx, k.Fault, first, n, 3, k.keyed)
		if err != nil {
			return err
		}
		list, err := judgeAll(ctx, trials, byEvents)
		if err != nil {
			return err
		}
		var all tally
		var again []trial
		hands := map[string]*tally{}
		for _, h := range faultHands() {
			hands[h.Name] = &tally{}
		}
		for _, v := range list {
			all.add(v, k.Name)
			hands[v.hand].add(v, k.Name)
			if v.asked() {
				again = append(again, v.obeyed())
			}
		}
		if list, err = judgeAll(ctx, again, byEvents); err != nil {
			return err
		}
		for _, v := range list {
			if first, _ := v.named(k.Name); first {
				all.shown++
			}
		}
		row := []string{k.title(), fmt.Sprint(all.takes), percentOf(all.first, all.takes), percentOf(all.at, all.takes), percentOf(all.other, all.takes),
			percentOf(all.asked, all.takes), percentOf(all.shown, all.asked)}
		for _, h := range faultHands() {
			row = append(row, hands[h.Name].firsts())
		}
		for _, more := range []int{1, 10} {
			trials, err := faulty(ctx, k.Fault, first, max(2*n/5, 1), more, k.keyed)
			if err != nil {
				return err
			}
			list, err := judgeAll(ctx, trials, byEvents)
			if err != nil {
				return err
			}
			var g tally
			for _, v := range list {
				g.add(v, k.Name)
			}
			row = append(row, g.firsts())
		}
		t.row(row...)
	}
	return t.write(out)
}

func percentOf(k, n int) string {
	if n == 0 {
		return "-"
	}
	return fmt.Sprintf("%.0f %%", 100*float64(k)/float64(n))
}

func writeUnblamed(ctx context.Context, out io.Writer, first uint64, n int) error {
	t := table{left: 1}
	t.row("hand", "takes", "given a machine fault", "which", "hurried-hand named", "nothing wrong", "cannot tell")
	total, blamed := 0, 0
	for _, h := range append(faultHands(), mechanism.Brisk(), mechanism.Hurried(), mechanism.Slow()) {
		list, err := judgeAll(ctx, soundMachines(h, first, n), byEvents)
		if err != nil {
			return err
		}
		var bad, hand, fine, cannot int
		var which []string
		for _, v := range list {
			if names := v.machineFaults(); len(names) > 0 {
				bad++
				which = append(which, names...)
			}
			if _, at := v.named(diagnose.FaultHurriedHand); at {
				hand++
			}
			switch {
			case v.take.Answer.Code == diagnose.AnswerNothing:
				fine++
			case v.take.Answer.Code != diagnose.AnswerFindings:
				cannot++
			}
		}
		slices.Sort(which)
		t.row(h.Name, fmt.Sprint(len(list)), fmt.Sprint(bad), strings.Join(slices.Compact(which), ", "),
			fmt.Sprint(hand), fmt.Sprint(fine), fmt.Sprint(cannot))
		total, blamed = total+len(list), blamed+bad
	}
	t.row("all", fmt.Sprint(total), fmt.Sprintf("%d (%.1f %%)", blamed, 100*float64(blamed)/float64(max(total, 1))), "", "", "", "")
	return t.write(out)
}

func writeCouples(ctx context.Context, out io.Writer, first uint64, n int) error {
	t := table{left: 1}
	t.row("two at once", "takes", "both named", "the first", "the second", "a third machine fault")
	all := couples(first, n)
	names := make([]string, 0, len(all))
	for name := range all {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		list, err := judgeAll(ctx, all[name], byEvents)
		if err != nil {
			return err
		}
		var both, one, two, third int
		for _, v := range list {
			_, a := v.named(v.faults[0])
			_, b := v.named(v.faults[1])
			if a {
				one++
			}
			if b {
				two++
			}
			if a && b {
				both++
			}
			if slices.ContainsFunc(v.machineFaults(), func(f string) bool { return !slices.Contains(v.faults, f) }) {
				third++
			}
		}
		t.row(name, fmt.Sprint(len(list)), percentOf(both, len(list)), percentOf(one, len(list)), percentOf(two, len(list)), fmt.Sprint(third))
	}
	return t.write(out)
}

// writeHidden counts what is answered where a late trip does not show.
func writeHidden(ctx context.Context, out io.Writer, first uint64, n int) error {
	slow := mechanism.Slow()
	slow.Flicked, slow.HoldSpread, slow.Spread = 0, 0.2, 0.15
	var trials []trial
	for seed := first; seed < first+uint64(n); seed++ {
		s := plainScene(slow, seed)
		s.Machine = s.Machine.WithKey().LateTrip(0.0012 + 0.001*rand.New(rand.NewPCG(seed, 1)).Float64())
		trials = append(trials, trial{[]string{diagnose.FaultLateTrip}, slow.Name, s, true})
	}
	list, err := judgeAll(ctx, trials, byEvents)
	if err != nil {
		return err
	}
	var cannot, named, asked, other int
	for _, v := range list {
		_, at := v.named(diagnose.FaultLateTrip)
		switch {
		case v.take.Answer.Code == diagnose.AnswerCannotShow && strings.Contains(v.take.Answer.Text, "trips late"):
			cannot++
		case at:
			named++
		case v.asked():
			asked++
		default:
			other++
		}
	}
	t := table{left: 1}
	t.row("takes", "cannot show here", "only asked for a staccato line", "late-trip named", "other")
	t.row(fmt.Sprint(len(list)), fmt.Sprint(cannot), fmt.Sprint(asked), fmt.Sprint(named), fmt.Sprint(other))
	return t.write(out)
}

// writeHeard renders and measures m takes of each condition that is heard well
// enough.
func writeHeard(ctx context.Context, out io.Writer, first uint64, m int) error {
	named, fine := table{left: 1}, table{left: 1}
	named.row("condition", "takes", "usable", "named first", "named at all", "another machine fault first", "machine faults named")
	fine.row("condition", "takes", "usable", "given a machine fault", "which", "nothing wrong")
	usable, blamed := 0, 0
	for i, c := range mechanism.Conditions() {
		if !c.Clean {
			continue
		}
		var trials []trial
		for s := range uint64(m) {
			trials = append(trials, trial{[]string{c.Fault}, c.Name, c.Make(first + uint64(i)*seedStep + s), true})
		}
		list, err := judgeAll(ctx, trials, bySound)
		if err != nil {
			return err
		}
		list = slices.DeleteFunc(list, func(v verdict) bool { return !v.take.Recording.Usable })
		var t tally
		var which []string
		nothing, bad := 0, 0
		for _, v := range list {
			t.add(v, c.Fault)
			if names := v.machineFaults(); len(names) > 0 {
				bad++
				which = append(which, names...)
			}
			if v.take.Answer.Code == diagnose.AnswerNothing {
				nothing++
			}
		}
		slices.Sort(which)
		faults := strings.Join(slices.Compact(which), ", ")
		if c.Fault != "" {
			named.row(c.Name, fmt.Sprint(m), fmt.Sprint(len(list)), fmt.Sprint(t.first), fmt.Sprint(t.at), fmt.Sprint(t.other), faults)
			continue
		}
		usable, blamed = usable+len(list), blamed+bad
		fine.row(c.Name, fmt.Sprint(m), fmt.Sprint(len(list)), fmt.Sprint(bad), faults, fmt.Sprint(nothing))
	}
	fine.row("all", "", fmt.Sprint(usable), fmt.Sprintf("%d (%.1f %%)", blamed, 100*float64(blamed)/float64(max(usable, 1))), "", "")
	if err := named.write(out); err != nil {
		return err
	}
	fmt.Fprintln(out)
	return fine.write(out)
}
