package tess

import (
	"slices"

	"stepscan/geom/brep"
)

// inOrder lists a loop's coedges so that each begins where the one before ends.
// Some writers list them out of order or with a flag turned; where going from
// vertex to vertex uses up all of them, that is what is meant. Otherwise the
// loop comes back as it is, which note says.
func (w *work) inOrder(l brep.Loop) (c []brep.Coedge, note string) {
	if w.follows(l.Coedges) {
		return l.Coedges, ""
	}
	if c = w.walkLoop(l.Coedges); c == nil || !w.follows(c) {
		return l.Coedges, "loop whose edges do not follow each other"
	}
	return c, "loop whose edges do not follow each other; put in order"
}

// from and to are where a coedge begins and ends.
func (w *work) from(c brep.Coedge) int32 {
	e := &w.body.Edges[c.Edge]
	if c.Reversed {
		return w.net.same[e.End]
	}
	return w.net.same[e.Start]
}

func (w *work) to(c brep.Coedge) int32 {
	c.Reversed = !c.Reversed
	return w.from(c)
}

func (w *work) follows(c []brep.Coedge) bool {
	for i := range c {
		if w.to(c[i]) != w.from(c[(i+1)%len(c)]) {
			return false
		}
	}
	return true
}

// walkLoop goes on from each coedge to the next in the list where that fits, else
// to any that begins there, else to one that ends there, which is turned. The
// result runs as most coedges of the file do.
func (w *work) walkLoop(list []brep.Coedge) []brep.Coedge {
	at := map[int32][]int{} // coedges by their ends
	for i, c := range list {
		at[w.from(c)] = append(at[w.from(c)], i)
		if w.to(c) != w.from(c) {
			at[w.to(c)] = append(at[w.to(c)], i)
		}
	}
	used := make([]bool, len(list))
	out := make([]brep.Coedge, 0, len(list))
	turned := 0
	for k := 0; ; {
		used[k] = true
		c := list[k]
		if len(out) > 0 && w.from(c) != w.to(out[len(out)-1]) {
			c.Reversed = !c.Reversed
			turned++
		}
		if out = append(out, c); len(out) == len(list) {
			break
		}
		if k = w.next(list, used, at, k, w.to(c)); k < 0 {
			return nil
		}
	}
	if 2*turned > len(out) {
		slices.Reverse(out)
		for i := range out {
			out[i].Reversed = !out[i].Reversed
		}
	}
	return out
}

// next is the coedge to go on with at vertex v after coedge k, -1 for none.
func (w *work) next(list []brep.Coedge, used []bool, at map[int32][]int, k int, v int32) int {
	n := (k + 1) % len(list)
	if !used[n] && (w.from(list[n]) == v || w.to(list[n]) == v) {
		return n
	}
	best := -1
	open := at[v][:0]
	for _, i := range at[v] { // used ones are struck off, so that this stays cheap
		if used[i] {
			continue
		}
		open = append(open, i)
		if best < 0 || w.from(list[i]) == v && w.from(list[best]) != v {
			best = i
		}
	}
	at[v] = open
	return best
}
