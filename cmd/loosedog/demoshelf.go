package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"text/tabwriter"
	"time"

	"loosedog/audio"
	"loosedog/diagnose/compare"
	"loosedog/diagnose/mechanism"
	"loosedog/diagnose/record"
	"loosedog/report"
)

// demoShelfFolder is where the demo's shelf goes unless told otherwise.
const demoShelfFolder = "loosedog-shelf"

// demoShelfMark is the file by which the demo knows a folder of its own.
const demoShelfMark = "about-this-shelf.txt"

const demoShelfWords = `Twelve imaginary typewriters of a harbour-town library's lending shelf, made by
"loosedog demo --shelf". A folder a machine: recordings, machine.toml (what its
owner knows of it), log.txt (what was done to it), and beside each recording what
was measured of it.
`

// demoShelf makes the lending shelf, measures it, and prints it beside its truth.
func demoShelf(ctx context.Context, u *ui, folder string) error {
	if folder == "" {
		return usagef("loosedog demo --shelf --out machines", "the folder has no name")
	}
	lent := mechanism.Lending()
	if err := makeShelf(ctx, u, folder, lent); err != nil {
		return err
	}
	machines, problems, err := record.Machines(folder)
	if err != nil {
		return badFile(err)
	}
	if err := bringUp(ctx, u, machines); err != nil {
		return err
	}
	s := record.NewShelf(folder, machines, problems)
	outs := outputs{{"the picture", filepath.Join(folder, "shelf.png"), func(w io.Writer) error { return report.ShelfPNG(w, s) }}}
	for _, m := range machines {
		if h := record.NewHistory(m); len(h.Takes) > 1 {
			outs = append(outs, output{"its year", filepath.Join(folder, m.Folder+".png"), func(w io.Writer) error { return report.HistoryPNG(w, h) }})
		}
	}
	if err := outs.write(ctx, u); err != nil {
		return err
	}
	if err := report.ShelfText(u.out, s); err != nil {
		return inside(err)
	}
	if err := besideTruth(u.out, s, lent); err != nil {
		return inside(err)
	}
	fmt.Fprintln(u.out)
	for _, o := range outs {
		fmt.Fprintf(u.out, "%-13s %s\n", strings.ToUpper(o.flag[:1])+o.flag[1:]+":", o.path)
	}
	fmt.Fprintf(u.out, "Go on:        loosedog history %s\n", filepath.Join(folder, "shelf-7"))
	return nil
}

// makeShelf writes what is not there yet: a shelf that was looked at stays as it is,
// and one that was left half made is finished.
func makeShelf(ctx context.Context, u *ui, folder string, lent []mechanism.Lent) error {
	mark := filepath.Join(folder, demoShelfMark)
	if list, err := os.ReadDir(folder); err == nil && len(list) > 0 {
		if _, err := os.Stat(mark); err != nil {
			return usagef("loosedog demo --shelf --out "+demoShelfFolder, "the folder %q holds other things; the demo's shelf wants a new one", folder)
		}
	}
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return badFile(fmt.Errorf("cannot make the folder %q: %w; choose another", folder, bare(err)))
	}
	if err := writeNew(mark, demoShelfWords); err != nil {
		return err
	}
	type job struct {
		path string
		take mechanism.LentTake
	}
	var jobs []job
	for _, l := range lent {
		at := filepath.Join(folder, l.Folder)
		if err := os.MkdirAll(at, 0o777); err != nil {
			return badFile(fmt.Errorf("cannot make the folder %q: %w; choose another", at, bare(err)))
		}
		said := fmt.Sprintf("# What is known of this machine. All of it is optional.\nname = \"shelf %s\"\ncolour = %q\npitch = 10\naction = \"full\"\n", l.Number, l.Colour)
		if err := writeNew(filepath.Join(at, record.MachineFile), said); err != nil {
			return err
		}
		if len(l.Log) > 0 {
			if err := writeNew(filepath.Join(at, record.LogFile), strings.Join(l.Log, "\n")+"\n"); err != nil {
				return err
			}
		}
		for _, t := range l.Takes {
			if path := filepath.Join(at, t.File); !exists(path) {
				jobs = append(jobs, job{path, t})
			}
		}
	}
	bar := newProgress(u.err, u.quiet)
	defer bar.wipe()
	tell := bar.phase("typing", 1)
	var (
		mu      sync.Mutex
		first   error
		done    int64
		workers sync.WaitGroup
		queue   = make(chan job)
	)
	for range record.AtOnce {
		workers.Go(func() {
			for j := range queue {
				err := makeTake(ctx, j.path, j.take)
				mu.Lock()
				first = cmp.Or(first, err)
				done++
				tell(done, int64(len(jobs)))
				mu.Unlock()
			}
		})
	}
	for _, j := range jobs {
		queue <- j
	}
	close(queue)
	workers.Wait()
	if ctx.Err() != nil {
		return inside(errors.New("stopped; run it again to go on"))
	}
	return inside(first)
}

// makeTake renders one take, as old as it says it is.
func makeTake(ctx context.Context, path string, t mechanism.LentTake) error {
	if ctx.Err() != nil {
		return nil
	}
	_, samples, rate, err := t.Scene.Record()
	if err != nil {
		return err
	}
	if err := audio.WriteWAV(path, int(rate), 16, samples); err != nil {
		return err
	}
	made, err := time.ParseInLocation(time.DateOnly, t.Date, time.Local)
	if err != nil {
		return err
	}
	noon := made.Add(12 * time.Hour)
	return os.Chtimes(path, noon, noon)
}

// writeNew writes a small text where no file is.
func writeNew(path, text string) error {
	if exists(path) {
		return nil
	}
	return inside(report.WriteFile(path, func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}))
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return !errors.Is(err, fs.ErrNotExist)
}

// referenceHand is the fixed hand of the shelf as the simulated one.
func referenceHand() mechanism.Hand {
	r, h := compare.Reference, mechanism.Calm()
	h.Name, h.Rate, h.Spread, h.Shortest = r.Name, r.Rate, r.Spread, r.Shortest
	h.Hold, h.HoldSpread, h.Flicked = r.Hold, r.HoldSpread, r.Flicked
	h.Alternation, h.WordPause = 0, 0
	return h
}

// truthPages is how many pages the simulated machines type for their truth.
const truthPages = 30

// besideTruth prints what was simulated beside what was measured.
func besideTruth(w io.Writer, s *record.Shelf, lent []mechanism.Lent) error {
	fmt.Fprintf(w, "\nWhat was simulated: letters a page\n")
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "\tsimulated\tmeasured\t\n")
	for _, r := range s.Machines {
		for _, l := range lent {
			if l.Folder != r.Folder {
				continue
			}
			last := l.Takes[len(l.Takes)-1]
			true, err := last.Scene.Machine.PerPage(referenceHand(), truthPages, compare.PageStrokes)
			if err != nil {
				return err
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t\n", r.Machine, unit(true, 1, ""), unit(float64(r.Letters.Value), 1, ""))
		}
	}
	return t.Flush()
}
