package tess

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/surface"
)

// splitTwins divides sides inside a face that join the same two corners as a
// side of another face: a mesh edge must not belong to four triangles. The
// first face keeps its side.
func (w *work) splitTwins() {
	n := 0
	for i := range w.out {
		n += 3 * len(w.out[i].tris)
	}
	owners := counts.Get().(*count)
	defer counts.Put(owners)
	owners.reset(n)
	for i := range w.out {
		var inside map[side]bool
		for _, t := range w.out[i].tris {
			for k := range 3 {
				s := side{t[k], t[(k+1)%3]}
				if s.a < 0 || s.b < 0 {
					continue // a face's own point: nobody else has it
				}
				if o, fresh := owners.sides.Add(s.a, s.b); fresh {
					owners.add(o, int32(i))
				} else if owners.n[o] != int32(i) {
					if inside == nil {
						inside = map[side]bool{}
					}
					inside[s] = true
				}
			}
		}
		if len(inside) > 0 {
			w.splitIn(i, inside)
		}
	}
}

// splitIn divides the sides of face i that another face owns and that lie
// inside face i, where both of their triangles are.
func (w *work) splitIn(i int, inside map[side]bool) {
	r := &w.out[i]
	mid := map[side]int32{}
	for n := 0; n < len(r.tris); n++ { // halves go to the end and are looked at again
		t := r.tris[n]
		for k := range 3 {
			s := side{t[k], t[(k+1)%3]}
			back := side{s.b, s.a}
			if !inside[s] || !inside[back] {
				continue
			}
			m, ok := mid[back]
			if !ok {
				r.own = append(r.own, w.between(&w.body.Faces[i], s))
				m = int32(-len(r.own))
				mid[s] = m
			}
			c := t[(k+2)%3]
			r.tris[n] = [3]int32{s.a, m, c}
			r.tris = append(r.tris, [3]int32{m, s.b, c})
			n--
			break
		}
	}
}

// between is the surface's point nearest to the middle of a side.
func (w *work) between(f *brep.Face, s side) mgl64.Vec3 {
	p := w.net.pts[s.a].Add(w.net.pts[s.b]).Mul(0.5)
	q := p
	guarded(func() { q = f.Surface.Point(f.Surface.Param(p, surface.Hint{})) })
	if !geom.Finite(q) || q.Sub(p).Len() > w.tol.Chord {
		return p
	}
	return q
}
