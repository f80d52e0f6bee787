// Package fastenertest makes meshed parts and assemblies for tests, without any
// reader or tessellator: rings about z, each a radius by angle at a height,
// joined to their neighbours by a band of triangles. A ring of radius 0 closes
// the part on the axis.
package fastenertest

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/bvh"
	"stepscan/geom/mesh"
)

// ringN is the number of corners of a ring: 1.5 degrees, fine enough that the
// chord error of a 10 mm radius is 0.01 mm, and a multiple of 24 so that the
// corners of polygons are corners of the mesh.
const ringN = 240

// Ring is a contour: the radius by angle at height Z, mm.
type Ring struct {
	Z float64
	R func(theta float64) float64
}

// Circle is round.
func Circle(z, r float64) Ring { return Ring{z, func(float64) float64 { return r }} }

// Polygon has n flats, s mm across.
func Polygon(z, s float64, n int) Ring {
	return Ring{z, func(t float64) float64 {
		sector := 2 * math.Pi / float64(n)
		return s / 2 / math.Cos(math.Mod(t+2*math.Pi, sector)-sector/2)
	}}
}

// Lobes is the hexalobular contour between a (over the lobes) and b, drawn as a
// wave: the true one of ISO 10664 has arcs, but the same two diameters.
func Lobes(z, a, b float64) Ring {
	return Ring{z, func(t float64) float64 { return (a+b)/4 + (a-b)/4*math.Cos(6*t) }}
}

// Wings is a cross: four wings w wide, m over two of them.
func Wings(z, m, w float64) Ring {
	return Ring{z, func(t float64) float64 {
		u := math.Mod(t+2*math.Pi+math.Pi/4, math.Pi/2) - math.Pi/4 // from the wing's middle
		tip := m / 2 / math.Cos(u)
		side := math.Inf(1)
		if s := math.Abs(math.Sin(u)); s > 0 {
			side = w / 2 / s
		}
		if c := math.Hypot(w/2, w/2); side < c {
			return c
		}
		return min(tip, side)
	}}
}

// NotchedWings is a cross whose inner corners are cut by notches w wide that
// end half of over from the axis, as in type Z of ISO 4757.
func NotchedWings(z, m, w, over, notch float64) Ring {
	cross := Wings(z, m, w)
	return Ring{z, func(t float64) float64 {
		u := math.Mod(t+2*math.Pi, math.Pi/2) - math.Pi/4 // from the notch's middle
		r := over / 2 / math.Cos(u)
		if s := math.Abs(math.Sin(u)); s*r > notch/2 {
			r = notch / 2 / s
		}
		return max(cross.R(t), r)
	}}
}

// Notched is a circle with n V notches, each depth deep and share of its pitch
// wide.
func Notched(z, r float64, n int, depth, share float64) Ring {
	return Ring{z, func(t float64) float64 {
		u := math.Abs(math.Mod(t*float64(n)/(2*math.Pi)+float64(n), 1) - 0.5) // 0 in a notch's middle
		return r - depth*max(0, 1-2*u/share)
	}}
}

// Turn makes the part of the rings in order, from the lower pole up the outside
// and down the inside (or to the upper pole); a tube repeats its first ring.
func Turn(name string, rings ...Ring) product.Part { return Facetted(name, ringN, rings...) }

// Facetted is Turn with n corners a ring, a multiple of 24: the coarser, the
// sooner it is looked at.
func Facetted(name string, n int, rings ...Ring) product.Part {
	m := &mesh.Mesh{Chord: 0.01}
	for _, r := range rings {
		for k := range n {
			t := 2 * math.Pi * float64(k) / float64(n)
			sin, cos := math.Sincos(t)
			v := r.R(t)
			m.Vertices = append(m.Vertices, mgl64.Vec3{v * cos, v * sin, r.Z})
		}
	}
	for i := range len(rings) - 1 {
		for k := range n {
			a, b := int32(i*n+k), int32(i*n+(k+1)%n)
			c, d := a+int32(n), b+int32(n)
			m.Triangles = append(m.Triangles, [3]int32{a, b, d}, [3]int32{a, d, c})
			m.FaceOf = append(m.FaceOf, int32(i), int32(i))
		}
	}
	return finish(name, m)
}

// finish fills in what product.Build would.
func finish(name string, m *mesh.Mesh) product.Part {
	p := product.Part{ID: "p", Name: name, Mesh: m, Tree: bvh.Build(m), Closed: true, Box: geom.EmptyBox()}
	for _, v := range m.Vertices {
		p.Box = p.Box.Add(v)
	}
	p.Volume, p.Centroid = m.Volume(), m.Centroid()
	return p
}

// Fuse makes one part of closed meshes that may overlap, for shapes that no ring
// has.
func Fuse(name string, pieces ...*mesh.Mesh) product.Part {
	var faces []int
	for _, m := range pieces {
		n := int32(0)
		for _, f := range m.FaceOf {
			n = max(n, f+1)
		}
		faces = append(faces, int(n))
	}
	return finish(name, mesh.Join(pieces, faces))
}

// Placed is a use of a part of an assembly.
type Placed struct {
	Part int
	At   geom.Transform
	Name string
}

// Assemble makes a product of parts and their places.
func Assemble(parts []product.Part, uses ...Placed) *product.Product {
	p := &product.Product{Parts: parts}
	p.Occs = []product.Occ{{ID: "o0", Parent: -1, Placement: geom.Identity(), Solid: product.NoSolid}}
	for _, u := range uses {
		back, _ := u.At.Inverse()
		p.Solids = append(p.Solids, product.Solid{
			Occ: len(p.Occs), Part: u.Part, Place: u.At, Back: back, Box: parts[u.Part].Box.Transformed(u.At),
		})
		p.Occs = append(p.Occs, product.Occ{
			ID: "o", Part: u.Part, Name: u.Name, Placement: u.At, Depth: 1, Solid: product.SolidIndex(len(p.Solids) - 1),
		})
	}
	return p
}

// Alone is a product of one part at the origin.
func Alone(part product.Part) *product.Product {
	return Assemble([]product.Part{part}, Placed{At: geom.Identity()})
}

// Tube is a ring of rectangular section: a disc with a hole, a bush, a washer.
func Tube(d2, h, d1 float64) product.Part {
	return Turn("", Circle(0, d1/2), Circle(0, d2/2), Circle(h, d2/2), Circle(h, d1/2), Circle(0, d1/2))
}

// Nut is a hexagon s mm across flats and m high with a plain bore, from z = 0 up.
func Nut(s, m, bore float64) product.Part {
	return Turn("", Circle(0, bore/2), Polygon(0, s, 6), Polygon(m, s, 6), Circle(m, bore/2), Circle(0, bore/2))
}

// Screw has its seat at z = 0, the head above and a shank with a chamfered tip
// below. pocket is the contour of the recess, nil for none.
func Screw(d, l float64, head []Ring, pocket func(z float64) Ring, depth float64) product.Part {
	c := 0.1 * d
	rings := []Ring{Circle(-l, 0), Circle(-l, d/2-c), Circle(c-l, d/2), Circle(0, d/2)}
	rings = append(rings, head...)
	top := head[len(head)-1].Z
	if pocket == nil {
		return Turn("", append(rings, Circle(top, 0))...)
	}
	return Turn("", append(rings, pocket(top), pocket(top-depth), Circle(top-depth-0.2, 0))...)
}

// Barrel is a cylindrical head.
func Barrel(dk, k float64) []Ring { return []Ring{Circle(0, dk/2), Circle(k, dk/2)} }

// Dome is a pan head.
func Dome(dk, k float64) []Ring {
	return []Ring{
		Circle(0, dk/2), Circle(0.4*k, dk/2), Circle(0.7*k, 0.46*dk), Circle(0.85*k, 0.41*dk), Circle(0.95*k, 0.34*dk), Circle(k, 0.28*dk),
	}
}

// Cone is a countersunk head of 90 degrees.
func Cone(d, dk float64) []Ring {
	return []Ring{Circle((dk-d)/2, dk/2), Circle((dk-d)/2+0.01, dk/2)}
}

// Hexagon is a hexagon head.
func Hexagon(s, k float64) []Ring { return []Ring{Polygon(0, s, 6), Polygon(k, s, 6)} }

// HexPocket, LobePocket and CrossPocket are recesses.
func HexPocket(s float64) func(float64) Ring { return func(z float64) Ring { return Polygon(z, s, 6) } }

// LobePocket is a hexalobular socket.
func LobePocket(a, b float64) func(float64) Ring {
	return func(z float64) Ring { return Lobes(z, a, b) }
}

// CrossPocket is a cross recess with straight walls.
func CrossPocket(m, w float64) func(float64) Ring {
	return func(z float64) Ring { return Wings(z, m, w) }
}

// SlotPocket is a slot w wide and l long, closed at its ends.
func SlotPocket(w, l float64) func(float64) Ring {
	return func(z float64) Ring {
		return Ring{z, func(t float64) float64 {
			return min(w/2/max(1e-9, math.Abs(math.Sin(t))), l/2/max(1e-9, math.Abs(math.Cos(t))))
		}}
	}
}

// Turns is a rod with V grooves between two heights, upwards, d over the crests
// and core between them, of whole pitches from lo on. lead is how many pitches a
// groove climbs in a turn: 0 for rings, -1 for a left-handed thread.
func Turns(d, core, pitch, lo, hi, lead float64) []Ring {
	const steps = 12 // rings a pitch: even, so that crests and valleys are met
	n := int((hi - lo) / pitch)
	if lead == 0 {
		out := []Ring{Circle(lo, d/2)}
		for i := range n {
			z := lo + float64(i)*pitch
			out = append(out, Circle(z+pitch/2, core/2), Circle(z+pitch, d/2))
		}
		return out
	}
	var out []Ring
	for i := range n*steps + 1 {
		z := lo + float64(i)*pitch/steps
		out = append(out, Ring{z, func(t float64) float64 {
			phase := (z-lo)/pitch - lead*t/(2*math.Pi)
			phase -= math.Floor(phase)
			return core/2 + (d-core)/2*math.Abs(2*phase-1)
		}})
	}
	return out
}
