package surface

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// solve3 solves three linear equations, given with the right side as fourth
// column, by elimination with pivots. It refuses a system in which a pivot
// falls below 1e-14 of the greatest number.
func solve3(m [3][4]float64) (x mgl64.Vec3, ok bool) {
	big := 0.0
	for i := range 3 {
		for j := range 3 {
			big = max(big, math.Abs(m[i][j]))
		}
	}
	for k := range 3 {
		p := k
		for i := k + 1; i < 3; i++ {
			if math.Abs(m[i][k]) > math.Abs(m[p][k]) {
				p = i
			}
		}
		if !(math.Abs(m[p][k]) > 1e-14*big) {
			return x, false
		}
		m[k], m[p] = m[p], m[k]
		for i := k + 1; i < 3; i++ {
			f := m[i][k] / m[k][k]
			for j := k; j < 4; j++ {
				m[i][j] -= f * m[k][j]
			}
		}
	}
	for k := 2; k >= 0; k-- {
		x[k] = m[k][3]
		for j := k + 1; j < 3; j++ {
			x[k] -= m[k][j] * x[j]
		}
		x[k] /= m[k][k]
	}
	return x, true
}

// leastEigen is the unit eigenvector of the least eigenvalue of the symmetric
// upper left n×n block, by Jacobi's rotations (Golub & Van Loan, Matrix
// Computations, 8.5).
func leastEigen(m *[6][6]float64, n int) [6]float64 {
	a := *m
	var v [6][6]float64
	for i := range n {
		v[i][i] = 1
	}
	for range 50 {
		off := 0.0
		for p := range n {
			for q := p + 1; q < n; q++ {
				off += a[p][q] * a[p][q]
				rotate(&a, &v, p, q, n)
			}
		}
		if off == 0 {
			break
		}
	}
	least := 0
	for i := range n {
		if a[i][i] < a[least][least] {
			least = i
		}
	}
	var x [6]float64
	for i := range n {
		x[i] = v[i][least]
	}
	return x
}

// rotate makes a[p][q] zero and keeps count of the rotation in v.
func rotate(a, v *[6][6]float64, p, q, n int) {
	if math.Abs(a[p][q]) <= 1e-300 {
		a[p][q], a[q][p] = 0, 0
		return
	}
	theta := (a[q][q] - a[p][p]) / (2 * a[p][q])
	t := math.Copysign(1, theta) / (math.Abs(theta) + math.Sqrt(theta*theta+1))
	c := 1 / math.Sqrt(t*t+1)
	s := t * c
	for k := range n {
		a[k][p], a[k][q] = c*a[k][p]-s*a[k][q], s*a[k][p]+c*a[k][q]
	}
	for k := range n {
		a[p][k], a[q][k] = c*a[p][k]-s*a[q][k], s*a[p][k]+c*a[q][k]
		v[k][p], v[k][q] = c*v[k][p]-s*v[k][q], s*v[k][p]+c*v[k][q]
	}
	a[p][q], a[q][p] = 0, 0
}
