package bvh

import (
	"math"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// Mover is a mesh made ready to be moved against others: shrunk by a skin, so
// that faces which touch or slide on each other, and the facets of coaxial
// cylinders, do not count as collisions. Make it once and try it against many
// and along many directions; it never changes.
type Mover struct{ tree *Tree }

// maxSpike bounds how far a corner moves, in skins: a spike of 30 degrees
// wants 3.9. Sharper ones are shrunk by less than the skin at their faces, but
// do not turn inside out.
const maxSpike = 4

// NewMover shrinks the tree's mesh by skin mm: each corner moves inward so that
// every face plane around it moves inward by the skin, as nearly as that can
// be (least squares over the distinct normals). Corners in exactly the same
// place move together, whether or not the mesh joins them. A skin of zero or
// less leaves the mesh as it is. Walls thinner than two skins turn inside out,
// which the sweep does not mind.
//
// t must be in its own coordinates (not a placed tree).
func NewMover(t *Tree, skin float64) *Mover {
	if t.none() || !(skin > 0) || math.IsInf(skin, 1) {
		return &Mover{tree: t}
	}
	inward := inwardMoves(t, skin)
	tri := make([]float64, len(t.tri))
	for k, id := range t.ids {
		for c, v := range t.mesh.Triangles[id] {
			p, q := &t.mesh.Vertices[v], &inward[v]
			i := 9*k + 3*c
			tri[i], tri[i+1], tri[i+2] = p[0]+q[0], p[1]+q[1], p[2]+q[2]
		}
	}
	return &Mover{tree: t.with(tri)}
}

// Box holds the shrunk mesh, in the mover's coordinates.
func (m *Mover) Box() geom.Box { return m.tree.Box() }

// inwardMoves gives the move of every vertex. Which of nearly equal normals
// speaks for its face is a matter of order, so the triangles are taken in the
// mesh's: the shape of the tree must not matter.
func inwardMoves(t *Tree, skin float64) [][3]float64 {
	same := welded(t.mesh)
	normals := make([][3]float64, len(t.mesh.Triangles))
	kept := make([]bool, len(normals))
	count := make([]int32, len(same)+1)
	for k, id := range t.ids {
		normals[id], kept[id] = unitNormal(t.at(int32(k))), true
		for _, v := range t.mesh.Triangles[id] {
			count[same[v]+1]++
		}
	}
	for i := 1; i < len(count); i++ {
		count[i] += count[i-1]
	}
	around := make([]int32, count[len(count)-1]) // triangles by vertex
	next := append([]int32(nil), count...)
	for id := range t.mesh.Triangles {
		if !kept[id] {
			continue
		}
		for _, v := range t.mesh.Triangles[id] {
			around[next[same[v]]] = int32(id)
			next[same[v]]++
		}
	}
	moves := make([][3]float64, len(same))
	for v := range same {
		if int(same[v]) == v { // the first of its place, so before its likes
			moves[v] = inwardMove(normals, around[count[v]:count[v+1]], skin)
		} else {
			moves[v] = moves[same[v]]
		}
	}
	return moves
}

// welded maps every vertex to the first one in exactly the same place.
func welded(m *mesh.Mesh) []int32 {
	first := make(map[[3]float64]int32, len(m.Vertices))
	same := make([]int32, len(m.Vertices))
	for i, v := range m.Vertices {
		j, ok := first[v]
		if !ok {
			j = int32(i)
			first[v] = j
		}
		same[i] = j
	}
	return same
}

// unitNormal is zero for a triangle without area.
func unitNormal(t *[9]float64) [3]float64 {
	ex, ey, ez := t[3]-t[0], t[4]-t[1], t[5]-t[2]
	fx, fy, fz := t[6]-t[0], t[7]-t[1], t[8]-t[2]
	nx, ny, nz := ey*fz-ez*fy, ez*fx-ex*fz, ex*fy-ey*fx
	l := math.Sqrt(nx*nx + ny*ny + nz*nz)
	if !(l > 0) || math.IsInf(l, 1) {
		return [3]float64{}
	}
	return [3]float64{nx / l, ny / l, nz / l}
}

const (
	// sameNormal is the cosine of 0.8 degrees, below which two normals are
	// one face: a face of many triangles has one say.
	sameNormal = 1 - 1e-4
	// maxNormals bounds the work at a corner with very many faces.
	maxNormals = 64
	// ridge, part of the trace, keeps directions in which the normals say
	// nothing from taking large moves.
	ridge = 1e-6
)

// inwardMove solves n·x = -skin for the distinct normals n in the sense of
// least squares; of many solutions the shortest.
func inwardMove(normals [][3]float64, around []int32, skin float64) [3]float64 {
	var seen [maxNormals][3]float64
	n := 0
	var a [6]float64 // xx xy xz yy yz zz of Σ n nᵀ
	var s [3]float64 // Σ n
	for _, k := range around {
		m := &normals[k]
		if *m == ([3]float64{}) || n == maxNormals || known(seen[:n], m) {
			continue
		}
		seen[n] = *m
		n++
		x, y, z := m[0], m[1], m[2]
		a[0] += x * x
		a[1] += x * y
		a[2] += x * z
		a[3] += y * y
		a[4] += y * z
		a[5] += z * z
		s[0] += x
		s[1] += y
		s[2] += z
	}
	if n == 0 {
		return [3]float64{}
	}
	l := ridge * float64(n) // every normal adds 1 to the trace
	a[0], a[3], a[5] = a[0]+l, a[3]+l, a[5]+l
	return shortened(solveSymmetric(&a, &s), -skin)
}

func known(seen [][3]float64, m *[3]float64) bool {
	for i := range seen {
		if seen[i][0]*m[0]+seen[i][1]*m[1]+seen[i][2]*m[2] > sameNormal {
			return true
		}
	}
	return false
}

// solveSymmetric solves a x = s by cofactors; the ridge keeps a regular.
func solveSymmetric(a *[6]float64, s *[3]float64) [3]float64 {
	xx, xy, xz, yy, yz, zz := a[0], a[1], a[2], a[3], a[4], a[5]
	c00, c01, c02 := yy*zz-yz*yz, xz*yz-xy*zz, xy*yz-xz*yy
	c11, c12, c22 := xx*zz-xz*xz, xy*xz-xx*yz, xx*yy-xy*xy
	det := xx*c00 + xy*c01 + xz*c02
	return [3]float64{
		(c00*s[0] + c01*s[1] + c02*s[2]) / det,
		(c01*s[0] + c11*s[1] + c12*s[2]) / det,
		(c02*s[0] + c12*s[1] + c22*s[2]) / det,
	}
}

// shortened scales x, which is in skins, and keeps it below maxSpike skins.
func shortened(x [3]float64, scale float64) [3]float64 {
	l := math.Sqrt(x[0]*x[0] + x[1]*x[1] + x[2]*x[2])
	if !(l < math.MaxFloat64) {
		return [3]float64{}
	}
	if l > maxSpike {
		scale *= maxSpike / l
	}
	return [3]float64{x[0] * scale, x[1] * scale, x[2] * scale}
}
