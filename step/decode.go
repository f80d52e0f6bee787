package step

import (
	"fmt"
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
			r.list(f)
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
	for i := range r.asm.Parts {
		if p := &r.asm.Parts[i]; !r.opt.Structure {
			p.Lines = r.linesOf(p.Bodies)
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
				body, faults := own.readBody(shapes[i])
				out[i] = decoded{body, faults, own.budget.used}
			}
		})
	}
	wg.Wait()
	if p, ok := failed.Load().(panicked); ok {
		panic(p.value)
	}
	return out, r.spent()
}

// readBody decodes a body, or its tessellated copy where the body itself cannot
// be used.
func (r *reader) readBody(s shape) (*brep.Body, []fault) {
	b := newBodyReader(r, s)
	body := b.read()
	if body != nil || s.copy == nil {
		return body, b.faults
	}
	c := newBodyReader(r, *s.copy)
	if body = c.read(); body != nil {
		b.fault(s.copy.id, "", fmt.Sprintf("exact body %v cannot be used: its tessellated copy stands in", s.id))
	}
	return body, append(b.faults, c.faults...)
}

type panicked struct{ value any }
