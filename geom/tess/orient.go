package tess

import (
	"fmt"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
)

// reorient turns over faces that face the other way than their neighbours: a
// shared edge must be used in opposite senses. It reports whether any face was
// turned.
func (w *work) reorient() bool {
	turn, _ := toTurn(w.neighbours())
	for _, f := range turn {
		w.turnOver(f)
	}
	return len(turn) > 0
}

// toTurn lists the pieces to turn over so that neighbours agree: in each
// connected part the minority. Parts in which that cannot be had (a Möbius
// strip, an edge of three faces) are left alone and counted.
func toTurn(next [][]link) (turn []int, unsound int) {
	colour := make([]int8, len(next)) // 1 stays, -1 turns, 0 not seen
	for i := range next {
		if colour[i] != 0 {
			continue
		}
		part, sound := spread(next, colour, i)
		n := 0
		for _, f := range part {
			if colour[f] < 0 {
				n++
			}
		}
		which := int8(-1)
		if 2*n > len(part) {
			which, n = 1, len(part)-n
		}
		if !sound {
			unsound++
			continue
		}
		for _, f := range part {
			if n > 0 && colour[f] == which {
				turn = append(turn, f)
			}
		}
	}
	return turn, unsound
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

// turnShells turns over single shells of a closed solid: the outside must have
// a positive volume, a void a negative one. Where all are wrong, and where
// shells share edges, it leaves them to outside. It says what it did.
func (w *work) turnShells() []string {
	shells := w.body.Shells
	if !w.body.Solid || len(shells) < 2 || w.sharesEdges() {
		return nil
	}
	var wrong []int
	v := make([]float64, len(shells))
	for i, sh := range shells {
		if v[i] = w.volume(sh.Faces); v[i] > 0 == sh.Void {
			wrong = append(wrong, i)
		}
	}
	if len(wrong) == len(shells) {
		return nil
	}
	var why []string
	for _, i := range wrong {
		what := "shell"
		if shells[i].Void {
			what = "void"
		}
		why = append(why, fmt.Sprintf("%s #%d was inside out (%.6g mm³); turned over", what, shells[i].Tag, v[i]))
		for _, f := range shells[i].Faces {
			flip(w.out[f].tris)
			w.out[f].turned = !w.out[f].turned
		}
	}
	return why
}

// sharesEdges reports an edge that faces of two shells use, or a face of two.
func (w *work) sharesEdges() bool {
	owner := make([]int, len(w.body.Edges))
	seen := make([]bool, len(w.body.Faces))
	for i, sh := range w.body.Shells {
		for _, f := range sh.Faces {
			if seen[f] {
				return true
			}
			seen[f] = true
			for _, l := range w.body.Faces[f].Loops {
				for _, c := range l.Coedges {
					if !w.body.HasEdge(c.Edge) {
						continue
					}
					if o := &owner[c.Edge]; *o == 0 {
						*o = i + 1
					} else if *o != i+1 {
						return true
					}
				}
			}
		}
	}
	return false
}

// volume is the signed volume that a closed set of faces surrounds, mm³.
func (w *work) volume(faces []brep.FaceIndex) float64 {
	sum := 0.0
	var o mgl64.Vec3
	started := false
	for _, f := range faces {
		r := &w.out[f]
		at := func(i int32) mgl64.Vec3 {
			if i < 0 {
				return r.own[-1-i]
			}
			return w.net.pts[i]
		}
		for _, t := range r.tris {
			if !started { // from a place nearby, so that far from the origin no digits are lost
				o, started = at(t[0]), true
			}
			a, b, c := at(t[0]).Sub(o), at(t[1]).Sub(o), at(t[2]).Sub(o)
			sum += a.Dot(b.Cross(c)) / 6
		}
	}
	return sum
}

// link says that a piece shares an edge with another, in the same sense or,
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
