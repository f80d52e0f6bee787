package mass

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"
)

// inertiaOf is the tensor for the second moments ∫ x² dV, …, ∫ z x dV.
func inertiaOf(xx, yy, zz, xy, yz, zx float64) mgl64.Mat3 {
	return mgl64.Mat3{
		yy + zz, -xy, -zx,
		-xy, zz + xx, -yz,
		-zx, -yz, xx + yy,
	}
}

// steiner is what a volume v at a distance d adds to a tensor (parallel axis
// theorem, Huygens and Steiner).
func steiner(v float64, d mgl64.Vec3) mgl64.Mat3 {
	return inertiaOf(v*d[0]*d[0], v*d[1]*d[1], v*d[2]*d[2], v*d[0]*d[1], v*d[1]*d[2], v*d[2]*d[0])
}

// inertiaWith is the tensor of both bodies about their common centroid. The
// distance of the two centroids is all that the parallel axis theorem needs, so
// that bodies far from the origin lose no digits.
func (p Properties) inertiaWith(q Properties) mgl64.Mat3 {
	c, okP := p.Centroid()
	d, okQ := q.Centroid()
	switch sum := p.Volume + q.Volume; {
	case sum == 0:
		return mgl64.Mat3{}
	case okP && okQ:
		return p.Inertia.Add(q.Inertia).Add(steiner(p.Volume*q.Volume/sum, c.Sub(d)))
	}
	return p.Inertia.Add(q.Inertia) // one of them is zero
}

// InertiaAbout is the tensor about another point than the centroid, mm⁵.
func (p Properties) InertiaAbout(o mgl64.Vec3) mgl64.Mat3 {
	c, ok := p.Centroid()
	if !ok {
		return p.Inertia
	}
	return p.Inertia.Add(steiner(p.Volume, c.Sub(o)))
}

// Principal are the moments of inertia about the principal axes through the
// centroid, mm⁵, the least first, and those axes: unit, right-handed. Where
// moments are equal, as of a round body, any axes of that plane may come.
func (p Properties) Principal() (moments mgl64.Vec3, axes [3]mgl64.Vec3) {
	a, v := p.Inertia, mgl64.Ident3()
	// Jacobi's rotations (Golub & Van Loan, Matrix Computations, 8.5); three
	// to five sweeps are enough for doubles.
	for range 12 {
		for _, e := range [3][2]int{{0, 1}, {1, 2}, {0, 2}} {
			r := jacobi(&a, e[0], e[1])
			a = r.Transpose().Mul3(a).Mul3(r)
			v = v.Mul3(r)
		}
	}
	order := []int{0, 1, 2}
	slices.SortStableFunc(order, func(i, j int) int {
		switch d := a.At(i, i) - a.At(j, j); {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
	for k, i := range order {
		moments[k], axes[k] = a.At(i, i), v.Col(i)
	}
	axes[2] = axes[0].Cross(axes[1])
	return moments, axes
}

// jacobi is the rotation in the plane of axes i and j that takes the entry
// (i, j) of a to zero.
func jacobi(a *mgl64.Mat3, i, j int) mgl64.Mat3 {
	r := mgl64.Ident3()
	if a.At(i, j) == 0 {
		return r
	}
	tau := (a.At(j, j) - a.At(i, i)) / (2 * a.At(i, j))
	t := math.Copysign(1, tau) / (math.Abs(tau) + math.Hypot(1, tau))
	c := 1 / math.Hypot(1, t)
	r.Set(i, i, c)
	r.Set(j, j, c)
	r.Set(i, j, t*c)
	r.Set(j, i, -t*c)
	return r
}
