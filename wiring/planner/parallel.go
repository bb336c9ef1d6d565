package planner

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// parallel calls do for 0 to n-1 on all processors, and after each of them
// progress (if not nil), from one goroutine at a time. It goes on after an
// error and returns the first; when ctx ends it stops and returns its error.
func parallel(ctx context.Context, n int, do func(i int) error, progress func(done, total int)) error {
	var next atomic.Int64
	var mu sync.Mutex
	var first error
	var wg sync.WaitGroup
	done := 0
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= n || ctx.Err() != nil {
					return
				}
				err := do(i)
				mu.Lock()
				if err != nil && first == nil {
					first = err
				}
				if done++; progress != nil {
					progress(done, n)
				}
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	return first
}
