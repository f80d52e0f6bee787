package workers_test

import (
	"context"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"

	"stepscan/geom/workers"
)

func TestRunCallsEachOnce(t *testing.T) {
	for _, w := range []int{0, 1, 3, 100} {
		for _, n := range []int{0, 1, 2, 57} {
			calls := make([]int, n)
			workers.Run(t.Context(), n, w, func(i int) { calls[i]++ })
			for i, c := range calls {
				if c != 1 {
					t.Errorf("%d workers, %d pieces: piece %d ran %d times", w, n, i, c)
				}
			}
		}
	}
}

func TestRunStopsWithContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	var calls atomic.Int64
	workers.Run(ctx, 1000, 2, func(i int) {
		calls.Add(1)
		cancel()
	})
	if n := calls.Load(); n > 2 {
		t.Errorf("%d calls after the context's end, want no more than one a worker", n)
	}
}

// A panic on a worker must reach the caller, where it can be recovered, with
// the place it came from; nested runs keep the innermost.
func TestRunCarriesPanics(t *testing.T) {
	defer func() {
		p, ok := recover().(*workers.Panic)
		if !ok {
			t.Fatal("no *workers.Panic came out")
		}
		if p.Error() != "broken promise" || !strings.Contains(string(p.Stack), "breakPromise") {
			t.Errorf("got %q from\n%s", p, p.Stack)
		}
	}()
	workers.Run(t.Context(), 8, 2, func(i int) {
		workers.Run(t.Context(), 8, 2, func(j int) {
			if j == 5 {
				breakPromise()
			}
		})
	})
}

//go:noinline
func breakPromise() { panic("broken promise") }

func ExampleRun() {
	squares := make([]int, 4)
	workers.Run(context.Background(), len(squares), 2, func(i int) { squares[i] = i * i })
	fmt.Println(squares)
	// Output: [0 1 4 9]
}
