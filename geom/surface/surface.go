package surface

import "github.com/go-gl/mathgl/mgl64"

// Surface is a parametric surface in space, lengths in mm. What u and v mean
// is said by each kind (radians round an axis, mm along one).
type Surface interface {
	// Point is the position at (u, v).
	Point(u, v float64) mgl64.Vec3
	// Derivatives are ∂P/∂u and ∂P/∂v.
	Derivatives(u, v float64) (du, dv mgl64.Vec3)
	// Normal is the unit normal in the sense of ∂P/∂u × ∂P/∂v, and its limit
	// where that product vanishes (poles, apex).
	Normal(u, v float64) mgl64.Vec3
	// Domain is the parameter rectangle; sides may be infinite.
	Domain() (u0, u1, v0, v1 float64)
	// Periods are the lengths of one turn in u and v, 0 where the surface does
	// not close.
	Periods() (pu, pv float64)
	// Param inverts: the parameters of the surface's nearest point to p. Where
	// several are equally near (a pole, a seam) the one nearest hint is taken;
	// hint is also the start value for kinds that iterate. Periodic parameters
	// come back within half a period of the hint.
	Param(p mgl64.Vec3, hint Hint) (u, v float64)
}

// Hint is a guess for an inversion. The zero value means no guess.
type Hint struct {
	U, V  float64
	Given bool
}

// Near is a hint at (u, v).
func Near(u, v float64) Hint { return Hint{U: u, V: v, Given: true} }

// Searched reports a kind whose inversion searches, and is quicker with a hint.
func Searched(s Surface) bool {
	switch s.(type) {
	case BSpline, Extrusion, Revolution, Offset, Patchwork:
		return true
	}
	return false
}

// Foot is Param for a caller who knows where the nearest point is: it walks
// downhill from the hint and looks nowhere else, however far that ends from p.
// Without a hint, and for kinds that need no search, it is Param.
func Foot(s Surface, p mgl64.Vec3, near Hint) (u, v float64) {
	if near.Given {
		switch s := s.(type) {
		case BSpline:
			f := s.descend(near.U, near.V, &p)
			return f.u, f.v
		case Extrusion:
			u, _ = s.descend(near.U, &p)
			return u, p.Sub(s.c.Point(u)).Dot(s.d)
		case Revolution:
			return s.foot(p, near)
		case Offset:
			u, v, _ = s.descend(near.U, near.V, &p)
			return u, v
		}
	}
	return s.Param(p, near)
}
