package step

import (
	"fmt"
	"sync/atomic"
)

// workFactor is how often the text may be decoded over. Real files come to
// once (measured: 0.4 to 1.0); a hostile one refers to the same heavy record
// from everywhere.
const workFactor = 10

// drawStep is how many bytes of work a budget draws from the common one at a
// time, so that decoders side by side seldom meet there.
const drawStep = 1 << 12

// budget counts the bytes of records decoded by one goroutine. Whether a file
// is over the limit is decided by the sum of all, which does not depend on who
// ran when; the common count only stops a hopeless run early, at twice the
// limit.
type budget struct {
	limit  int64
	memory int64 // what the limit follows from, 0 where it is the text
	common *atomic.Int64
	used   int64
	drawn  int64
}

// newBudget is for a text of so many bytes, with a limit on memory unless 0.
func newBudget(size int, memory int64) *budget {
	b := &budget{limit: workFactor*int64(size) + 1<<20, common: new(atomic.Int64)}
	if memory > 0 && memory/bodyFactor < b.limit {
		b.limit, b.memory = memory/bodyFactor, memory
	}
	return b
}

// share is a budget for another goroutine.
func (b *budget) share() *budget {
	return &budget{limit: b.limit, memory: b.memory, common: b.common}
}

// join adds what a shared one used.
func (b *budget) join(used int64) { b.used += used }

// take is false when there is no point in going on.
func (b *budget) take(n int) bool {
	b.used += int64(n)
	if b.used > b.drawn {
		d := max(int64(n), drawStep)
		b.drawn += d
		b.common.Add(d)
		return !b.hopeless()
	}
	return true
}

func (b *budget) hopeless() bool { return b.common.Load() > 2*b.limit }

// over reports that the work so far was too much.
func (b *budget) over() bool { return b.used > b.limit || b.hopeless() }

// error says which limit was met.
func (b *budget) error() error {
	if b.memory == 0 {
		return errBudget
	}
	return &LimitError{What: fmt.Sprintf("what the records say takes more memory than the limit of %d bytes", b.memory), Memory: true}
}
