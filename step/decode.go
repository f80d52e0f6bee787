package step

import (
	"sync"
	"sync/atomic"

	"stepscan/geom/brep"
)

// decoded is a body with what was left out of it.
type decoded struct {
	body   *brep.Body
	faults []fault
	used   int64 // of the budget
}

// decodeBodies decodes each body once, however many parts it serves.
func (r *reader) decodeBodies(jobs []bodyJob) error {
	slot := map[shapeKey]int{}
	var shapes []shape
	for _, j := range jobs {
		if _, ok := slot[j.shape.key()]; !ok {
			slot[j.shape.key()] = len(shapes)
			shapes = append(shapes, j.shape)
		}
	}
	out, err := r.decodeShapes(shapes)
	if err != nil {
		return err
	}
	for _, d := range out {
		r.budget.join(d.used)
		for _, f := range d.faults {
			r.note(f.id, f.entity, f.why)
		}
	}
	if err := r.spent(); err != nil {
		return err
	}
	for _, j := range jobs {
		if b := out[slot[j.shape.key()]].body; b != nil {
			p := &r.asm.Parts[j.part]
			p.Bodies = append(p.Bodies, b)
		}
	}
	return nil
}

// decodeShapes works on as many goroutines as allowed. out[i] belongs to
// shapes[i], so the result does not depend on who finished first.
func (r *reader) decodeShapes(shapes []shape) ([]decoded, error) {
	out := make([]decoded, len(shapes))
	var next atomic.Int64
	var wg sync.WaitGroup
	var failed atomic.Value
	for range min(r.opt.Jobs, len(shapes)) {
		wg.Go(func() {
			defer func() {
				if p := recover(); p != nil { // carried over to the goroutine that may return an error
					failed.CompareAndSwap(nil, panicked{p})
				}
			}()
			for {
				i := int(next.Add(1)) - 1
				if i >= len(shapes) || r.budget.hopeless() || r.ctx.Err() != nil {
					return
				}
				own := *r // one reader a body: nothing of it is written to but the budget
				own.budget = r.budget.share()
				b := newBodyReader(&own, shapes[i])
				body := b.read()
				out[i] = decoded{body, b.faults, own.budget.used}
			}
		})
	}
	wg.Wait()
	if p, ok := failed.Load().(panicked); ok {
		panic(p.value)
	}
	return out, r.spent()
}

type panicked struct{ value any }
