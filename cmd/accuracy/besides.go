package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"

	"loosedog/audio/synth"
	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/onset"
)

// besidesPrefix begins the names of takes in which more is heard than typing.
const besidesPrefix = "besides typing: "

// besidesSeeds are this far from the first seed of their range: no condition and
// no spoiled take reaches there.
const besidesSeeds = 60000

// besides lists 2n takes of every condition in which a hand does more than type, and
// the same takes with those sounds left out; then, where there is a voice, n takes
// with speech of each kind.
func besides(first uint64, n int, v *voice) []job {
	var jobs []job
	for i, c := range mechanism.Besides() {
		for _, silent := range []bool{false, true} {
			name := besidesPrefix + c.Name
			if silent {
				name += unheard
			}
			for s := range uint64(min(2*n, seedStep)) {
				seed := first + besidesSeeds + uint64(i)*seedStep + s
				jobs = append(jobs, job{name: name, take: func(_ context.Context, folder string) (string, *truth, error) {
					return besidesTake(c.Make(seed), silent, folder)
				}})
			}
		}
	}
	if v != nil {
		jobs = append(jobs, spoken(first, n, v)...)
	}
	return jobs
}

// unheard ends the names of takes whose sounds besides typing are left out.
const unheard = ", left out"

func besidesTake(s *mechanism.Scenario, silent bool, folder string) (string, *truth, error) {
	p, err := s.Perform()
	if err != nil {
		return "", nil, err
	}
	if silent {
		p.Operations = nil
	}
	rec := s.Recording
	rec.Duration = p.Duration
	samples, err := synth.Render(p.Sounds(), s.Palette, rec, s.Seed)
	if err != nil {
		return "", nil, err
	}
	path := filepath.Join(folder, "take.wav")
	return path, p.Truth(), writeWAV(path, int(rec.Rate), max(rec.Channels, 1), samples)
}

// noiseScore counts noises of one kind, and the events that were made of them.
type noiseScore struct {
	noises int
	taken  map[string]int // by kind of event
}

// partWindow is how near a sound in seconds an event must be to be made of it, and
// lastsAfter how long after a noise that lasts it may come.
const (
	partWindow = 0.006
	lastsAfter = 0.03
)

// takenFor counts the events found that no true event matches and that lie at a sound
// of a noise, nearer to it than to any true event.
func takenFor(t *truth, sounds *onset.Take, take *diagnose.Take, rough bool) map[string]*noiseScore {
	out := map[string]*noiseScore{}
	ref, est := trueTimes(t), foundTimes(sounds, take)
	var all []float64
	for _, v := range ref {
		all = append(all, v...)
	}
	slices.Sort(all)
	for _, n := range t.Noises {
		if out[n.Kind] == nil {
			out[n.Kind] = &noiseScore{taken: map[string]int{}}
		}
		out[n.Kind].noises++
	}
	for kind, found := range est {
		truly := slices.Sorted(slices.Values(ref[kind]))
		found = slices.Sorted(slices.Values(found))
		matched := map[int]bool{}
		for _, p := range match(truly, found, window(kind, rough)) {
			matched[p.est] = true
		}
		for i, at := range found {
			if matched[i] {
				continue
			}
			if n := noiseAt(t.Noises, at, nearest(all, at)); n != nil {
				out[n.Kind].taken[kind]++
			}
		}
	}
	return out
}

// nearest is how far t is from the nearest of sorted v in seconds.
func nearest(v []float64, t float64) float64 {
	i, _ := slices.BinarySearch(v, t)
	d := math.Inf(1)
	if i < len(v) {
		d = v[i] - t
	}
	if i > 0 {
		d = min(d, t-v[i-1])
	}
	return d
}

// noiseAt is the noise with a sound at t, if that is nearer than other seconds.
func noiseAt(noises []mechanism.TruthNoise, t, other float64) *mechanism.TruthNoise {
	for i := range noises {
		n := &noises[i]
		if l := n.Lasts; l != nil && t > l[0]-partWindow && t < l[1]+lastsAfter && other > window("strike", true) {
			return n
		}
		for _, at := range n.At {
			if d := math.Abs(t - at); d <= partWindow && d < other {
				return n
			}
		}
	}
	return nil
}

// writeBesides prints what is taken for strokes and for the carriage's sounds, of
// every hundred noises, and how the typing is measured beside them.
func writeBesides(w io.Writer, blocks []block) error {
	t := table{left: 2}
	t.row("take", "noise", "noises", "letters", "spaces", "trips", "releases", "landings")
	for _, b := range blocks {
		if b.pooled() {
			continue
		}
		var names []string
		for k := range b.score.noises {
			names = append(names, k)
		}
		slices.SortFunc(names, cmp.Compare)
		for _, k := range names {
			n := b.score.noises[k]
			row := []string{b.name, k, fmt.Sprint(n.noises)}
			for _, e := range []string{"strike", "space bar", "trip", "release", "landing"} {
				row = append(row, num(100*float64(n.taken[e])/float64(n.noises), 1, 1))
			}
			t.row(row...)
		}
	}
	if err := t.write(w); err != nil {
		return err
	}
	fmt.Fprintln(w)
	t = table{left: 1}
	t.row("take", "strikes F", "precision", "spaces F", "precision", "releases F", "landings F", "lines", "found", "unusable", "problems")
	for _, b := range blocks {
		if b.pooled() {
			continue
		}
		s := b.score
		_, strikes, _ := s.events["strike"].fMeasure()
		_, spaces, _ := s.events["space bar"].fMeasure()
		t.row(b.name, num(fOf("strike")(s), 1, 3), num(strikes, 1, 3), num(fOf("space bar")(s), 1, 3), num(spaces, 1, 3), num(fOf("release")(s), 1, 3), num(fOf("landing")(s), 1, 3),
			fmt.Sprint(s.linesTrue), fmt.Sprint(s.linesFound), fmt.Sprintf("%d of %d", s.unusable, s.takes), codes(s))
	}
	return t.write(w)
}
