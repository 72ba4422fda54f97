package record

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"time"

	"loosedog/diagnose"
)

// AtOnce is how many takes are measured at once unless [Work] says otherwise.
const AtOnce = 2

// Work brings a record up to date with what is handed in.
type Work struct {
	// Measure measures the recording at path. Its error is why it cannot be read, in
	// one line: the take is listed with it, and the rest goes on.
	Measure func(ctx context.Context, path string, opt diagnose.Options) (*diagnose.Take, error)
	// Write puts a result at path, whole or not at all.
	Write func(path string, t *diagnose.Take) error
	// TimeTag reads a recording's own time tag.
	TimeTag func(ctx context.Context, path string) (time.Time, bool)
	// Tell is told of every take that is done, never twice at once; nil for nobody.
	Tell func(done, all int)
	// AtOnce is how many takes are measured at once; AtOnce when 0.
	AtOnce int
}

// Done is what a run did.
type Done struct {
	Measured int // takes
	// Unkept says of each folder whose results could not be kept why.
	Unkept []string
	// Left are takes that were not measured because the run was stopped.
	Left int
}

// job is one take to be measured.
type job struct {
	m *Machine
	t *Take
}

// Bring measures every take that has no fresh result, keeps the results beside the
// takes, and dates the takes anew. A take that cannot be read gets its reason and the
// rest goes on; a result that cannot be kept (a folder on read-only media) counts all
// the same. The error is that of ctx, and then what was done so far is kept.
func (w Work) Bring(ctx context.Context, machines []*Machine) (Done, error) {
	var jobs []job
	for _, m := range machines {
		due := 0
		for _, t := range m.Takes {
			switch {
			case t.Kept != nil || t.blocked:
			case m.unsure != nil:
				t.Why = "it was not measured, for the machine file cannot be used"
			default:
				jobs = append(jobs, job{m, t})
				due++
			}
		}
		if due > 0 {
			sweep(m.Path, time.Now())
		}
	}
	var (
		mu      sync.Mutex
		done    Done
		unkept  = map[*Machine]bool{}
		started int
		workers sync.WaitGroup
		queue   = make(chan job)
	)
	if w.Tell != nil && len(jobs) > 0 {
		w.Tell(0, len(jobs))
	}
	for range min(cmp.Or(w.AtOnce, AtOnce), max(len(jobs), 1)) {
		workers.Add(1)
		go func() {
			defer workers.Done()
			for j := range queue {
				measured, keepErr := w.one(ctx, j)
				mu.Lock()
				if measured {
					done.Measured++
				}
				if keepErr != nil && !unkept[j.m] {
					unkept[j.m] = true
					done.Unkept = append(done.Unkept, keepErr.Error())
				}
				started++
				if w.Tell != nil && ctx.Err() == nil {
					w.Tell(started, len(jobs))
				}
				mu.Unlock()
			}
		}()
	}
feed:
	for _, j := range jobs {
		select {
		case queue <- j:
		case <-ctx.Done():
			break feed
		}
	}
	close(queue)
	workers.Wait()
	for _, j := range jobs {
		if j.t.Kept == nil && !j.t.blocked {
			done.Left++
		}
	}
	for _, m := range machines {
		m.sortTakes()
	}
	return done, ctx.Err()
}

// one measures one take and keeps its result. keepErr is why that cannot be kept.
func (w Work) one(ctx context.Context, j job) (measured bool, keepErr error) {
	m, t := j.m, j.t
	// Another run may have measured it meanwhile.
	if t.look(m); t.Kept != nil || t.blocked || ctx.Err() != nil {
		return false, nil
	}
	result := filepath.Join(m.Path, ResultFile(t.File))
	before := lies(result)
	var old *diagnose.Take
	if t.old {
		var err error
		if old, err = ReadResult(result); err != nil {
			t.block(fmt.Sprintf("its result %s cannot be read (%v); repair it or give it another name", ResultFile(t.File), err))
			return false, nil
		}
	}
	opt := options(m, old)
	take, err := w.measure(ctx, t.Path, opt)
	if ctx.Err() != nil {
		return false, nil
	}
	if err != nil {
		t.block(err.Error())
		return false, nil
	}
	now, err := os.Stat(t.Path)
	if err != nil || now.Size() != t.Bytes || !now.ModTime().Equal(t.Modified) {
		t.block("it changed while it was measured; look again when it is copied whole")
		return false, nil
	}
	take.Recording.Path = t.File
	take.Asked = opt.Asked()
	Stamp(ctx, take, now, t.Path, opt.Action, m.Said, w.TimeTag)
	if ctx.Err() != nil {
		return false, nil
	}
	if lies(result) != before {
		// Another run, or the owner, put a newer one there meanwhile.
		if t.look(m); t.Kept == nil && !t.blocked {
			t.block("its result changed while it was measured; look again")
		}
		return false, nil
	}
	t.Kept, t.Why = take.Kept, ""
	return true, w.Write(result, take)
}

// lies is what tells one state of a file from another: its size and time, nothing
// where there is none.
func lies(path string) string {
	info, err := os.Lstat(path)
	if err != nil {
		return ""
	}
	return fmt.Sprint(info.Size(), info.ModTime().UnixNano())
}

// measure keeps a failure inside one take from ending the others.
func (w Work) measure(ctx context.Context, path string, opt diagnose.Options) (t *diagnose.Take, err error) {
	defer func() {
		if r := recover(); r != nil {
			t, err = nil, fmt.Errorf("something in loosedog itself went wrong (%v); please report it with the recording", r)
		}
	}()
	t, err = w.Measure(ctx, path, opt)
	if err == nil && t == nil {
		err = errors.New("it gave no result")
	}
	return t, err
}

// options are what is known of a take before it is measured: the machine file counts
// first, then what its older result holds: what was asked of the take, the count on
// the paper and the corrections by hand. old is nil where there is none.
func options(m *Machine, old *diagnose.Take) diagnose.Options {
	opt := diagnose.Options{Action: diagnose.FullSpace, Pitch: 10, Machine: m.Said}
	if old != nil {
		opt.Corrections = old.Corrections
		if old.PageCount != nil {
			n := old.PageCount.Counted
			opt.PageCount = &n
		}
		if a := old.Asked; a != nil {
			opt.Text = a.Text
			opt.Action = cmp.Or(diagnose.Action(a.Action), opt.Action)
			opt.Pitch = cmp.Or(a.Pitch, opt.Pitch)
		}
	}
	if m.Said != nil {
		opt.Action = cmp.Or(m.Said.Action, opt.Action)
		opt.Pitch = cmp.Or(m.Said.Pitch, opt.Pitch)
	}
	if !opt.Action.Known() { // a result can have been edited
		opt.Action = diagnose.FullSpace
	}
	if opt.Pitch != 12 {
		opt.Pitch = 10
	}
	return opt
}

// Stamp puts at the head of a result what a record keeps, so that a take which was
// measured elsewhere, as on the page in the browser, is not measured again. info is
// of the recording, from before it was measured; said the machine file, nil without.
func Stamp(ctx context.Context, t *diagnose.Take, info os.FileInfo, path string, action diagnose.Action, said *diagnose.Machine,
	tag func(context.Context, string) (time.Time, bool)) {
	k := digest(t, action)
	k.Bytes, k.Modified, k.Told = info.Size(), stamp(info.ModTime()), told(said)
	if tag != nil {
		if at, ok := tag(ctx, path); ok {
			k.Tagged = at.Local().Format(tagLayout)
		}
	}
	// As it will be read back, digits cut and all: the first look at a shelf and the
	// second say the same.
	if b, err := json.Marshal(k); err == nil {
		read := new(diagnose.Kept)
		if json.Unmarshal(b, read) == nil {
			k = read
		}
	}
	t.Kept = k
}
