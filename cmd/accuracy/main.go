// Accuracy measures how well loosedog hears, on takes whose truth is known: the
// project's own simulated conditions, drawn from seeds that the detector may
// have been tuned on and from seeds kept aside, and every NAME.wav with a
// NAME.truth.json in the folders given. It prints Markdown tables.
//
//	go run ./cmd/accuracy [-seeds N] [-only TEXT] [-own=false] [FOLDER...]
//
// After those come takes that a room, a recorder or a codec spoils step by step
// (-only spoiled), with the step that loses each goal and the step at which takes
// are refused, machines of other actions, told and not told (-only action), what
// a hand does besides typing and speech beside it, and what is taken for strokes of
// it (-only besides; espeak-ng speaks, or with -voice FILE who is recorded there), how
// many strokes get the right character of the text (-only alignment), whether ear and
// paper agree (-only 'page count'), and how often
// the right fault is named, and none on a sound machine (-only faults), and which
// verdicts comparisons of two takes give (-only compare).
//
// An event counts as found when one of its kind lies within the tolerance of
// it, one to one (see match.go). Errors are found minus true. A pair is bad when
// its second letter is crowded or piled.
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
)

// The first seeds of takes that anybody may look at while working on the
// detector, and of takes kept aside, which are only scored. Every condition has
// seeds of its own, seedStep apart: a seed draws machine, room and sounds, and
// one odd machine shall not stand for all conditions.
const (
	tuningSeed  = 1
	heldOutSeed = 100001
	seedStep    = 100
)

// ranges are the seeds that takes are drawn from: the first of those that are
// heard, and of those whose faults are judged by events.
var ranges = []struct {
	name          string
	first, faults uint64
}{{"tuning", tuningSeed, faultSeed}, {"held-out", heldOutSeed, faultHeldOut}}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	err := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "accuracy:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string, out, log io.Writer) error {
	fl := flag.NewFlagSet("accuracy", flag.ContinueOnError)
	fl.SetOutput(log)
	seeds := fl.Int("seeds", 1, "takes of each own condition, tuning and held out, up to 100")
	own := fl.Bool("own", true, "score the project's own simulated conditions")
	only := fl.String("only", "", "score only conditions and takes whose name contains this")
	voiceFile := fl.String("voice", "", "speech of this recording instead of espeak-ng's")
	if err := fl.Parse(args); err != nil {
		return err
	}
	with := haveOutside()
	if !with {
		fmt.Fprintln(log, "aubioonset is not installed: no outside reference for the strikes")
	}
	var jobs []job
	group := func(headings *[]string, heading string, list []job) {
		var kept []job
		for _, j := range list {
			// The undamaged takes are what the others are compared with.
			if strings.Contains(j.name, *only) || j.damage == undamaged {
				j.heading = heading
				kept = append(kept, j)
			}
		}
		if len(kept) > 0 {
			*headings, jobs = append(*headings, heading), append(jobs, kept...)
		}
	}
	var plain, worse, other, more []string // headings of the four kinds of tables
	if *own {
		n := min(max(*seeds, 1), seedStep)
		have := encoders(ctx)
		if names := missing(have); len(names) > 0 && strings.HasPrefix(spoiledPrefix, *only) {
			fmt.Fprintf(log, "ffmpeg with its encoders is not installed: no takes spoiled by %s\n", strings.Join(names, ", "))
		}
		talk, err := chooseVoice(ctx, *voiceFile, log)
		if err != nil {
			return err
		}
		for _, r := range ranges {
			of := fmt.Sprintf(", %s seeds from %d", r.name, r.first)
			group(&plain, "Own simulated conditions"+of, simulated(r.first, n, with))
			if slices.ContainsFunc(spoiled(r.first, []int{0}, have), func(j job) bool { return strings.Contains(j.name, *only) }) {
				takes, passed, err := measurable(ctx, r.first, 3*n)
				if err != nil {
					return err
				}
				group(&worse, fmt.Sprintf("Spoiled takes%s (%d used, %d passed over that are not measured undamaged)", of, len(takes), passed), spoiled(r.first, takes, have))
			}
			group(&other, "Other actions"+of, acted(r.first, n))
			group(&more, "Besides typing"+of, besides(r.first, n, talk))
		}
	}
	for _, dir := range fl.Args() {
		list, err := recorded(dir, with)
		if err != nil {
			return err
		}
		group(&plain, "Takes of "+dir, list)
	}
	align := *own && strings.Contains(alignmentName, *only)
	faults := *own && strings.Contains(faultsName, *only)
	counts := *own && strings.Contains(pageCountName, *only)
	var kinds, audible []change
	if *own {
		kinds, audible = comparedKinds(*only)
	}
	if len(jobs) == 0 && !align && !counts && !faults && len(kinds) == 0 {
		return fmt.Errorf("no take to score")
	}
	fmt.Fprintf(log, "scoring %d takes\n", len(jobs))
	scores, err := scoreAll(ctx, jobs)
	if err != nil {
		return err
	}
	if err := (report{jobs, scores}).write(out, plain, worse, other, more); err != nil {
		return err
	}
	if align {
		for _, r := range ranges {
			fmt.Fprintf(out, "\nTakes laid along the text that was typed, %s seeds from %d\n\n", r.name, r.first)
			if err := writeAlignment(ctx, out, r.first, min(max(*seeds, 1), seedStep)); err != nil {
				return err
			}
		}
	}
	if counts {
		for _, r := range ranges {
			fmt.Fprintf(out, "\nThe count on the paper, %s seeds from %d\n\n", r.name, r.first)
			if err := writePageCount(ctx, out, r.first); err != nil {
				return err
			}
		}
	}
	if faults {
		n := min(max(*seeds, 1), 10)
		for _, r := range ranges {
			of := fmt.Sprintf("%s seeds from %d", r.name, r.faults)
			if err := writeFaults(ctx, out, of, r.faults, r.first, n*faultSeeds, n*soundSeeds); err != nil {
				return err
			}
		}
	}
	return compareAll(ctx, out, log, kinds, audible)
}

// report is what was scored.
type report struct {
	jobs   []job
	scores []*takeScore
}

// write prints all tables: of the headings with plain takes the goals first,
// then everything; of those with spoiled takes the limits first.
func (r report) write(out io.Writer, plain, worse, other, more []string) error {
	all := make([][]block, len(plain))
	for i, h := range plain {
		all[i] = blocksOf(h, r.jobs, r.scores)
	}
	if len(plain) > 0 {
		if err := writeGoals(out, plain, all); err != nil {
			return err
		}
	}
	for _, h := range worse {
		list := degrees(h, r.jobs, r.scores)
		fmt.Fprintf(out, "\n%s: figures of the takes called usable, ! where they miss the goal\n\n", h)
		if err := writeSpoiled(out, list); err != nil {
			return err
		}
		fmt.Fprintf(out, "\n%s: takes by what was said of them and by whether strikes (within 5 ms) and landings reach their goals, fall short of them or are misread\n\n", h)
		if err := writeGate(out, list); err != nil {
			return err
		}
		fmt.Fprintf(out, "\n%s: the step from which the goal is lost (where undamaged takes miss it: %g more)\n\n", h, drop)
		if err := writeLimits(out, list); err != nil {
			return err
		}
	}
	for _, h := range other {
		fmt.Fprintf(out, "\n%s\n\n", h)
		if err := writeActions(out, blocksOf(h, r.jobs, r.scores)); err != nil {
			return err
		}
	}
	for _, h := range more {
		fmt.Fprintf(out, "\n%s: of every hundred noises so many are taken for\n\n", h)
		if err := writeBesides(out, blocksOf(h, r.jobs, r.scores)); err != nil {
			return err
		}
	}
	for i, h := range plain {
		fmt.Fprintf(out, "\n%s\n\n", h)
		if err := writeBlocks(out, all[i]); err != nil {
			return err
		}
	}
	return nil
}

// job is one take to score. Jobs of one name are scored together.
type job struct {
	heading, name string
	rough         bool // noise or a lossy codec: the wider strike tolerance
	outside       bool // score the outside reference too
	damage, step  string
	told          diagnose.Action // what the user says of the machine, "" for the truth
	// take gives the recording's path and truth; it may use the folder.
	take func(ctx context.Context, folder string) (path string, t *truth, err error)
}

// simulated lists n takes of every condition, drawn from seeds from first on.
func simulated(first uint64, n int, outside bool) []job {
	var jobs []job
	for i, c := range mechanism.Conditions() {
		for s := range uint64(n) {
			seed := first + uint64(i)*seedStep + s
			jobs = append(jobs, job{name: c.Name, rough: !c.Clean, outside: outside,
				take: func(_ context.Context, folder string) (string, *truth, error) {
					return simulate(c, seed, folder)
				}})
		}
	}
	return jobs
}

// recorded lists the takes of a folder that have a truth. The names of rough
// ones say so: "noisy", "aac".
func recorded(dir string, outside bool) ([]job, error) {
	truths, err := filepath.Glob(filepath.Join(dir, "*"+truthSuffix))
	if err != nil {
		return nil, err
	}
	var jobs []job
	for _, path := range truths {
		stem := strings.TrimSuffix(path, truthSuffix)
		name := filepath.Base(stem)
		rough := strings.Contains(name, "noisy") || strings.Contains(name, "aac")
		jobs = append(jobs, job{name: name, rough: rough, outside: outside,
			take: func(context.Context, string) (string, *truth, error) {
				t, err := readTruth(path)
				return stem + ".wav", t, err
			}})
	}
	if len(jobs) == 0 {
		return nil, fmt.Errorf("%s: no NAME.wav with a NAME%s in it", dir, truthSuffix)
	}
	return jobs, nil
}

// scoreAll scores the takes.
func scoreAll(ctx context.Context, jobs []job) ([]*takeScore, error) {
	return each(ctx, len(jobs), func(ctx context.Context, i int) (*takeScore, error) {
		s, err := jobs[i].score(ctx)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", jobs[i].name, err)
		}
		return s, nil
	})
}

// The pooled blocks, which the goals speak of.
const (
	allClean = "all clean takes"
	allRough = "all noisy or lossy takes"
)

// blocksOf pools the scores of a heading's jobs by name, then the clean ones
// and the others.
func blocksOf(heading string, jobs []job, scores []*takeScore) []block {
	var blocks []block
	at := map[string]*takeScore{}
	pool := func(name string, s *takeScore) {
		if at[name] == nil {
			at[name] = newTakeScore()
			blocks = append(blocks, block{name, at[name]})
		}
		at[name].add(s)
	}
	each := func(do func(job, *takeScore)) {
		for i, j := range jobs {
			if j.heading == heading {
				do(j, scores[i])
			}
		}
	}
	each(func(j job, s *takeScore) { pool(j.name, s) })
	each(func(j job, s *takeScore) {
		if !j.rough {
			pool(allClean, s)
		}
	})
	each(func(j job, s *takeScore) {
		if j.rough {
			pool(allRough, s)
		}
	})
	return blocks
}
