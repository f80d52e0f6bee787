package reach

import (
	"cmp"
	"slices"

	"stepscan/access/product"
)

// loadsAlong orders what can leave a cluster along a direction: each load in
// turn has nothing in its way but what left before it.
//
// Group A is blocked by group B where A, moved along the direction, meets B.
// Groups that block each other in a ring, like a cell that lies between a base
// and the board screwed to it, cannot leave one by one but can leave together:
// the loads are the strongly connected components of this graph (R. Wilson and
// J.-C. Latombe, Geometric reasoning about mechanical assembly, 1994), found by
// R. Tarjan's search (1972), which yields them in the order of leaving.
//
// A load that is nothing but fasteners which nobody has undone does not leave,
// and neither does what it blocks.
func loadsAlong(groups []group, b *blocking) [][]product.SolidIndex {
	n := len(groups)
	s := search{
		groups: groups, b: b, groupOf: filled(b.s.len(), -1),
		number: make([]int, n), low: make([]int, n), state: make([]place, n), held: make([]bool, n),
	}
	for i := range groups {
		for _, k := range groups[i].solids {
			s.groupOf[k] = i
		}
	}
	for i := range groups {
		if s.state[i] == unseen {
			s.visit(i)
		}
	}
	return s.loads
}

// place is where a group is in the search.
type place int8

const (
	unseen place = iota
	open         // on the stack: its component is not complete
	gone         // has left
	stuck        // never leaves in this direction
)

type search struct {
	groups      []group
	b           *blocking
	groupOf     []int // by solid, -1 for those of other clusters
	number, low []int
	state       []place
	held        []bool // meets something that is stuck
	stack       []int
	next        int
	loads       [][]product.SolidIndex
}

// frame is a group whose blockers are being looked through; an explicit stack
// keeps a long chain of parts from growing the goroutine's.
type frame struct {
	g     int
	pairs []pair // that may meet, by the other's group
}

// pair is a solid of a group and one of another group ahead of it.
type pair struct {
	other    int
	a, fixed product.SolidIndex
}

func (s *search) visit(root int) {
	frames := []frame{s.enter(root)}
	for len(frames) > 0 {
		f := &frames[len(frames)-1]
		if h, ok := s.blocker(f); ok {
			frames = append(frames, s.enter(h))
			continue
		}
		g := f.g
		if s.low[g] == s.number[g] {
			s.close(g)
		}
		frames = frames[:len(frames)-1]
		if n := len(frames); n > 0 {
			up := frames[n-1].g
			s.low[up] = min(s.low[up], s.low[g])
			s.held[up] = s.held[up] || s.state[g] == stuck
		}
	}
}

func (s *search) enter(g int) frame {
	s.number[g], s.low[g] = s.next, s.next
	s.next++
	s.state[g] = open
	s.stack = append(s.stack, g)
	f := frame{g: g}
	for _, a := range s.groups[g].solids {
		for _, k := range s.b.ahead(a) {
			if h := s.groupOf[k]; h >= 0 && h != g {
				f.pairs = append(f.pairs, pair{h, a, k})
			}
		}
	}
	slices.SortFunc(f.pairs, func(p, q pair) int {
		return cmp.Or(p.other-q.other, int(p.a-q.a), int(p.fixed-q.fixed))
	})
	return f
}

// blocker goes on to the next group in the way that has not been seen yet.
func (s *search) blocker(f *frame) (int, bool) {
	for len(f.pairs) > 0 {
		h := f.pairs[0].other
		met := s.state[h] != gone && s.meets(f.pairs)
		for len(f.pairs) > 0 && f.pairs[0].other == h {
			f.pairs = f.pairs[1:]
		}
		switch {
		case !met:
		case s.state[h] == unseen:
			return h, true
		case s.state[h] == open:
			s.low[f.g] = min(s.low[f.g], s.number[h])
		case s.state[h] == stuck:
			s.held[f.g] = true
		}
	}
	return 0, false
}

// meets tries the pairs of the first group of a list.
func (s *search) meets(pairs []pair) bool {
	for i := range pairs {
		if pairs[i].other != pairs[0].other {
			return false
		}
		if s.b.blocks(pairs[i].a, pairs[i].fixed) {
			return true
		}
	}
	return false
}

// close completes the component that begins with a group: it leaves unless it
// is held.
func (s *search) close(g int) {
	from := slices.Index(s.stack, g)
	members := s.stack[from:]
	free, tied := false, false
	var load []product.SolidIndex
	for _, m := range members {
		load = append(load, s.groups[m].solids...)
		free, tied = free || s.groups[m].free, tied || s.held[m]
	}
	end := gone
	if tied || !free {
		end = stuck
	} else {
		slices.Sort(load)
		s.loads = append(s.loads, load)
	}
	for _, m := range members {
		s.state[m] = end
	}
	s.stack = s.stack[:from]
}
