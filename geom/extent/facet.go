package extent

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/surface"
)

// nearby remembers where the search on a face ended: neighbouring facets start
// from there.
type nearby struct {
	face int32 // number + 1; 0 for none yet
	at   surface.Hint
}

// onSurface is the greatest height along d of the surface above a triangle, if
// its highest place is above that one and not higher than most.
func (x *Extent) onSurface(tri int, d mgl64.Vec3, most float64, near *nearby) (z float64, ok bool) {
	s := x.surfaceOf(tri)
	t := &x.mesh.Triangles[tri]
	a, b, c := x.mesh.Vertices[t[0]], x.mesh.Vertices[t[1]], x.mesh.Vertices[t[2]]
	n := b.Sub(a).Cross(c.Sub(a))
	if !(math.Abs(n.Dot(d)) > steep*n.Len()) {
		return 0, false
	}
	var p mgl64.Vec3
	if ball, ok := s.(surface.Sphere); ok {
		p = ball.Frame().O.Add(d.Mul(ball.Radius()))
	} else {
		from, ok := x.footOf(s, x.mesh.FaceOf[tri]+1, a.Add(b).Add(c).Mul(1./3), near)
		if !ok {
			return 0, false
		}
		step := max(b.Sub(a).Len(), c.Sub(b).Len(), a.Sub(c).Len())
		if p, near.at, ok = climb(s, from, d, step); !ok {
			return 0, false
		}
	}
	z = p.Dot(d)
	if !(z <= most) || !(math.Abs(p.Sub(a).Dot(n)) <= x.reach*n.Len()) {
		return 0, false // another part of the surface
	}
	if n.Dot(d) < 0 { // the facets of a surface model may look either way
		d = d.Mul(-1)
	}
	return z, x.above(t, p, d)
}

// steep is the cosine from which a facet counts as standing on edge. The surface
// is level at a summit, and a facet above which there is one turns from it by
// much less.
const steep = 0.1

// footOf is where a place of a facet lies on its surface. It is not ok where the
// surface is not there.
func (x *Extent) footOf(s surface.Surface, face int32, p mgl64.Vec3, near *nearby) (surface.Hint, bool) {
	if near.face == face {
		u, v := surface.Foot(s, p, near.at)
		if s.Point(u, v).Sub(p).Len() <= x.reach {
			return surface.Near(u, v), true
		}
	}
	u, v := s.Param(p, surface.Hint{})
	near.face = face
	near.at = surface.Near(u, v)
	return near.at, s.Point(u, v).Sub(p).Len() <= x.reach
}

// beside is how far beside a border a summit may be, as a share of reach. Summits
// are found to some 1e-9 mm, and the surface is level there: at a distance of w
// it is lower by w²/2r only.
const beside = 1e-5

// above reports whether p lies above the triangle, seen along d, which is on the
// triangle's outer side: there the facets of a face cover it once. At a curved edge it is the curve, not the side
// of the triangle, that bounds the face.
func (x *Extent) above(t *[3]int32, p, d mgl64.Vec3) bool {
	for k := range 3 {
		i, j := t[k], t[(k+1)%3]
		a, b := x.mesh.Vertices[i], x.mesh.Vertices[j]
		side := b.Sub(a)
		l := side.Len()
		// How far inside p is, times the length; a place on the side of two
		// triangles belongs to both.
		in := side.Cross(p.Sub(a)).Dot(d)
		if in > x.reach*l {
			continue
		}
		if in < -x.reach*l {
			return false
		}
		c := x.bound(i, j)
		if c == nil && in < -beside*l*x.reach || c != nil && !x.within(c, i == c.a, p, d) {
			return false
		}
	}
	return true
}

// bound is the chord at which the face ends on a triangle's side, nil for a side
// inside the face and for a straight edge.
func (x *Extent) bound(i, j int32) *chord {
	if x.owner == nil {
		x.border.Reset(len(x.chords))
		x.owner = make([]int32, 0, len(x.chords))
		for k := range x.chords {
			c := &x.chords[k]
			if f := x.mesh.Edges[c.edge].Faces; f[0] == f[1] && f[0] >= 0 {
				continue // a seam: the face goes on
			}
			if _, fresh := x.border.AddEdge(c.a, c.b); fresh {
				x.owner = append(x.owner, int32(k))
			}
		}
	}
	n, ok := x.border.Find(min(i, j), max(i, j))
	if !ok {
		return nil
	}
	return &x.chords[x.owner[n]]
}

// within reports whether p is on the left of the chord's curve, seen against d;
// along says that the triangle's side runs from the chord's a to its b.
func (x *Extent) within(c *chord, along bool, p, d mgl64.Vec3) bool {
	if c.state == unknown {
		x.place(c)
	}
	k := x.body.Edges[c.edge].Curve
	a, b := x.mesh.Vertices[c.a], x.mesh.Vertices[c.b]
	way, from := b.Sub(a), a
	if c.state == placed {
		t := nearTo(k.Param(p), (c.t0+c.t1)/2, k.Period())
		t = min(max(t, c.t0), c.t1)
		from = k.Point(t)
		if way, _ = k.Derivatives(t); c.back {
			way = way.Mul(-1)
		}
	}
	if !along {
		way = way.Mul(-1)
	}
	return way.Cross(p.Sub(from)).Dot(d) >= -beside*way.Len()*x.reach
}
