package tess

// reorient turns over faces that face the other way than their neighbours: a
// shared edge must be used in opposite senses. In each connected part the
// minority turns. Parts in which that cannot be had (a Möbius strip, an edge
// of three faces) are left alone. It reports whether any face was turned.
func (w *work) reorient() bool {
	next := w.neighbours()
	colour := make([]int8, len(w.out)) // 1 stays, -1 turns, 0 not seen
	changed := false
	for i := range w.out {
		if colour[i] != 0 {
			continue
		}
		part, sound := spread(next, colour, i)
		turn := 0
		for _, f := range part {
			if colour[f] < 0 {
				turn++
			}
		}
		which := int8(-1)
		if 2*turn > len(part) {
			which, turn = 1, len(part)-turn
		}
		if !sound || turn == 0 {
			continue
		}
		for _, f := range part {
			if colour[f] == which {
				w.turnOver(f)
				changed = true
			}
		}
	}
	return changed
}

func (w *work) turnOver(f int) {
	r := &w.out[f]
	flip(r.tris)
	r.turned = !r.turned
	if r.why != "" {
		r.why += "; "
	}
	r.why += "face looked the other way than its neighbours; turned over"
}

// link says that a face shares an edge with another, in the same sense or,
// rightly, in opposite ones.
type link struct {
	face int
	same bool
}

// spread colours all faces connected with the first; sound is false where the
// colours contradict each other.
func spread(next [][]link, colour []int8, first int) (part []int, sound bool) {
	colour[first] = 1
	part, sound = []int{first}, true
	for k := 0; k < len(part); k++ {
		f := part[k]
		for _, l := range next[f] {
			want := colour[f]
			if l.same {
				want = -want
			}
			switch colour[l.face] {
			case 0:
				colour[l.face] = want
				part = append(part, l.face)
			case want:
			default:
				sound = false
			}
		}
	}
	return part, sound
}

// neighbours links faces across edges that exactly two of them use, looking at
// the first piece of each edge.
func (w *work) neighbours() [][]link {
	edgeOf := map[side]int{}
	for i, c := range w.net.chain {
		if len(c) >= 2 {
			edgeOf[side{c[0], c[1]}] = i
		}
	}
	type use struct {
		face    int
		forward bool
	}
	uses := make([][]use, len(w.net.chain))
	for i := range w.out {
		for _, t := range w.out[i].tris {
			for k := range 3 {
				s := side{t[k], t[(k+1)%3]}
				if e, ok := edgeOf[s]; ok {
					uses[e] = append(uses[e], use{i, true})
				} else if e, ok := edgeOf[side{s.b, s.a}]; ok {
					uses[e] = append(uses[e], use{i, false})
				}
			}
		}
	}
	next := make([][]link, len(w.out))
	for _, u := range uses {
		if len(u) == 2 && u[0].face != u[1].face {
			same := u[0].forward == u[1].forward
			next[u[0].face] = append(next[u[0].face], link{u[1].face, same})
			next[u[1].face] = append(next[u[1].face], link{u[0].face, same})
		}
	}
	return next
}
