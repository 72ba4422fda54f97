package main

import (
	"context"
	"math/rand/v2"
	"testing"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
)

// What is graded spoils as much as it should, and no seed is drawn twice.
func TestFaultyTakesAreGraded(t *testing.T) {
	for _, f := range mechanism.Faults() {
		trials, err := faulty(context.Background(), f, 41, 2, 3, false)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range trials {
			p, err := c.scene.Perform()
			if err != nil {
				t.Fatal(err)
			}
			plain := plainScene(p.Hand, c.scene.Seed)
			plain.Hand, plain.Machine = c.scene.Hand, f.Set(plain.Machine, 0, rand.New(rand.NewPCG(c.scene.Seed, 0xfa17)))
			q, err := plain.Perform()
			if err != nil {
				t.Fatal(err)
			}
			if p.Spoiled() < q.Spoiled()+3 {
				t.Errorf("%s under a %s, seed %d: %d places against %d", f.Name, c.hand, c.scene.Seed, p.Spoiled(), q.Spoiled())
			}
		}
	}
}

func TestTally(t *testing.T) {
	take := func(faults ...string) verdict {
		v := verdict{take: &diagnose.Take{Recording: diagnose.Recording{Usable: true}}}
		for _, f := range faults {
			share := diagnose.ShareMachine
			if f == diagnose.FaultHurriedHand {
				share = diagnose.ShareHand
			}
			v.take.Findings = append(v.take.Findings, diagnose.Finding{Fault: f, Share: share})
		}
		return v
	}
	var n tally
	n.add(take("binding", "skipping"), "binding")
	n.add(take("skipping", "binding"), "binding")
	n.add(take("hurried-hand", "binding"), "binding")
	n.add(take(), "binding")
	if want := (tally{takes: 4, first: 1, at: 3, other: 1}); n != want {
		t.Errorf("%+v, want %+v", n, want)
	}
	if got := take("binding", "hurried-hand").machineFaults(); len(got) != 1 || got[0] != "binding" {
		t.Errorf("machine faults %v", got)
	}
}

// A trial is judged both ways: by its events, and stopped when asked.
func TestJudgeAll(t *testing.T) {
	trials := soundMachines(mechanism.Calm(), 41, 2)
	for i := range trials {
		trials[i].keyed = false
	}
	list, err := judgeAll(context.Background(), trials, byEvents)
	if err != nil || len(list) != 2 || len(list[0].take.Strokes) == 0 {
		t.Fatal(err, len(list))
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := judgeAll(ctx, trials, byEvents); err == nil {
		t.Error("went on when it was stopped")
	}
}
