package shape

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// Contour is a closed polygon in the plane, either sense. A round one stands
// for a circle: extruded, its side counts as one face without edges along it.
type Contour struct {
	Points []mgl64.Vec2
	Round  bool
	chord  float64
}

// Circle is a regular polygon of n corners on the circle, the first at +x.
func Circle(x, y, r float64, n int) Contour {
	p := regular(x, y, r, 0, n)
	return Contour{Points: p, Round: true, chord: r * (1 - math.Cos(math.Pi/float64(n)))}
}

// Rect is the rectangle between two corners.
func Rect(x0, y0, x1, y1 float64) Contour {
	return Contour{Points: []mgl64.Vec2{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}}
}

// Hexagon has the given distance across its flats (two of which face ±y).
func Hexagon(x, y, flats float64) Contour {
	return Contour{Points: regular(x, y, flats/math.Sqrt(3), 0, 6)}
}

func regular(x, y, r, a0 float64, n int) []mgl64.Vec2 {
	p := make([]mgl64.Vec2, n)
	for i := range p {
		s, c := math.Sincos(a0 + 2*math.Pi*float64(i)/float64(n))
		p[i] = mgl64.Vec2{x + r*c, y + r*s}
	}
	return p
}

// Box is the box between two corners. Faces: -z, +z, -y, +x, +y, -x.
func Box(lo, hi mgl64.Vec3) *mesh.Mesh {
	f := geom.World()
	f.O = mgl64.Vec3{0, 0, lo[2]}
	return Extrude(f, hi[2]-lo[2], Rect(lo[0], lo[1], hi[0], hi[1]))
}

// Plate is a box with through holes along z. Faces: -z, +z, -y, +x, +y, -x,
// then those of the holes in order (one for a round hole, one a side for
// others).
func Plate(lo, hi mgl64.Vec3, holes ...Contour) *mesh.Mesh {
	f := geom.World()
	f.O = mgl64.Vec3{0, 0, lo[2]}
	return Extrude(f, hi[2]-lo[2], Rect(lo[0], lo[1], hi[0], hi[1]), holes...)
}

// Prism extrudes a contour h mm along the axis from axis.O.
func Prism(axis geom.Axis, h float64, outer Contour, holes ...Contour) *mesh.Mesh {
	return Extrude(frameOf(axis), h, outer, holes...)
}

// Extrude sweeps a polygon with holes h mm (positive) along the frame's z from
// its xy plane. Holes lie inside the outer contour and apart from each other.
// Faces: bottom, top, then the sides contour by contour.
func Extrude(f geom.Frame, h float64, outer Contour, holes ...Contour) *mesh.Mesh {
	m := new(mesh.Mesh)
	contours := append([]Contour{outer}, holes...)
	rings := make([][]mgl64.Vec2, len(contours))
	for i, c := range contours {
		rings[i] = anticlockwise(c.Points)
		if i > 0 {
			slices.Reverse(rings[i])
		}
		m.Chord = max(m.Chord, c.chord)
	}
	n := addLevels(m, f, h, rings)
	addCaps(m, rings, n)
	face, first := int32(2), int32(0)
	for i, r := range rings {
		face = addSides(m, r, contours[i].Round, first, n, face)
		first += int32(len(r))
	}
	return m
}

// addLevels adds all points at the bottom, then all at the top, and returns
// how many there are on each.
func addLevels(m *mesh.Mesh, f geom.Frame, h float64, rings [][]mgl64.Vec2) int32 {
	for _, z := range [2]float64{0, h} {
		for _, r := range rings {
			for _, p := range r {
				m.Vertices = append(m.Vertices, f.Point(mgl64.Vec3{p[0], p[1], z}))
			}
		}
	}
	return int32(len(m.Vertices) / 2)
}

func addCaps(m *mesh.Mesh, rings [][]mgl64.Vec2, n int32) {
	for _, t := range fill(rings) {
		m.Triangles = append(m.Triangles, [3]int32{t[0], t[2], t[1]}, [3]int32{t[0] + n, t[1] + n, t[2] + n})
		m.FaceOf = append(m.FaceOf, 0, 1)
	}
}

// addSides adds one contour's walls and edges; it returns the next face number.
func addSides(m *mesh.Mesh, r []mgl64.Vec2, round bool, first, n, face int32) int32 {
	k := int32(len(r))
	at := func(i int32) int32 { return first + i%k }
	step := int32(1)
	if round {
		step = 0
	}
	for i := range k {
		a, b := at(i), at(i+1)
		m.Triangles = append(m.Triangles, [3]int32{a, b, b + n}, [3]int32{a, b + n, a + n})
		m.FaceOf = append(m.FaceOf, face+i*step, face+i*step)
		if !round {
			turn := turnOf(r[i].Sub(r[(i+k-1)%k]), r[(i+1)%k].Sub(r[i]))
			m.Edges = append(m.Edges,
				mesh.EdgeLine{Verts: []int32{a, a + n}, Faces: [2]int32{face + (i+k-1)%k, face + i}, Turn: math.Abs(turn), Convex: turn > 0},
				rim([]int32{a, b}, 0, face+i),
				rim([]int32{a + n, b + n}, 1, face+i))
		}
	}
	if !round {
		return face + k
	}
	var low, high []int32
	for i := range k + 1 {
		low, high = append(low, at(i)), append(high, at(i)+n)
	}
	m.Edges = append(m.Edges, rim(low, 0, face), rim(high, 1, face))
	return face + 1
}

func rim(v []int32, lid, side int32) mesh.EdgeLine {
	return mesh.EdgeLine{Verts: v, Faces: [2]int32{lid, side}, Turn: math.Pi / 2, Convex: true}
}
