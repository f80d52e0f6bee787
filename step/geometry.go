package step

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/step/p21"
)

// geometry decodes points, directions, curves and surfaces of one context.
// Every length is turned into mm here and nowhere else.
type geometry struct {
	r *reader
	u units
	// flat: points, directions and placements have two coordinates, those of a
	// surface's parameter plane.
	flat bool
	// warn tells of what was mended or left out; nil where nobody listens.
	warn func(fault)
	// twoWays: something was read that writers mean in two ways; other asks
	// for the rarer one. See bodyReader.edgeCurve.
	twoWays, other bool
	// derived counts what is being read out of other curves and surfaces.
	derived int
}

// maxDerived bounds how often offsets and curves on surfaces may be made from
// each other. Each of them asks several times for what it is made from, so that
// a long chain would never end; real files have one or two.
const maxDerived = 3

var errDerived = fmt.Errorf("offsets and curves on surfaces are made from each other more than %d deep", maxDerived)

// derive runs a decoder of something that is made from others of its kind.
func derive[T any](g *geometry, read func() (T, bool, error)) (made T, turned bool, err error) {
	if g.derived++; g.derived > maxDerived {
		err = errDerived
	} else {
		made, turned, err = read()
	}
	g.derived--
	return made, turned, err
}

func (g *geometry) tell(id p21.ID, why string) {
	if g.warn != nil {
		g.warn(fault{id: id, why: why})
	}
}

// mended tells of what was odd and is read without a loss.
func (g *geometry) mended(id p21.ID, why string) {
	if g.warn != nil {
		g.warn(fault{id: id, why: why, aside: true})
	}
}

// dim is how many coordinates points and directions have.
func (g *geometry) dim() int {
	if g.flat {
		return 2
	}
	return 3
}

// point reads CARTESIAN_POINT(name, coordinates), mm.
func (g *geometry) point(id p21.ID) (mgl64.Vec3, error) {
	p, err := g.r.params(id, "CARTESIAN_POINT")
	if err != nil {
		return mgl64.Vec3{}, err
	}
	x, n := p.Coords(1)
	if p.Err() != nil {
		return mgl64.Vec3{}, p.Err()
	}
	if n != g.dim() {
		return mgl64.Vec3{}, fmt.Errorf("%v: point of %d coordinates", id, n)
	}
	k := g.u.mm
	v := mgl64.Vec3{x[0] * k, x[1] * k, x[2] * k}
	if err := withinReach(v[:]...); err != nil {
		return mgl64.Vec3{}, fmt.Errorf("%v: %w", id, err)
	}
	return v, nil
}

// maxReach is the greatest coordinate or radius that is believed, mm: at
// 1000 km float64 still resolves 1e-7 mm (its spacing there is 2^-23 mm), and
// products of a few lengths stay far from overflow.
const maxReach = 1e9

// withinReach refuses lengths beyond maxReach; NaN is refused too.
func withinReach(mm ...float64) error {
	for _, x := range mm {
		if !(math.Abs(x) <= maxReach) {
			return fmt.Errorf("%.3g mm is out of all bounds: want at most %g mm", x, maxReach)
		}
	}
	return nil
}

func (g *geometry) points(ids []p21.ID) ([]mgl64.Vec3, error) {
	out := make([]mgl64.Vec3, len(ids))
	for i, id := range ids {
		p, err := g.point(id)
		if err != nil {
			return nil, err
		}
		out[i] = p
	}
	return out, nil
}

// direction reads DIRECTION(name, ratios), of any length.
func (g *geometry) direction(id p21.ID) (mgl64.Vec3, error) {
	p, err := g.r.params(id, "DIRECTION")
	if err != nil {
		return mgl64.Vec3{}, err
	}
	x, n := p.Coords(1)
	if p.Err() != nil {
		return mgl64.Vec3{}, p.Err()
	}
	if n != g.dim() {
		return mgl64.Vec3{}, fmt.Errorf("%v: direction of %d ratios", id, n)
	}
	return mgl64.Vec3(x), nil
}

// optDirection is zero where the direction is unset or cannot be read: the
// standard's default stands in then.
func (g *geometry) optDirection(id p21.ID) mgl64.Vec3 {
	if id == 0 {
		return mgl64.Vec3{}
	}
	d, err := g.direction(id)
	if err != nil {
		g.tell(id, "direction left out, the default stands in: "+err.Error())
		return mgl64.Vec3{}
	}
	return d
}

// axis2 reads AXIS2_PLACEMENT_3D(name, location, axis, ref_direction). Axis
// and reference may be unset (z and x then), of any length, and not square to
// each other (ISO 10303-42, build_axes).
func (g *geometry) axis2(id p21.ID) (geom.Frame, error) {
	if g.flat {
		return g.flatAxis2(id)
	}
	p, err := g.r.params(id, "AXIS2_PLACEMENT_3D")
	if err != nil {
		return geom.World(), err
	}
	o, err := g.point(p.Ref(1))
	if p.Err() != nil {
		return geom.World(), p.Err()
	}
	if err != nil {
		return geom.World(), err
	}
	z, x := g.optDirection(p.OptRef(2)), g.optDirection(p.OptRef(3))
	if _, ok := geom.Unit(z); !ok {
		z = mgl64.Vec3{0, 0, 1}
	}
	if x == (mgl64.Vec3{}) {
		x = mgl64.Vec3{1, 0, 0}
	}
	return geom.NewFrame(o, z, x)
}

// flatAxis2 reads AXIS2_PLACEMENT_2D(name, location, ref_direction).
func (g *geometry) flatAxis2(id p21.ID) (geom.Frame, error) {
	p, err := g.r.params(id, "AXIS2_PLACEMENT_2D")
	if err != nil {
		return geom.World(), err
	}
	o, err := g.point(p.Ref(1))
	if p.Err() != nil {
		return geom.World(), p.Err()
	}
	if err != nil {
		return geom.World(), err
	}
	x := g.optDirection(p.OptRef(2))
	if x == (mgl64.Vec3{}) {
		x = mgl64.Vec3{1, 0, 0}
	}
	return geom.NewFrame(o, mgl64.Vec3{0, 0, 1}, x)
}

// axis1 reads AXIS1_PLACEMENT(name, location, axis).
func (g *geometry) axis1(id p21.ID) (geom.Axis, error) {
	p, err := g.r.params(id, "AXIS1_PLACEMENT")
	if err != nil {
		return geom.Axis{}, err
	}
	o, err := g.point(p.Ref(1))
	if p.Err() != nil {
		return geom.Axis{}, p.Err()
	}
	d, ok := geom.Unit(g.optDirection(p.OptRef(2)))
	if !ok {
		d = mgl64.Vec3{0, 0, 1}
	}
	return geom.Axis{O: o, D: d}, err
}

// vector reads VECTOR(name, orientation, magnitude): its direction times its
// magnitude in mm.
func (g *geometry) vector(id p21.ID) (mgl64.Vec3, error) {
	p, err := g.r.params(id, "VECTOR")
	if err != nil {
		return mgl64.Vec3{}, err
	}
	dir, mag := p.Ref(1), p.Real(2)
	if p.Err() != nil {
		return mgl64.Vec3{}, p.Err()
	}
	d, err := g.direction(dir)
	if err != nil {
		return mgl64.Vec3{}, err
	}
	d, ok := geom.Unit(d)
	if !ok {
		return d, fmt.Errorf("%v: %w", id, geom.ErrNoDirection)
	}
	return d.Mul(mag * g.u.mm), nil
}
