package main

import (
	"context"
	"runtime"
	"sync"
)

// each does one for every number from 0 to n-1, as many at once as there are
// processors, and gives what came of them in order. The first error ends the work.
func each[T any](ctx context.Context, n int, one func(ctx context.Context, i int) (T, error)) ([]T, error) {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	out := make([]T, n)
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for i := range next {
				var err error
				if out[i], err = one(ctx, i); err != nil {
					cancel(err)
				}
			}
		})
	}
	for i := 0; i < n && ctx.Err() == nil; i++ {
		select {
		case next <- i:
		case <-ctx.Done():
		}
	}
	close(next)
	wg.Wait()
	return out, context.Cause(ctx)
}
