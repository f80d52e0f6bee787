package view

import (
	"math"

	"github.com/fogleman/ln/ln"
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Camera is a parallel view. The point Target of the model lies at At on the
// page.
type Camera struct {
	Target mgl64.Vec3
	Dir    mgl64.Vec3 // unit, from the model to the eye
	Up     mgl64.Vec3 // unit, perpendicular to Dir: upwards on the page
	Scale  float64    // mm of paper for a mm of the model
	At     Point      // mm of paper
	Window Rect       // mm of paper: nothing is drawn outside
}

// Point is a place on the page: mm of paper, x to the right, y down.
type Point struct{ X, Y float64 }

// Rect is an upright rectangle on the page.
type Rect struct{ X0, Y0, X1, Y1 float64 }

// W and H are the sides of the rectangle, mm.
func (r Rect) W() float64 { return r.X1 - r.X0 }

// H is the height, mm.
func (r Rect) H() float64 { return r.Y1 - r.Y0 }

// Centre is the middle of the rectangle.
func (r Rect) Centre() Point { return Point{(r.X0 + r.X1) / 2, (r.Y0 + r.Y1) / 2} }

// Inset moves every side inwards by d mm.
func (r Rect) Inset(d float64) Rect { return Rect{r.X0 + d, r.Y0 + d, r.X1 - d, r.Y1 - d} }

// Has reports whether p lies inside or on the border.
func (r Rect) Has(p Point) bool { return p.X >= r.X0 && p.X <= r.X1 && p.Y >= r.Y0 && p.Y <= r.Y1 }

// Overlaps reports whether the rectangles share a point.
func (r Rect) Overlaps(o Rect) bool {
	return r.X0 <= o.X1 && o.X0 <= r.X1 && r.Y0 <= o.Y1 && o.Y0 <= r.Y1
}

// Add returns the smallest rectangle that holds r and p.
func (r Rect) Add(p Point) Rect {
	return Rect{min(r.X0, p.X), min(r.Y0, p.Y), max(r.X1, p.X), max(r.Y1, p.Y)}
}

// EmptyRect holds no point.
func EmptyRect() Rect {
	inf := math.Inf(1)
	return Rect{inf, inf, -inf, -inf}
}

// NewCamera looks at the origin along dir, which may have any length, with
// the part of up that is perpendicular to it upwards; another direction is
// chosen where up is parallel to dir or useless. A dir without direction looks
// from above. The scale is 1 and the window empty until Fit.
func NewCamera(dir, up mgl64.Vec3) Camera {
	d, ok := geom.Unit(dir)
	if !ok {
		d = mgl64.Vec3{0, 0, 1}
	}
	u, ok := geom.Unit(up.Sub(d.Mul(up.Dot(d))))
	if !ok {
		u = d.Cross(geom.Perpendicular(d))
	}
	return Camera{Dir: d, Up: u, Scale: 1, Window: EmptyRect()}
}

// Right is the direction to the right on the page.
func (c Camera) Right() mgl64.Vec3 { return c.Up.Cross(c.Dir) }

// Page maps a point of the model to the page, and tells how far it stands
// towards the eye, in mm of paper from the plane through Target.
func (c Camera) Page(p mgl64.Vec3) (Point, float64) {
	d := p.Sub(c.Target)
	return Point{c.At.X + c.Scale*d.Dot(c.Right()), c.At.Y - c.Scale*d.Dot(c.Up)}, c.Scale * d.Dot(c.Dir)
}

// Fit centres the points in the rectangle at the greatest scale at which all
// are inside, and makes the rectangle the window. Points that are not finite
// are left out; without any extent the scale is 1.
func (c Camera) Fit(points []mgl64.Vec3, into Rect) Camera {
	c.Window, c.At, c.Scale = into, into.Centre(), 1
	box := geom.EmptyBox()
	right := c.Right()
	for _, p := range points {
		if geom.Finite(p) {
			box = box.Add(mgl64.Vec3{p.Dot(right), p.Dot(c.Up), p.Dot(c.Dir)})
		}
	}
	if box.IsEmpty() {
		return c
	}
	m := box.Centre()
	c.Target = right.Mul(m[0]).Add(c.Up.Mul(m[1])).Add(c.Dir.Mul(m[2]))
	size := box.Max.Sub(box.Min)
	s := min(into.W()/size[0], into.H()/size[1]) // x/0 is +Inf: the other side decides
	if s > 0 && !math.IsInf(s, 0) {
		c.Scale = s
	}
	return c
}

// matrix maps the model to page space.
func (c Camera) matrix() ln.Matrix {
	eye := vector(c.Target)
	m := ln.LookAt(eye, eye.Sub(vector(c.Dir)), vector(c.Up))
	s := c.Scale
	return m.Scale(ln.Vector{X: s, Y: -s, Z: s}).Translate(ln.Vector{X: c.At.X, Y: c.At.Y})
}

func vector(v mgl64.Vec3) ln.Vector { return ln.Vector{X: v[0], Y: v[1], Z: v[2]} }

// pageRect is where a box of the model comes to lie, with its least and
// greatest depth.
func (c Camera) pageRect(b geom.Box) (r Rect, zmin, zmax float64) {
	r, zmin, zmax = EmptyRect(), math.Inf(1), math.Inf(-1)
	for _, p := range b.Corners() {
		q, z := c.Page(p)
		r, zmin, zmax = r.Add(q), min(zmin, z), max(zmax, z)
	}
	return r, zmin, zmax
}
