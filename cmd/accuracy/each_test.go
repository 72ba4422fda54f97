package main

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"testing"
)

// What came of each number stands in its place, of none there is nothing.
func TestEach(t *testing.T) {
	for _, n := range []int{0, 1, 100} {
		got, err := each(t.Context(), n, func(_ context.Context, i int) (string, error) { return fmt.Sprint(i), nil })
		if err != nil || len(got) != n {
			t.Fatalf("%d of %d, %v", len(got), n, err)
		}
		for i, s := range got {
			if s != fmt.Sprint(i) {
				t.Errorf("%d: %q", i, s)
			}
		}
	}
}

// The first error is the one that is given, and what is not begun then never is.
func TestEachEndsWithTheFirstError(t *testing.T) {
	const n = 100_000
	wrong := errors.New("wrong")
	var begun atomic.Int64
	_, err := each(t.Context(), n, func(ctx context.Context, i int) (int, error) {
		begun.Add(1)
		if i == 3 {
			return 0, wrong
		}
		if i > 3 {
			<-ctx.Done() // the others are told of it
			return 0, ctx.Err()
		}
		return i, nil
	})
	if !errors.Is(err, wrong) {
		t.Errorf("%v, want %v", err, wrong)
	}
	if begun.Load() == n {
		t.Error("all were begun all the same")
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := each(ctx, 10, func(context.Context, int) (int, error) { return 0, nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("%v of a context that was cancelled", err)
	}
}
