package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
)

// pageCountName is what -only asks for to get this table alone.
const pageCountName = "page count"

// seenBy is by how much of a space a letter must stand too close to be counted on
// the paper, as diagnose has it.
const seenBy = 0.2

// counted is one take whose owner counts without a slip.
type counted struct {
	pairs, onPaper int
	count          *diagnose.PageCount
	// hits are letters that stand wrong and were heard to.
	hits int
}

// onPaper tells whether a letter would be seen to stand wrong.
func onPaper(k mechanism.Stroke) bool {
	return !k.Space && (k.Label == mechanism.Piled || k.Label == mechanism.Crowded && k.ShortBy >= seenBy)
}

func countOnPaper(ctx context.Context, c mechanism.Condition, seed uint64, folder string) (counted, error) {
	path := filepath.Join(folder, fmt.Sprintf("count-%d.wav", seed))
	p, err := recordTo(path, c.Make(seed))
	if err != nil {
		return counted{}, err
	}
	defer os.Remove(path)
	var truth, found []float64
	for _, k := range p.Strokes {
		if onPaper(k) {
			truth = append(truth, k.Strike)
		}
	}
	n := len(truth)
	opt := told(p.Truth())
	opt.PageCount = &n
	_, take, err := listen(ctx, path, opt)
	if err != nil {
		return counted{}, err
	}
	pairs := diagnose.Pairs(take)
	for _, q := range pairs {
		b := take.Strokes[q.Second]
		if q.Flagged() && b.Kind == diagnose.KindType && !(q.ShortBy < seenBy) && b.StrikeS.Known() {
			found = append(found, float64(b.StrikeS))
		}
	}
	return counted{pairs: len(pairs), onPaper: n, count: take.PageCount, hits: len(match(truth, found, 0.010))}, nil
}

// writePageCount prints, for one take of each clean condition, what stands wrong
// on the paper, what was heard, and whether the two are said to agree.
func writePageCount(ctx context.Context, out io.Writer, first uint64) error {
	folder, err := os.MkdirTemp("", "count-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	t := table{left: 1}
	t.row("take", "pairs", "on the paper", "heard", "of them right", "agree from", "to", "agree")
	all := mechanism.Conditions()
	rows, err := each(ctx, len(all), func(ctx context.Context, i int) (counted, error) {
		c := all[i]
		if !c.Clean {
			return counted{}, nil
		}
		r, err := countOnPaper(ctx, c, first+uint64(i)*seedStep+5, folder)
		if err != nil {
			return r, fmt.Errorf("%s: %w", c.Name, err)
		}
		return r, nil
	})
	if err != nil {
		return err
	}
	takes, agree := 0, 0
	for i, c := range all {
		r := rows[i]
		if r.count == nil || r.count.Agree == nil {
			continue // not clean, or not measured
		}
		takes++
		word := "no"
		if *r.count.Agree {
			agree++
			word = "yes"
		}
		t.row(c.Name, fmt.Sprint(r.pairs), fmt.Sprint(r.onPaper), fmt.Sprint(r.count.Heard), fmt.Sprint(r.hits), fmt.Sprint(*r.count.Low), fmt.Sprint(*r.count.High), word)
	}
	t.row("all", "", "", "", "", "", "", fmt.Sprintf("%d of %d", agree, takes))
	return t.write(out)
}
