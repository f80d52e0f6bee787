// Package workers runs independent pieces of work side by side. It owns the
// one loop for that, so that order, the context's end and panics are treated
// alike everywhere; it knows nothing of the work.
package workers

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
)

// Panic is what a piece of work panicked with, and where.
type Panic struct {
	Value any
	Stack []byte // of the goroutine that panicked
}

func (p *Panic) Error() string { return fmt.Sprint(p.Value) }

// Run calls do(0) to do(n-1), each once, on up to w goroutines (0: one a core),
// and returns when all calls have. do(i) writes only what belongs to i: the
// result does not depend on who was first. When ctx ends no further call
// starts; the caller asks ctx.
//
// A panic in do comes out of Run as a panic with a *Panic: a goroutine that
// panicked by itself would end the program past every recover.
func Run(ctx context.Context, n, w int, do func(i int)) {
	if w <= 0 {
		w = runtime.GOMAXPROCS(0)
	}
	var next atomic.Int64
	var fault atomic.Pointer[Panic]
	var wg sync.WaitGroup
	for range min(w, n) {
		wg.Go(func() {
			defer func() {
				if p := recover(); p != nil {
					fault.CompareAndSwap(nil, asPanic(p))
				}
			}()
			for ctx.Err() == nil && fault.Load() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				do(i)
			}
		})
	}
	wg.Wait()
	if p := fault.Load(); p != nil {
		panic(p)
	}
}

// asPanic keeps the innermost stack when runs are nested.
func asPanic(v any) *Panic {
	if p, ok := v.(*Panic); ok {
		return p
	}
	return &Panic{Value: v, Stack: debug.Stack()}
}
