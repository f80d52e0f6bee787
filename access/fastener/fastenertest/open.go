package fastenertest

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom/mesh"
)

// Open makes a plate, from z = 0 to h, between two angles about z (rad, from <
// to < from + 2π) and two radii by angle, mm: an open ring, or a slit tube. The
// walls where a radius stays the same are one face each.
func Open(h, from, to float64, in, out func(theta float64) float64) product.Part {
	const n = 720
	m := &mesh.Mesh{Chord: 0.01}
	for k := range n + 1 {
		t := from + (to-from)*float64(k)/n
		sin, cos := math.Sincos(t)
		for _, r := range [2]float64{in(t), out(t)} {
			m.Vertices = append(m.Vertices, mgl64.Vec3{r * cos, r * sin, 0}, mgl64.Vec3{r * cos, r * sin, h})
		}
	}
	face := int32(4)
	quad := func(f int32, a, b, c, d int) {
		m.Triangles = append(m.Triangles, [3]int32{int32(a), int32(b), int32(c)}, [3]int32{int32(a), int32(c), int32(d)})
		m.FaceOf = append(m.FaceOf, f, f)
	}
	walls := func(side int, r func(float64) float64, outward bool) {
		last := math.NaN()
		for k := range n {
			a, b := from+(to-from)*float64(k)/n, from+(to-from)*float64(k+1)/n
			if r(a) != last || r(b) != last {
				face++
			}
			last = r(b)
			i, j := 4*k+side, 4*k+4+side
			if outward {
				quad(face, i, j, j+1, i+1)
			} else {
				quad(face, i, i+1, j+1, j)
			}
		}
		face++
	}
	for k := range n { // foot and top
		quad(0, 4*k, 4*k+4, 4*k+6, 4*k+2)
		quad(1, 4*k+1, 4*k+3, 4*k+7, 4*k+5)
	}
	quad(2, 0, 2, 3, 1)
	quad(3, 4*n, 4*n+1, 4*n+3, 4*n+2)
	walls(0, in, false)
	walls(2, out, true)
	return finish("", m)
}

// Same is a radius that stays the same.
func Same(r float64) func(float64) float64 { return func(float64) float64 { return r } }
