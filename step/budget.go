package step

import "sync/atomic"

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
	common *atomic.Int64
	used   int64
	drawn  int64
}

func newBudget(size int) *budget {
	return &budget{limit: workFactor*int64(size) + 1<<20, common: new(atomic.Int64)}
}

// share is a budget for another goroutine.
func (b *budget) share() *budget { return &budget{limit: b.limit, common: b.common} }

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
