package bvh

import (
	"math"
	"slices"
	"sync"
)

// shell is what can be said of a mesh as a surface, worked out once.
type shell struct {
	once   sync.Once
	closed bool
	sense  float64 // 1 where the triangles turn anticlockwise seen from outside, else -1
	// corners are, a piece each, the places in leaf order of a few triangles that
	// are spread over it.
	corners [][]int32
}

// Closed reports that every edge of the mesh is used as often one way as the
// other (by vertex numbers, corners in one place counting as one). It is worked
// out at the first call.
func (t *Tree) Closed() bool {
	return !t.none() && t.surface().closed
}

func (t *Tree) surface() *shell {
	t.shell.once.Do(func() {
		same := welded(t.mesh)
		t.shell.closed = t.everyEdgePaired(same)
		t.shell.corners = t.cornersOfPieces(same)
		t.shell.sense = 1
		if t.volume() < 0 {
			t.shell.sense = -1
		}
	})
	return t.shell
}

// volume of the mesh, mm³, by the divergence theorem about a point of it. It is
// the mesh's own, not the moved triangles': a shrunk thin wall turns inside out,
// and its faces must go on looking the way that those of the mesh do.
func (t *Tree) volume() float64 {
	v := t.mesh.Vertices
	o := v[t.mesh.Triangles[t.ids[0]][0]]
	sum := 0.0
	for _, id := range t.ids {
		c := &t.mesh.Triangles[id]
		p, q, r := &v[c[0]], &v[c[1]], &v[c[2]]
		ax, ay, az := p[0]-o[0], p[1]-o[1], p[2]-o[2]
		bx, by, bz := q[0]-o[0], q[1]-o[1], q[2]-o[2]
		cx, cy, cz := r[0]-o[0], r[1]-o[1], r[2]-o[2]
		sum += ax*(by*cz-bz*cy) + ay*(bz*cx-bx*cz) + az*(bx*cy-by*cx)
	}
	return sum / 6
}

func (t *Tree) everyEdgePaired(same []int32) bool {
	uses := make([]uint64, 0, 3*len(t.ids)) // lower vertex, higher vertex, sense
	for _, id := range t.ids {
		tri := &t.mesh.Triangles[id]
		for k := range 3 {
			a, b := uint64(same[tri[k]]), uint64(same[tri[(k+1)%3]])
			switch { // vertex numbers have 31 bits
			case a < b:
				uses = append(uses, a<<33|b<<1)
			case a > b:
				uses = append(uses, b<<33|a<<1|1)
			}
		}
	}
	slices.Sort(uses)
	for i := 0; i < len(uses); {
		sum, edge := 0, uses[i]>>1
		for ; i < len(uses) && uses[i]>>1 == edge; i++ {
			sum += 1 - 2*int(uses[i]&1)
		}
		if sum != 0 {
			return false
		}
	}
	return true
}

// cornerTries is at how many triangles, spread over a piece, it is looked for a
// place that does not touch the other mesh's surface.
const cornerTries = 8

// cornersOfPieces takes the mesh apart into what hangs together by corners. It
// goes by the numbers of the mesh, so that the shape of the tree does not matter.
func (t *Tree) cornersOfPieces(same []int32) [][]int32 {
	of, place := t.pieces(same)
	var sizes []int32
	for _, p := range of {
		if p >= 0 {
			sizes = append(sizes, make([]int32, max(0, int(p)+1-len(sizes)))...)
			sizes[p]++
		}
	}
	corners, seen := make([][]int32, len(sizes)), make([]int32, len(sizes))
	for id, p := range of {
		if p < 0 {
			continue
		}
		tries := min(sizes[p], cornerTries)
		if next := int64(len(corners[p])); next < int64(tries) && int64(seen[p]) == next*int64(sizes[p])/int64(tries) {
			corners[p] = append(corners[p], place[id])
		}
		seen[p]++
	}
	return corners
}

// pieces numbers the pieces in the order of the mesh's triangles: of gives that
// of each triangle, -1 for one left out, and place where it stands in leaf order.
func (t *Tree) pieces(same []int32) (of, place []int32) {
	of, place = make([]int32, len(t.mesh.Triangles)), make([]int32, len(t.mesh.Triangles))
	for id := range of {
		of[id] = -1
	}
	joined := slices.Clone(same) // leads from each vertex to the first of its piece
	first := func(v int32) int32 {
		for joined[v] != v {
			joined[v] = joined[joined[v]]
			v = joined[v]
		}
		return v
	}
	for k, id := range t.ids {
		c := &t.mesh.Triangles[id]
		of[id], place[id] = 0, int32(k)
		a, b, d := first(c[0]), first(c[1]), first(c[2])
		least := min(a, b, d)
		joined[a], joined[b], joined[d] = least, least, least
	}
	number, n := make([]int32, len(same)), int32(0) // 0 for none yet
	for id, c := range t.mesh.Triangles {
		if of[id] < 0 {
			continue
		}
		v := first(c[0])
		if number[v] == 0 {
			n++
			number[v] = n
		}
		of[id] = number[v] - 1
	}
	return of, place
}

// lean is a box about the unit normals of a node's triangles: which ways the
// node looks.
type lean struct{ lo, hi [3]float32 }

// leanPad covers the rounding to float32.
const leanPad = 1e-6

// leans makes the boxes of all nodes at the first call.
func (t *Tree) leans() []lean {
	t.leanOnce.Do(func() {
		t.lean = make([]lean, len(t.nodes))
		for i := len(t.nodes) - 1; i >= 0; i-- { // children first
			n := &t.nodes[i]
			if n.count == 0 {
				t.lean[i] = t.lean[n.first]
				t.lean[i].grow(&t.lean[n.first+1])
				continue
			}
			inf := float32(math.Inf(1))
			l := lean{[3]float32{inf, inf, inf}, [3]float32{-inf, -inf, -inf}}
			for k := n.first; k < n.first+n.count; k++ {
				m := unitNormal(t.at(k))
				x := [3]float32{float32(m[0]), float32(m[1]), float32(m[2])}
				l.grow(&lean{x, x})
			}
			t.lean[i] = l
		}
	})
	return t.lean
}

func (l *lean) grow(m *lean) {
	for i := range 3 {
		l.lo[i], l.hi[i] = min(l.lo[i], m.lo[i]), max(l.hi[i], m.hi[i])
	}
}

// least is a lower bound of n·d over the normals.
func (l *lean) least(dx, dy, dz float64) float64 {
	s := -leanPad * (math.Abs(dx) + math.Abs(dy) + math.Abs(dz))
	for i, d := range [3]float64{dx, dy, dz} {
		s += min(d*float64(l.lo[i]), d*float64(l.hi[i]))
	}
	return s
}
