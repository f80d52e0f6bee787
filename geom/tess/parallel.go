package tess

import (
	"sync"
	"sync/atomic"
)

// parallel calls do(0) to do(jobs-1) on up to n workers. Each call writes only
// to its own place, so that the result does not depend on who was first.
func parallel(n, jobs int, do func(i int)) {
	if n = min(n, jobs); n <= 1 {
		for i := range jobs {
			do(i)
		}
		return
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range n {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < jobs; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	wg.Wait()
}
